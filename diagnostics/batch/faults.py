"""What is wrong with a file, a header or a row, as one line a person can act on."""

from __future__ import annotations

from dataclasses import dataclass

LONGEST_SHOWN = 60


def one_line(text: str) -> str:
    """The text on one line: line ends and control characters written as escapes."""
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode() for one in text)


def cut(text: str) -> str:
    """The text, or its beginning where it is long."""
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: where, what was found, why it will not do, what would.

    `line` is the file's line (header 1), 0 where the whole file is meant.
    """

    file: str
    line: int
    reason: str
    expected: str
    column: str = ""
    value: str | None = None

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        column = f" {cut(self.column)}:" if self.column else ""
        value = "" if self.value is None else f" '{cut(self.value)}':"
        return one_line(f"{place}:{column}{value} {self.reason}; expected {self.expected}")


class NothingRun(Exception):
    """The run cannot start: a file, a header or a compulsory column is at fault."""

    def __init__(self, *faults: Fault) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class CellFault(ValueError):
    """A cell that cannot be read; says why and what was expected."""

    def __init__(self, reason: str, expected: str) -> None:
        self.reason, self.expected = reason, expected
        super().__init__(f"{reason}; expected {expected}")
