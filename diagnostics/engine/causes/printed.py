"""A maker's printed rows as what a sound machine of the model shows: they teach the doubts of its record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.causes.probability import Array
from diagnostics.engine.causes.residuals import QUANTITIES
from diagnostics.engine.causes.shapes import Signatures
from diagnostics.engine.causes.signatures import UNIT_DOUBTS, point_of, signatures
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet, TableRow
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.tables import middle
from diagnostics.engine.waters import water

MOST_ROWS = 2
FARTHEST_K, FARTHEST_FLOW = 12.0, 0.25
PRINTED_DROP, LEAST_K = 0.05, 0.3
"""Tolerance where one value stands instead of a range (common practice)."""


@dataclass(frozen=True, slots=True)
class Printed:
    """One row against the clean unit: places of its quantities, residuals [K or -] and their variances."""

    places: tuple[int, ...]
    residuals: Array
    variances: Array
    signs: Signatures


def printed_rows(facts: ExchangerFacts, reading: ReadingSet, history: History) -> Iterator[Printed]:
    """The rows nearest to the reading's entering water, and near enough to the design flow."""
    near = sorted(_usable(facts, reading, history), key=lambda row: _distance(row, reading))
    for row in near[:MOST_ROWS]:
        found = _printed(facts, reading, row)
        if found is not None:
            yield found


def _usable(facts: ExchangerFacts, reading: ReadingSet, history: History) -> list[TableRow]:
    return [
        row
        for row in history.tables
        if (row.unit, row.mode, row.stage) == (facts.unit, reading.mode, reading.stage)
        and row.entering_water_k is not None
        and _distance(row, reading) <= FARTHEST_K
    ]


def _distance(row: TableRow, reading: ReadingSet) -> float:
    if reading.entering_water_k is None or row.entering_water_k is None:
        return 0.0
    return abs(row.entering_water_k - reading.entering_water_k)


def _printed(facts: ExchangerFacts, reading: ReadingSet, row: TableRow) -> Printed | None:
    at = replace(
        reading, entering_water_k=row.entering_water_k, entering_air_k=None, entering_air_wet_bulb_k=None
    )
    signs = signatures(facts, point_of(at), curves=False)
    flow = _flow_over_design(row, signs)
    if abs(flow) > FARTHEST_FLOW:
        return None
    found = {name: one for name, one in _values(facts, row, signs).items() if np.isfinite(one[0])}
    places = tuple(p for p, name in enumerate(QUANTITIES) if name in found and np.isfinite(signs.clean[p]))
    if not places:
        return None
    rows = list(places)
    by_flow = signs.unit_sensitivity[rows, list(UNIT_DOUBTS).index("flow")] * flow
    values = np.array([found[QUANTITIES[p]][0] for p in places])
    spreads = np.array([found[QUANTITIES[p]][1] for p in places])
    return Printed(places, values - signs.clean[rows] - by_flow, spreads**2, signs)


def _flow_over_design(row: TableRow, signs: Signatures) -> float:
    """Logarithm of the row's flow over the design flow; none printed is taken as the design flow."""
    if not row.water_flow_m3_per_s or row.entering_water_k is None:
        return 0.0
    unit, mode = signs.unit, signs.point.mode
    exchanger = unit.evaporator if unit.evaporator is not None and mode == "heating" else unit.exchanger
    density = float(water("none").density_kg_per_m3(row.entering_water_k))
    return float(np.log(row.water_flow_m3_per_s * density / float(exchanger.design_flow_kg_per_s)))


def _values(facts: ExchangerFacts, row: TableRow, signs: Signatures) -> dict[str, tuple[float, float]]:
    """Middle and standard uncertainty of each printed quantity."""
    fluid = refrigerant(facts.refrigerant, errors="nan")
    found: dict[str, tuple[float, float]] = {}
    pressures = (
        ("head", fluid.bubble_temperature_k, row.head_low_pa, row.head_high_pa),
        ("suction", fluid.dew_temperature_k, row.suction_low_pa, row.suction_high_pa),
    )
    for name, saturation, low, high in pressures:
        if low is not None and high is not None:
            ends = float(saturation(low)), float(saturation(high))
            found[name] = 0.5 * sum(ends), max(abs(ends[1] - ends[0]) / 12**0.5, LEAST_K)
    differences = (
        ("superheat", row.superheat_low_k, row.superheat_high_k),
        ("subcooling", row.subcooling_low_k, row.subcooling_high_k),
        ("water_change", row.water_temperature_change_low_k, row.water_temperature_change_high_k),
    )
    for name, low, high in differences:
        told = middle(low, high)
        if told is not None:
            found[name] = told[0], max(told[1], LEAST_K)
    exchanger = signs.unit.exchanger
    if row.water_pressure_drop_pa:
        drop = float(np.log(row.water_pressure_drop_pa / float(exchanger.design_drop_pa)))
        found["pressure_drop"] = drop, PRINTED_DROP
    return found
