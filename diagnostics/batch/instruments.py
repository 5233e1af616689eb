"""Instruments: the table of default accuracies, printed as a file that can be edited and read back."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from diagnostics.batch import cells, columns
from diagnostics.batch.columns import READINGS, Column, Layout
from diagnostics.batch.faults import CellFault, Fault, NothingRun
from diagnostics.batch.headers import split
from diagnostics.batch.rows import Table, open_table
from diagnostics.batch.sheets import Record
from diagnostics.engine.quantities import KINDS, UnitError, conversion
from diagnostics.engine.records import InstrumentAccuracy
from diagnostics.engine.uncertainty import DEFAULT_INSTRUMENTS, READINGS_WITH_INSTRUMENTS

DISTRIBUTIONS = ("rectangular", "normal")
_PER_CENT = ("%", "percent", "per cent")
_LIMIT = re.compile(r"(?P<number>[^\s%a-zA-Z]+(?:[eE][+-]?\d+)?)\s*(?P<unit>.*)", re.ASCII)
_DOUBTFULLY_SMALL_PER_CENT = 0.1
_LIMIT_KINDS = {"temperature": "temperature_difference", "refrigerant_pressure": "pressure_difference"}

INSTRUMENTS = Layout(
    "instruments",
    (
        Column("reading", "reading", columns.WORD, READINGS_WITH_INSTRUMENTS, compulsory=True),
        Column("repeating", "repeating", columns.LIMIT, compulsory=True),
        Column("random", "random", columns.LIMIT, compulsory=True),
        Column("unit", "unit", columns.TEXT),
        Column("distribution", "distribution", columns.WORD, DISTRIBUTIONS),
        Column("source", "source", columns.TEXT),
    ),
)


def print_instruments() -> str:
    """The defaults as a file: limits of error, a part that repeats at every visit and one that does not."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(column.name for column in INSTRUMENTS.columns)
    for one in DEFAULT_INSTRUMENTS:
        limits = [f"{limit * (100 if one.relative else 1):.6g}" for limit in (one.repeating, one.random)]
        writer.writerow([one.reading, *limits, _default_unit(one), one.distribution, one.source])
    return page.getvalue()


def read_instruments(name: str) -> tuple[list[InstrumentAccuracy], list[str]]:
    """Accuracies that take the place of defaults, and notes.

    Any bad row raises NothingRun, for it would touch every result.
    """
    table = open_table(name, INSTRUMENTS)
    stated: list[InstrumentAccuracy] = []
    faults: list[Fault] = []
    notes = list(table.header.notes)
    for record in table.records():
        row = table.row(record, 0.0)
        faults += row.faults
        if row.faults:
            continue
        if row.values["reading"] in (one.reading for one in stated):
            faults.append(table.fault(record, "reading", "stated twice", "each reading once"))
            continue
        try:
            stated.append(_accuracy(table, record, row.values))
        except _LimitFault as fault:
            faults.append(table.fault(record, fault.column, fault.reason, fault.expected))
        notes += _doubts(table, record, stated[-1:])
    if faults:
        raise NothingRun(*faults)
    return stated, notes


class _LimitFault(CellFault):
    def __init__(self, column: str, error: CellFault | UnitError) -> None:
        self.column = column
        super().__init__(error.reason, error.expected)


@dataclass(frozen=True, slots=True)
class _Limit:
    value: float
    relative: bool


def _accuracy(table: Table, record: Record, values: dict[str, str]) -> InstrumentAccuracy:
    default = next(one for one in DEFAULT_INSTRUMENTS if one.reading == values["reading"])
    limits = []
    for name in ("repeating", "random"):
        try:
            limits.append(_limit(values[name], _written_unit(table, name, values), default))
        except (CellFault, UnitError) as error:
            raise _LimitFault(name, error) from error
    if limits[0].relative != limits[1].relative:
        mixed = CellFault("one part in % and one not", "both parts in % or both in a unit")
        raise _LimitFault("random", mixed)
    return InstrumentAccuracy(
        default.reading,
        limits[0].value,
        limits[1].value,
        limits[0].relative,
        values.get("distribution", default.distribution),
        values.get("source", f"stated in {table.sheet.name}"),
    )


def _written_unit(table: Table, name: str, values: dict[str, str]) -> str:
    label = next(bound.label for bound in table.header.bound if bound.column.name == name)
    return values.get("unit", "") or split(label)[1] or ""


def _limit(cell: str, written_unit: str, default: InstrumentAccuracy) -> _Limit:
    match = _LIMIT.fullmatch(cell)
    if match is None:
        raise CellFault("not a number", "a limit of error, as in 0.2 K or 3 %")
    unit = match["unit"] or written_unit or _default_unit(default)
    value = cells.number(match["number"], unit)
    if value < 0:
        raise CellFault("negative", "the size of the error, without a sign")
    if unit in _PER_CENT:
        return _Limit(value / 100, True)
    kind = _kind(default.reading)
    if kind == "water_flow":
        raise CellFault(f"in {unit}", "per cent of the reading, as in 3 %")
    line = conversion(unit, kind)
    return _Limit(value * line.scale, False)


def _kind(reading: str) -> str:
    column = READINGS.column(reading)
    assert column is not None
    return _LIMIT_KINDS.get(column.kind, column.kind)


def _default_unit(one: InstrumentAccuracy) -> str:
    return "%" if one.relative else {"kelvin": "K"}.get(si := KINDS[_kind(one.reading)].si_units[0], si)


def _doubts(table: Table, record: Record, stated: list[InstrumentAccuracy]) -> list[str]:
    """A bare 0.03 for a reading told in per cent was perhaps meant as 3 %."""
    if not stated or not stated[0].relative or "%" in "".join(record.cells) + "".join(table.sheet.header):
        return []
    return [
        f"{table.sheet.name}:{record.line}: {name}: warning: {stated[0].reading} is taken as "
        f"{100 * value:g} %; write {100 * value:g} % or {10000 * value:g} % to say which is meant"
        for name, value in (("repeating", stated[0].repeating), ("random", stated[0].random))
        if 0 < 100 * value < _DOUBTFULLY_SMALL_PER_CENT
    ]
