"""A heat pump with one thing wrong, and what would be read at it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from diagnostics.engine.records import ExchangerFacts, ReadingSet
from diagnostics.engine.virtual_unit import Conditions, faults_of, rated_unit, readings, solve

WHEN = datetime(2024, 5, 1, 10, 0, tzinfo=UTC)
BARE = ExchangerFacts("HP-1", "R410A", "coaxial", capacity_w=12e3, water_source="cooling_tower")
_PRINTED = rated_unit(BARE).exchanger
HEAT_PUMP = replace(
    BARE,
    design_flow_m3_per_s=float(_PRINTED.design_flow_kg_per_s) / 998.2,
    design_pressure_drop_pa=float(_PRINTED.design_drop_pa),
)
COOLING = Conditions("cooling", 301.15)
HEATING = Conditions("heating", 291.15, air_k=293.15, air_wet_bulb_k=288.15)


def read_with(cause: str, level: str = "heavy", mode: str = "cooling", **found: object) -> ReadingSet:
    """What is read, without instrument error, where one cause is at work; `found` replaces fields."""
    faults = faults_of(cause, level)
    state = solve(rated_unit(HEAT_PUMP), COOLING if mode == "cooling" else HEATING, faults)
    assert state.converged
    return replace(readings(state, unit="HP-1", taken_at=WHEN, faults=faults), **found)  # type: ignore[arg-type]
