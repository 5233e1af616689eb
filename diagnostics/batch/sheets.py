"""Comma-separated files: read whole, split into records that know the line they start on."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnostics.batch.faults import Fault, NothingRun

HEADER_LINE = 1
OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True, slots=True)
class Record:
    """One row: the line it starts on, the line it ends on, its cells; `fault` where it has none."""

    line: int
    last_line: int
    cells: list[str]
    fault: str = ""

    @property
    def blank(self) -> bool:
        return not self.fault and not any(cell.strip() for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file's header cells and its lines; `name` is the path as it was given."""

    name: str
    header: list[str]
    lines: list[str]
    first: int

    def records(self) -> Iterator[Record]:
        """The rows under the header, blank ones left out."""
        return (record for record in _records(self.lines, self.first) if not record.blank)


def open_sheet(name: str) -> Sheet:
    """Read a file. Whatever makes it useless as a whole raises NothingRun."""
    text = _text(name)
    lines = list(io.StringIO(text, newline=""))
    head = next(_records(lines, 0), None)
    if head is None or head.blank:
        raise NothingRun(Fault(name, HEADER_LINE, "no header", "column names in the first line"))
    if head.fault:
        for separator in OTHER_SEPARATORS:
            if separator in lines[0] and "," not in lines[0]:
                raise NothingRun(separated_otherwise(name, separator))
        raise NothingRun(Fault(name, HEADER_LINE, head.fault, "a header of names with commas between them"))
    return Sheet(name, head.cells, lines, head.last_line)


def separated_otherwise(name: str, separator: str) -> Fault:
    """The fault of a file that has another mark than the comma between its columns."""
    expected = "commas between the columns and points in the numbers"
    return Fault(name, HEADER_LINE, f"{OTHER_SEPARATORS[separator]} between the columns", expected)


def _text(name: str) -> str:
    try:
        data = Path(name).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise NothingRun(Fault(name, 0, f"cannot be read: {reason}", "a comma-separated file")) from error
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        saved = "a file saved as comma-separated values (CSV) in UTF-8"
        raise NothingRun(Fault(name, line, "not UTF-8 text", saved)) from error


def _records(lines: list[str], start: int) -> Iterator[Record]:
    """Records from line index `start` on; the first line of the file has index 0.

    A quote that is never closed, or closed in the middle of a cell, would swallow the rows below it: such a
    record is one faulty line, and reading goes on at the next.
    """
    while start < len(lines):
        reader = csv.reader(_from(lines, start), strict=True)
        first = start
        try:
            for cells in reader:
                yield Record(first + 1, start + reader.line_num, cells)
                first = start + reader.line_num
            return
        except csv.Error as error:
            yield Record(first + 1, first + 1, [], _why(error))
            start = first + 1


def _from(lines: list[str], start: int) -> Iterator[str]:
    return (lines[index] for index in range(start, len(lines)))


def _why(error: csv.Error) -> str:
    text = str(error)
    if "unexpected end" in text:
        return "a quote is opened and never closed"
    if "expected after" in text:
        return "a quote is closed in the middle of a cell"
    return text
