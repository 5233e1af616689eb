"""The top level holds what a stranger needs first, and nothing else."""

from tests.tree import kept_files

ALLOWED = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "manage.py",
    "requirements.lock",
    "docker-compose.yml",
    "contractor",
    "diagnostics",
    "reporting",
    "tests",
    "fixtures",
}


def test_the_top_level_holds_only_what_is_meant_to_be_there() -> None:
    found = {path.parts[0] for path in kept_files()}
    assert {name for name in found if not name.startswith(".")} == ALLOWED


def test_nothing_that_is_made_while_running_is_kept() -> None:
    made = [path for path in kept_files() if path.suffix in (".pyc", ".sqlite3", ".log", ".pdf", ".pem")]
    assert made == []
