"""One heat pump with a known truth: rows that a technician might have left, read off the forward model."""

from __future__ import annotations

import datetime as dt
from typing import Any

from contractor.accounts.models import Person
from contractor.register.models import Exchanger
from contractor.visits.models import Reading, Visit
from diagnostics.engine.forward import (
    ExchangerTruth,
    OperatingPoint,
    UnitTruth,
    reading_of,
    solve,
    with_fouling,
)

AREA_M2 = 0.9
UNIT = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=AREA_M2))
FIRST_DAY = dt.datetime(2023, 4, 3, 9, 30, tzinfo=dt.UTC)
COLUMNS = (
    "entering_water_k", "leaving_water_k", "water_flow_kg_per_s", "head_pressure_pa", "suction_pressure_pa",
    "liquid_line_k", "suction_line_k", "discharge_line_k", "compressor_power_w",
)  # fmt: skip
HEAVY = 5.5e-4  # about three times the published allowance for tower water, 1.76e-4 m2K/W


def know(exchanger: Exchanger) -> Exchanger:
    """The register knows the size of the exchanger and the water it is on."""
    exchanger.area_m2 = AREA_M2
    exchanger.save()
    exchanger.unit.site.water_source = "cooling_tower"
    exchanger.unit.site.save()
    return exchanger


def values(fouling_m2k_per_w: float = 0.0, water_k: float = 303.15) -> dict[str, Any]:
    state = solve(with_fouling(UNIT, fouling_m2k_per_w), OperatingPoint("cooling", water_k, 0.55, 12_500.0))
    true = reading_of(state, unit="", taken_at=FIRST_DAY)
    return {column: getattr(true, column) for column in COLUMNS}


def typed(read: dict[str, Any]) -> dict[str, dict[str, str]]:
    return {
        "entering_water": {"value": f"{(read['entering_water_k'] - 273.15) * 1.8 + 32:.1f}", "unit": "degF"},
        "leaving_water": {"value": f"{(read['leaving_water_k'] - 273.15) * 1.8 + 32:.1f}", "unit": "degF"},
        "head_pressure": {"value": f"{(read['head_pressure_pa'] - 101_325) / 6894.757:.0f}", "unit": "psig"},
    }


def reading(
    visit: Visit,
    exchanger: Exchanger,
    by: Person,
    *,
    day: int = 0,
    fouling_m2k_per_w: float = 0.0,
    **given: Any,
) -> Reading:
    read = values(fouling_m2k_per_w, given.pop("water_k", 303.15))
    fields: dict[str, Any] = {
        "visit": visit,
        "exchanger": exchanger,
        "taken_by": by,
        "taken_at": FIRST_DAY + dt.timedelta(days=day),
        "mode": "cooling",
        "minutes_running": 20.0,
        "strainer": "clean",
        "as_typed": typed(read),
        **read,
        **given,
    }
    return Reading.objects.create(**fields)


def clean_visits(visit: Visit, exchanger: Exchanger, by: Person) -> list[Reading]:
    return [
        reading(visit, exchanger, by, day=day, purpose="clean_reference", water_k=water)
        for day, water in ((0, 303.15), (1, 298.15))
    ]


class Silent:
    """Progress that nobody listens to."""

    def __init__(self) -> None:
        self.told: list[tuple[int, int, str]] = []

    def tell(self, done: int, of: int, words: str = "") -> None:
        self.told.append((done, of, words))

    def still_ours(self) -> None:
        return None


__all__ = ["AREA_M2", "FIRST_DAY", "HEAVY", "Silent", "clean_visits", "know", "reading", "values"]
