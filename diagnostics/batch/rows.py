"""Rows: the cells of one record become values in SI by record field, or faults."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from diagnostics.batch import cells, columns
from diagnostics.batch.columns import Layout
from diagnostics.batch.faults import CellFault, Fault
from diagnostics.batch.headers import Bound, Header, read_header
from diagnostics.batch.sheets import Record, Sheet, open_sheet
from diagnostics.engine.errors import UnknownName

SECONDS_A_MINUTE = 60.0


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line, its values by record field, the faults found in it."""

    line: int
    values: dict[str, Any]
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A file opened and its header understood."""

    sheet: Sheet
    header: Header

    def records(self) -> Iterator[Record]:
        return self.sheet.records()

    def typed(self, record: Record, name: str) -> str:
        """The cell of a column as typed, without outer blanks; empty where there is none."""
        for bound in self.header.bound:
            if bound.column.name == name:
                return _cell(record, bound)
        return ""

    def fault(self, record: Record, name: str, reason: str, expected: str) -> Fault:
        """A fault in a row's cell of that column."""
        label = next((bound.label for bound in self.header.bound if bound.column.name == name), name)
        return Fault(self.sheet.name, record.line, reason, expected, label, self.typed(record, name))

    def shape_fault(self, record: Record) -> Fault | None:
        """What keeps a record from fitting the columns: quotes, semicolons, or the count of cells."""
        name, width = self.sheet.name, self.header.width
        if record.fault:
            return Fault(name, record.line, record.fault, "quotes in pairs around a whole cell")
        first = record.cells[0]
        if len(record.cells) < width and first.count(";") >= min(2, width - 1):
            reason, expected = "semicolons between the cells", "commas between them and points in the numbers"
            return Fault(name, record.line, reason, expected, value=first)
        for index, cell in enumerate(record.cells):
            if cell.strip() and (index >= width or index in self.header.nameless):
                reason = "a cell under no column name; a decimal comma, or a comma in a text without quotes?"
                expected = f"{width} cells, points in the numbers"
                return Fault(name, record.line, reason, expected, f"cell {index + 1}", cell)
        if len(record.cells) < self.header.last_named:
            reason = f"{len(record.cells)} cells under {width} columns"
            return Fault(name, record.line, reason, "as many cells as columns, blank ones with their commas")
        return None

    def row(self, record: Record, barometric_pa: float) -> Row:
        """All cells of a record. Gauge pressures become absolute with the barometric pressure."""
        shape = self.shape_fault(record)
        if shape is not None:
            return Row(record.line, {}, (shape,))
        values: dict[str, Any] = {}
        faults: list[Fault] = []
        for bound in self.header.bound:
            try:
                _take(values, bound, _cell(record, bound), barometric_pa)
            except CellFault as error:
                faults.append(self.fault(record, bound.column.name, error.reason, error.expected))
        return Row(record.line, values, tuple(faults))


def open_table(name: str, layout: Layout) -> Table:
    """Open a file and read its header. Raises NothingRun where either will not do."""
    sheet = open_sheet(name)
    return Table(sheet, read_header(sheet, layout))


def _cell(record: Record, bound: Bound) -> str:
    return record.cells[bound.index].strip() if bound.index < len(record.cells) else ""


def _take(values: dict[str, Any], bound: Bound, cell: str, barometric_pa: float) -> None:
    column = bound.column
    if not cell:
        if column.compulsory:
            raise CellFault("blank", _wanted(bound))
        return
    if bound.conversion is None:
        values[column.field] = _word_or_time(bound, cell)
        return
    field = column.mass_field if bound.conversion.is_mass_flow and column.mass_field else column.field
    values[field] = _quantity(bound, cell, barometric_pa)


def _wanted(bound: Bound) -> str:
    kind = bound.column.kind
    if bound.column.words:
        return " or ".join(bound.column.words)
    if kind == columns.TIME:
        return "a date and time in ISO 8601"
    return "a refrigerant" if kind == columns.REFRIGERANT else "a name"


def _word_or_time(bound: Bound, cell: str) -> object:
    kind = bound.column.kind
    if kind == columns.WORD:
        return cells.word(cell, bound.column.words)
    if kind == columns.YES_NO:
        return cells.word(cell, bound.column.words) == "yes"
    if kind == columns.TIME:
        return cells.instant(cell)
    return _refrigerant(cell) if kind == columns.REFRIGERANT else cell


def _refrigerant(cell: str) -> str:
    # Imported here because it takes a second or two, which a mistyped header need not wait for.
    from diagnostics.engine.refrigerants import canonical_name

    try:
        return canonical_name(cell)
    except UnknownName as error:
        raise CellFault("not a refrigerant known here", ", ".join(error.valid)) from error


def _quantity(bound: Bound, cell: str, barometric_pa: float) -> float | int:
    line = bound.conversion
    assert line is not None
    value = cells.number(cell, line.unit) * line.scale + line.offset
    if line.gauge:
        value += barometric_pa
    if not math.isfinite(value):
        raise CellFault("too large to be a number", f"a number in {line.unit}")
    if bound.column.kind == "count":
        return cells.whole(value)
    if bound.column.kind == "duration":
        return value / SECONDS_A_MINUTE
    return value
