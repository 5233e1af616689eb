"""Commas in numbers of a file: refused in the same words wherever a file is read."""

from __future__ import annotations

import re

_COMMA_NUMBER = re.compile(r"[+\-\N{MINUS SIGN}]?(\d*(,\d+)+(\.\d*)?|\d+,)", re.ASCII)
REASON = "decimal comma or thousands comma"


def comma_fault(cell: str) -> tuple[str, str] | None:
    """Reason and what would be right, where a cell is a number but for its commas; None where it is not."""
    if not _COMMA_NUMBER.fullmatch(cell):
        return None
    decimal = cell.count(",") == 1 and "." not in cell
    pointed = cell.replace(",", "." if decimal else "")
    return REASON, f"a decimal point and no other mark, as in {pointed}"
