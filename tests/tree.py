"""The files of the project as they are kept: the tracked ones, or without git all but what is made."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
NOT_KEPT = {".git", ".venv", "var", "build", "__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache",
            ".hypothesis", ".import_linter_cache"}  # fmt: skip


@cache
def kept_files() -> tuple[Path, ...]:
    """Relative to the root."""
    if (ROOT / ".git").exists():
        listed = subprocess.check_output(["git", "ls-files", "-z"], cwd=ROOT, text=True)
        found = [Path(name) for name in listed.split("\0") if name]
    else:
        found = [path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file()]
    return tuple(sorted(path for path in found if not NOT_KEPT & set(path.parts) and (ROOT / path).exists()))


def texts() -> dict[Path, str]:
    """Content of every kept file that is text."""
    found = {}
    for path in kept_files():
        content = (ROOT / path).read_bytes()
        if b"\0" not in content:
            found[path] = content.decode("utf-8", errors="replace")
    return found
