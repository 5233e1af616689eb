"""What studies share: how many processes may run, and the page of the documentation that they write."""

from __future__ import annotations

import os
from pathlib import Path

PAGE = Path(__file__).parents[2] / "diagnostics" / "engine" / "STUDIES.md"


def free_processes() -> int:
    """Cores that nobody else uses just now, at least one."""
    cores = len(os.sched_getaffinity(0))
    return max(1, cores - round(os.getloadavg()[0]))


def write_section(name: str, text: str, page: Path = PAGE) -> None:
    """Put a study's text between its two marks on the page."""
    first, last = f"<!-- {name}: from here on", f"<!-- {name}: up to here"
    lines = page.read_text().splitlines()
    marks = [
        next((i for i, line in enumerate(lines) if line.startswith(mark)), None) for mark in (first, last)
    ]
    if None in marks:
        raise ValueError(f"{page} lacks the marks {first!r} and {last!r}; expected a line of each")
    start, end = marks
    page.write_text("\n".join([*lines[: start + 1], "", text.strip(), "", *lines[end:]]) + "\n")
