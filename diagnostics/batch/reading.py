"""The four files become the engine's records: good rows by unit, one fault a bad row, other notes."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from diagnostics.batch.columns import (
    DESIGN_FLOW_BY_MASS,
    EVENTS,
    READINGS,
    TABLES,
    UNITS,
    WATER_FLOW_BY_MASS,
    Layout,
)
from diagnostics.batch.faults import Fault
from diagnostics.batch.rows import Row, Table, open_table
from diagnostics.batch.sheets import Record
from diagnostics.engine.quantities import STANDARD_ATMOSPHERE_PA, standard_atmosphere_pa
from diagnostics.engine.records import ExchangerFacts, ReadingSet, TableRow, UnitEvent

_DESIGN_FLOW_WATER_K = 293.15


@dataclass(slots=True)
class Inputs:
    """What the files held: facts, tables and events by unit, reading sets in the file's order.

    `lines` are the reading sets' lines, kept apart so that a result does not depend on where its row stands.
    `unusable` says of a unit that units.csv names but badly what is wrong with it there.
    """

    readings_file: str
    facts: dict[str, ExchangerFacts] = field(default_factory=dict)
    readings: list[ReadingSet] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    tables: dict[str, list[TableRow]] = field(default_factory=dict)
    events: dict[str, list[UnitEvent]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    unusable: dict[str, str] = field(default_factory=dict)


def read_inputs(
    units: str, readings: str | None, tables: str | None = None, events: str | None = None
) -> Inputs:
    """Read the files. Raises NothingRun, before any row is read, where a file or a header will not do."""
    asked: list[tuple[str | None, Layout]] = [
        (units, UNITS),
        (tables, TABLES),
        (events, EVENTS),
        (readings, READINGS),
    ]
    opened = {layout.what: open_table(name, layout) for name, layout in asked if name is not None}
    inputs = Inputs(readings or "", notes=[note for table in opened.values() for note in table.header.notes])
    _read_units(opened[UNITS.what], inputs)
    if TABLES.what in opened:
        _read_tables(opened[TABLES.what], inputs)
    if EVENTS.what in opened:
        _read_events(opened[EVENTS.what], inputs)
    if READINGS.what in opened:
        _read_readings(opened[READINGS.what], inputs)
    return inputs


def _read_units(table: Table, inputs: Inputs) -> None:
    records = list(table.records())
    lines: dict[str, list[int]] = {}
    for record in records:
        lines.setdefault(table.typed(record, "unit"), []).append(record.line)
    for record in records:
        unit = table.typed(record, "unit")
        row = _unit_row(table, record)
        if unit and len(lines[unit]) > 1:
            all_lines = " and ".join(str(line) for line in lines[unit])
            doubled = table.fault(record, "unit", f"on lines {all_lines}", "each unit once")
            row = replace(row, faults=(doubled,))
            inputs.unusable[unit] = f"it is doubled in {table.sheet.name}, lines {all_lines}"
        elif row.faults:
            inputs.unusable[unit] = f"its row in {table.sheet.name}, line {record.line}, is bad"
        if row.faults:
            inputs.faults.append(_as_one(row))
        else:
            inputs.facts[unit] = ExchangerFacts(**row.values)


def _unit_row(table: Table, record: Record) -> Row:
    """A row of units; its own elevation gives the barometric pressure for its cut-outs."""
    row = table.row(record, STANDARD_ATMOSPHERE_PA)
    elevation_m = row.values.get("elevation_m")
    if elevation_m is not None:
        try:
            row = table.row(record, standard_atmosphere_pa(elevation_m))
        except ValueError as error:
            expected = "a height above sea level, negative below it"
            fault = table.fault(record, "elevation", str(error), expected)
            return replace(row, faults=(*row.faults, fault))
    mass = row.values.pop(DESIGN_FLOW_BY_MASS, None)
    if mass is not None:
        # The design point is one of clean water at 20 degC, as the design pressure drop is.
        row.values["design_flow_m3_per_s"] = mass / _density(None, _DESIGN_FLOW_WATER_K)
    return row


def _density(facts: ExchangerFacts | None, temperature_k: float) -> float:
    # Imported here because it takes a second, and few files give these flows by mass.
    from diagnostics.engine.waters import water

    fluid = water() if facts is None else water(facts.antifreeze, facts.antifreeze_fraction)
    return float(fluid.density_kg_per_m3(temperature_k))


def _read_tables(table: Table, inputs: Inputs) -> None:
    """Rows of makers' tables. Their gauge pressures are printed for sea level, wherever the unit stands."""
    for record in table.records():
        row = _row_of_a_unit(table, record, inputs, STANDARD_ATMOSPHERE_PA)
        if not row.faults and WATER_FLOW_BY_MASS in row.values:
            row = _with_flow_by_volume(table, record, row, inputs)
        if not row.faults:
            row = replace(row, faults=tuple(_out_of_order(table, record, row)))
        if row.faults:
            inputs.faults.append(_as_one(row))
        else:
            inputs.tables.setdefault(row.values["unit"], []).append(TableRow(**row.values))


RANGES = {
    "head": "pa",
    "suction": "pa",
    "superheat": "k",
    "subcooling": "k",
    "water_temperature_change": "k",
}


def _out_of_order(table: Table, record: Record, row: Row) -> Iterator[Fault]:
    """A fault for each range whose low end lies above its high end."""
    for name, unit in RANGES.items():
        low, high = (row.values.get(f"{name}_{end}_{unit}") for end in ("low", "high"))
        if low is not None and high is not None and low > high:
            reason = f"above {name}_high, {table.typed(record, f'{name}_high')}"
            yield table.fault(record, f"{name}_low", reason, f"{name}_low at or below {name}_high")


def _with_flow_by_volume(table: Table, record: Record, row: Row, inputs: Inputs) -> Row:
    values = dict(row.values)
    mass = values.pop(WATER_FLOW_BY_MASS)
    try:
        entering_k = values.get("entering_water_k", _DESIGN_FLOW_WATER_K)
        values["water_flow_m3_per_s"] = mass / _density(inputs.facts[values["unit"]], entering_k)
    except ValueError as error:
        reason = f"no density to turn mass into volume: {error}"
        fault = table.fault(record, "water_flow", reason, "a volume flow")
        return replace(row, faults=(fault,))
    return replace(row, values=values)


def _read_events(table: Table, inputs: Inputs) -> None:
    for record in table.records():
        row = _row_of_a_unit(table, record, inputs, STANDARD_ATMOSPHERE_PA)
        if row.faults:
            inputs.faults.append(_as_one(row))
        else:
            inputs.events.setdefault(row.values["unit"], []).append(UnitEvent(**row.values))


def _read_readings(table: Table, inputs: Inputs) -> None:
    barometric_pa = {
        unit: standard_atmosphere_pa(facts.elevation_m)
        for unit, facts in inputs.facts.items()
        if facts.elevation_m is not None
    }
    for record in table.records():
        here_pa = barometric_pa.get(table.typed(record, "unit"), STANDARD_ATMOSPHERE_PA)
        row = _row_of_a_unit(table, record, inputs, here_pa)
        if row.faults:
            inputs.faults.append(_as_one(row))
            continue
        typed = table.typed(record, "taken_at")
        inputs.readings.append(ReadingSet(**row.values, taken_at_as_typed=typed))
        inputs.lines.append(row.line)


def _row_of_a_unit(table: Table, record: Record, inputs: Inputs, barometric_pa: float) -> Row:
    """A row that names a unit, which must stand once, and well, in the units file."""
    row = table.row(record, barometric_pa)
    unit = table.typed(record, "unit")
    if not unit or unit in inputs.facts or table.shape_fault(record):
        return row
    return replace(row, faults=(_unusable_unit(table, record, inputs, unit), *row.faults))


def _unusable_unit(table: Table, record: Record, inputs: Inputs, unit: str) -> Fault:
    reason = inputs.unusable.get(unit)
    if reason is not None:
        return table.fault(record, "unit", reason, "a unit with one good row there")
    near = difflib.get_close_matches(unit, inputs.facts, n=1, cutoff=0.8)
    hint = f" (is it {near[0]}?)" if near else ""
    return table.fault(record, "unit", f"not in the units file{hint}", "a unit that has a row there")


def _as_one(row: Row) -> Fault:
    """A bad row's faults as one: the first, with the places of the others."""
    first, *others = row.faults
    places = dict.fromkeys(fault.column for fault in others if fault.column not in ("", first.column))
    if not places:
        return first
    return replace(first, expected=f"{first.expected} (also bad in this row: {', '.join(places)})")
