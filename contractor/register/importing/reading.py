"""From a file to rows of typed values, with every fault of header and cells said in one line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from contractor.register.importing.columns import REGISTER, CellFault, Column, Layout
from contractor.register.typed import conversion_of
from diagnostics.engine.quantities import UnitError

HEADER = re.compile(r"\s*(?P<name>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\]\s*)?")
LONGEST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong, as one line: where, what was found, why it will not do, what would."""

    file: str
    line: int
    reason: str
    expected: str
    column: str = ""
    value: str | None = None

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        column = f" {self.column}:" if self.column else ""
        value = "" if self.value is None else f" {shown(self.value)}:"
        return f"{place}:{column}{value} {self.reason}; expected {self.expected}"


def shown(value: str) -> str:
    cut = value if len(value) <= LONGEST_SHOWN else value[:LONGEST_SHOWN] + "..."
    return "'" + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in cut) + "'"


class NothingRun(Exception):
    """File or header are at fault: nothing was brought in."""

    def __init__(self, *faults: Fault) -> None:
        self.faults = faults
        super().__init__("\n".join(map(str, faults)))


@dataclass(frozen=True, slots=True)
class Heading:
    """A known column where it stands in the file, with the unit of its header."""

    place: int
    column: Column
    label: str
    unit: str


@dataclass(slots=True)
class RegisterRow:
    """What one line says: fields by record, the cells they were read from, and what could not be read."""

    line: int
    fields: dict[str, dict[str, Any]] = field(default_factory=REGISTER.empty)
    cells: dict[str, tuple[str, str]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


def read_file(name: str, layout: Layout = REGISTER) -> tuple[list[str], Iterator[RegisterRow]]:
    """Notes about columns that are not used, and the rows. Raises NothingRun."""
    lines = io.StringIO(_text_of(name), newline="")
    reader = csv.reader(lines, strict=True)
    try:
        header = next(reader, [])
    except csv.Error as error:
        raise NothingRun(Fault(name, 1, str(error), "names of columns with commas between them")) from error
    headings, notes = _headings(name, header, layout)
    return notes, _rows(name, reader, headings, len(header), layout)


def _text_of(name: str) -> str:
    try:
        return Path(name).read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise NothingRun(
            Fault(name, 0, f"cannot be read: {error.strerror}", "a file of this name")
        ) from error
    except UnicodeDecodeError as error:
        raise NothingRun(Fault(name, 0, "not UTF-8 text", "comma-separated values saved as UTF-8")) from error


def _headings(name: str, header: list[str], layout: Layout) -> tuple[list[Heading], list[str]]:
    found: dict[str, Heading] = {}
    faults: list[Fault] = []
    notes: list[str] = []
    known, first = layout.by_name, layout.columns[0].name
    for place, cell in enumerate(header):
        match = HEADER.fullmatch(cell)
        label, unit = cell.strip(), (match["unit"] or "").strip() if match else ""
        column = known.get(re.sub(r"[\s_-]+", "_", match["name"].casefold())) if match else None
        if column is None:
            if label:
                notes.append(f"{name}:1: {label}: warning: not a column of {layout.words}, not used")
            continue
        if column.name in found:
            faults.append(
                Fault(name, 1, f"also there as {found[column.name].label}", "each column once", label)
            )
        elif fault := _fault_of_unit(column, unit, bool(match and match["unit"] is not None)):
            faults.append(Fault(name, 1, fault.reason, fault.expected, label))
        else:
            found[column.name] = Heading(place, column, label, unit)
    if first not in found and not faults:
        separator = next((words for sign, words in ((";", "semicolons"), ("\t", "tabs"))
                          if any(sign in cell for cell in header)), "")  # fmt: skip
        reason = f"{separator} between the columns" if separator else f"no column {first}"
        faults.append(Fault(name, 1, reason, f"commas between the columns, and at least {first}"))
    if faults:
        raise NothingRun(*faults)
    return list(found.values()), notes


def _fault_of_unit(column: Column, unit: str, bracketed: bool) -> CellFault | None:
    if column.quantity is None:
        return CellFault("this column takes no unit", column.name) if bracketed else None
    if not unit and not column.unit_may_be_blank:
        first = column.quantity.expected.split(",")[0].split(" or ")[0]
        return CellFault("no unit", f"{column.name} [{first}]; units: {column.quantity.expected}")
    try:
        line = conversion_of(unit, column.quantity)
    except UnitError as error:
        return CellFault(error.reason, error.expected)
    if line.is_mass_flow:
        return CellFault("a mass a time; this is a volume a time", column.quantity.expected)
    return None


def _rows(
    name: str, reader: Any, headings: list[Heading], width: int, layout: Layout
) -> Iterator[RegisterRow]:
    start = reader.line_num + 1
    while True:
        try:
            cells = next(reader, None)
        except csv.Error as error:
            broken = RegisterRow(start, layout.empty())
            broken.faults.append(Fault(name, start, str(error), "cells with commas between them"))
            yield broken
            return
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield _row(name, RegisterRow(start, layout.empty()), cells, headings, width)
        start = reader.line_num + 1


def _row(name: str, row: RegisterRow, cells: list[str], headings: list[Heading], width: int) -> RegisterRow:
    line = row.line
    if len(cells) > width and any(cell.strip() for cell in cells[width:]):
        reason = f"{len(cells)} cells under {width} columns"
        row.faults.append(
            Fault(name, line, reason, "as many cells as columns; quote a cell that holds a comma")
        )
        return row
    if len(cells) < max(heading.place for heading in headings) + 1:
        reason = f"{len(cells)} cells under {width} columns"
        row.faults.append(Fault(name, line, reason, "as many cells as columns, blank ones with their commas"))
        return row
    for heading in headings:
        cell = cells[heading.place].strip() if heading.place < len(cells) else ""
        if cell:
            _read_cell(row, name, heading, cell)
    return row


def _read_cell(row: RegisterRow, name: str, heading: Heading, cell: str) -> None:
    column = heading.column
    row.cells[column.name] = (heading.label, cell)
    try:
        value = column.read(cell)
    except CellFault as fault:
        row.faults.append(Fault(name, row.line, fault.reason, fault.expected, heading.label, cell))
        return
    if column.quantity is None:
        row.fields[column.record][column.field] = value
    else:
        typed = row.fields[column.record].setdefault("as_typed", {})
        typed[column.field] = {"value": cell, "unit": heading.unit}
