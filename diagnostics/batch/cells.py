"""Cells: what is typed becomes a number in SI, a word from a list, or an instant; blank becomes None."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import UTC, datetime

from diagnostics.batch.faults import CellFault
from diagnostics.engine.commas import comma_fault

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity)", re.IGNORECASE)
_WHOLE_LIMIT = 10**9


def number(cell: str, unit: str) -> float:
    """A finite number with a decimal point; `unit` is named in what was expected."""
    text = cell.replace("\N{MINUS SIGN}", "-")
    wanted = f"a number{f' in {unit}' if unit else ''}, or a blank cell where it is not known"
    if _NUMBER.fullmatch(text):
        value = float(text)
        if math.isfinite(value):
            return value
        raise CellFault("too large to be a number", wanted)
    if fault := comma_fault(text):
        raise CellFault(*fault)
    if _NOT_FINITE.fullmatch(text):
        raise CellFault("not a finite number", wanted)
    if re.match(r"[+-]?\.?\d", text):
        raise CellFault("more than a number", f"{wanted}; the unit stands in the header only")
    raise CellFault("not a number", wanted)


def whole(value: float) -> int:
    """A number that counts something."""
    if value != int(value) or abs(value) > _WHOLE_LIMIT:
        raise CellFault("not a whole number", "a whole number, or a blank cell where it is not known")
    return int(value)


def word(cell: str, words: Sequence[str]) -> str:
    """One of the words; capitals, and spaces or hyphens for the underscore, are let pass."""
    tidy = re.sub(r"[\s_-]+", "_", cell.casefold())
    if tidy in words:
        return tidy
    raise CellFault("not a word known here", ", ".join(words[:-1]) + f" or {words[-1]}")


def instant(cell: str) -> datetime:
    """A date and time in ISO 8601; without an offset it is UTC."""
    wanted = "ISO 8601, as in 2025-06-30T14:05 (UTC) or 2025-06-30T14:05+01:00"
    try:
        moment = datetime.fromisoformat(cell)
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise CellFault("not a date and time", wanted) from error
