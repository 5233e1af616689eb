"""One unit of the forward model, its exact readings and its history: the engine tests' common case."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache

from diagnostics.engine.forward import (
    ExchangerTruth,
    OperatingPoint,
    UnitTruth,
    reading_of,
    solve,
    with_fouling,
)
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet, TableRow

UNIT = UnitTruth(
    exchanger=ExchangerTruth(refrigerant="R410A", area_m2=1.0, heating_arrangement="counterflow")
)
START = datetime(2023, 4, 3, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)
LIMIT = 1.76e-4
FACTS = ExchangerFacts(
    unit="HP-1",
    refrigerant="R410A",
    exchanger="coaxial",
    area_m2=1.0,
    bore_m=0.016,
    design_flow_m3_per_s=0.55 / 998.2,
    design_pressure_drop_pa=30_000.0,
    pressure_drop_exponent=1.8,
    fouling_limit_m2k_per_w=LIMIT,
    flow_in_heating="counterflow",
    capacity_w=10_000.0,
)
COOLING = OperatingPoint("cooling", 303.15, 0.55, 12_500.0)
HEATING = OperatingPoint("heating", 288.15, 0.55, 9_000.0, superheat_k=4.0, other_saturation_k=316.15)


@cache
def reading(
    fouling: float = 0.0,
    point: OperatingPoint = COOLING,
    purpose: str = "routine",
    days: float = 700.0,
    flow: float = 1.0,
    **point_changes: float,
) -> ReadingSet:
    """What the unit shows without any instrument error."""
    at = replace(point, water_flow_kg_per_s=point.water_flow_kg_per_s * flow, **point_changes)
    state = solve(with_fouling(UNIT, fouling), at)
    return reading_of(state, unit="HP-1", taken_at=START + days * DAY, purpose=purpose)


def clean(days: float = 0.0, **changes: object) -> ReadingSet:
    """A clean visit."""
    return reading(purpose="clean_reference", days=days, **changes)  # type: ignore[arg-type]


def history(*readings: ReadingSet, **rest: object) -> History:
    """What is known besides."""
    return History(readings=readings, **rest)  # type: ignore[arg-type]


TWO_CLEAN = history(clean(0.0), clean(20.0, flow=0.8))


def table_row(point: OperatingPoint = COOLING, spread: float = 0.02) -> TableRow:
    """A printed row around the clean unit's state."""
    state = solve(UNIT, point)
    change = abs(state.leaving_water_k - state.entering_water_k)
    return TableRow(
        unit="HP-1",
        mode=point.mode,
        entering_water_k=point.entering_water_k,
        water_flow_m3_per_s=point.water_flow_kg_per_s / 996.0,
        head_low_pa=state.head_pa * (1 - spread),
        head_high_pa=state.head_pa * (1 + spread),
        suction_low_pa=state.suction_pa * (1 - spread),
        suction_high_pa=state.suction_pa * (1 + spread),
        superheat_low_k=point.superheat_k - 1.5,
        superheat_high_k=point.superheat_k + 1.5,
        subcooling_low_k=point.subcooling_k - 1.5,
        subcooling_high_k=point.subcooling_k + 1.5,
        water_temperature_change_low_k=change - 0.3,
        water_temperature_change_high_k=change + 0.3,
        water_pressure_drop_pa=state.water_pressure_drop_pa,
    )


def codes(assessment: object) -> set[str]:
    """The codes of the warnings."""
    return {warning.code for warning in assessment.warnings}  # type: ignore[attr-defined]
