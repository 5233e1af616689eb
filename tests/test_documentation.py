"""What README.md and DEVELOPERS.md say is true of the tree: commands, options, paths, columns."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

from diagnostics.batch import columns
from tests.tree import ROOT, kept_files

README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
CI = (ROOT / ".ci" / "run").read_text()
FENCED = re.compile(r"^```\w*\n(.*?)^```", re.MULTILINE | re.DOTALL)
TICKED = re.compile(r"`([^`]+)`")
README_LINES = [line for block in FENCED.findall(README) for line in block.splitlines()]
COMMAND = re.compile(r"manage\.py ([a-z_]+)((?: +[^\s`|&]+)*)")
ROOMS = ("", "contractor/", "diagnostics/", "reporting/")


def commands_named() -> list[tuple[str, str]]:
    text = re.sub(r"\s+", " ", README + DEVELOPERS)
    return sorted({(name, rest.strip()) for name, rest in COMMAND.findall(text)})


def test_ci_runs_the_readmes_two_command_lines_and_no_others_of_its_own() -> None:
    patterns = re.findall(r"_line=\$\(readme_line '(.*)'\)", CI)
    assert patterns == [r"manage\.py demo", r"\.venv/bin/pytest"]
    for pattern in patterns:
        assert [line for line in README_LINES if re.search(rf" && .*{pattern}$", line)], pattern
    assert "pip install" not in CI and "-m venv" not in CI


def test_each_of_the_two_is_one_line_that_starts_from_nothing_or_from_the_first() -> None:
    [demo] = [line for line in README_LINES if line.endswith("manage.py demo")]
    [tests] = [line for line in README_LINES if line.endswith(".venv/bin/pytest")]
    assert demo.startswith("python3 -m venv .venv && .venv/bin/pip install -r requirements.lock && ")
    assert ".[test]" in tests


@pytest.mark.parametrize(("name", "rest"), commands_named())
def test_every_management_command_named_exists_with_its_options(name: str, rest: str) -> None:
    known = get_commands()
    assert name in known
    command = load_command_class(known[name], name) if isinstance(known[name], str) else known[name]
    options = command.create_parser("manage.py", name)._option_string_actions
    for option in re.findall(r"--[a-z][a-z-]*", rest):
        assert option in options, f"{name} has no {option}"


PATH = re.compile(r"[\w.-]+(/[\w.-]+)*(\.(py|md|toml|yml|csv|lock|example)|/)")
NOT_KEPT = {"var/", "UNITS.csv", "READINGS.csv", "units.csv", "readings.csv", "tables.csv", "events.csv"}


def paths_named() -> list[str]:
    text = FENCED.sub("", README + DEVELOPERS)
    words = {word for ticked in TICKED.findall(text) for word in ticked.split()}
    return sorted(word for word in words - NOT_KEPT if PATH.fullmatch(word))


@pytest.mark.parametrize("name", paths_named())
def test_every_path_named_exists(name: str) -> None:
    """As it stands, or in one of the rooms that the sentence is about."""
    files = kept_files()
    places = [Path(room + name.rstrip("/")) for room in ROOMS]
    assert any(place == file or place in file.parents for place in places for file in files)


def test_the_map_names_every_package() -> None:
    the_map = FENCED.findall(DEVELOPERS)[0]
    tops = ("contractor", "diagnostics", "reporting")
    folders = {path.parts[1] for path in kept_files() if path.parts[0] in tops and len(path.parts) > 2}
    missing = {name for name in folders if not re.search(rf"^ +{name}/ ", the_map, re.MULTILINE)}
    assert missing == {"management", "migrations"}, "Django's own folders go without saying"


@pytest.mark.parametrize("module", re.findall(r"python -m (tests[\w.]+)", README + DEVELOPERS))
def test_every_module_that_is_run_by_name_exists(module: str) -> None:
    assert Path(module.replace(".", "/") + ".py") in kept_files()


@pytest.mark.parametrize("kind", ["units", "readings", "tables", "events"])
def test_the_readme_lists_every_column_of_the_spreadsheets(kind: str) -> None:
    section = README.partition(f"### {kind}.csv")[2].partition("\n### ")[0]
    listed = re.findall(r"^\| `(\w+)`", section, re.MULTILINE)
    assert listed == [column.name for column in getattr(columns, kind.upper()).columns]


def test_scripts_can_be_read_by_the_shell() -> None:
    for name in (".ci/run", ".ci/lock"):
        assert subprocess.run(["bash", "-n", name], cwd=ROOT).returncode == 0
        assert (ROOT / name).stat().st_mode & 0o111, f"{name} can be executed"
