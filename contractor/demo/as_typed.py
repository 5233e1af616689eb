"""What the technician writes down: the gauge's unit and as many places as the gauge shows."""

from __future__ import annotations

from dataclasses import dataclass

from contractor.demo.scenario import SiteStory
from diagnostics.engine.quantities import from_si
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.waters import water

RATING_WATER_K = 293.15


@dataclass(frozen=True, slots=True)
class Shown:
    """A reading as an instrument shows it: its unit in US and in metric use, and how many digits."""

    name: str
    column: str
    kind: str
    us_unit: str
    metric_unit: str
    us_digits: str = ".1f"
    metric_digits: str = ".1f"


SHOWN = (
    Shown("entering_water", "entering_water_k", "temperature", "degF", "degC", ".1f", ".2f"),
    Shown("leaving_water", "leaving_water_k", "temperature", "degF", "degC", ".1f", ".2f"),
    Shown("water_flow", "water_flow_kg_per_s", "water_flow", "gpm", "L/minute", ".2f", ".1f"),
    Shown("water_pressure_drop", "water_pressure_drop_pa", "pressure_difference", "psi", "kPa", ".2f", ".1f"),
    Shown("head_pressure", "head_pressure_pa", "refrigerant_pressure", "psig", "bar_gauge", ".1f", ".2f"),
    Shown(
        "suction_pressure", "suction_pressure_pa", "refrigerant_pressure", "psig", "bar_gauge", ".1f", ".2f"
    ),
    Shown("liquid_line", "liquid_line_k", "temperature", "degF", "degC"),
    Shown("suction_line", "suction_line_k", "temperature", "degF", "degC"),
    Shown("discharge_line", "discharge_line_k", "temperature", "degF", "degC"),
    Shown("entering_air", "entering_air_k", "temperature", "degF", "degC"),
    Shown("leaving_air", "leaving_air_k", "temperature", "degF", "degC"),
    Shown("compressor_power", "compressor_power_w", "power", "kW", "kW", ".2f", ".2f"),
)


def as_typed(reading: ReadingSet, site: SiteStory, barometric_pa: float) -> dict[str, dict[str, str]]:
    fluid = water(site.antifreeze, site.antifreeze_fraction)
    density = float(fluid.density_kg_per_m3(reading.entering_water_k or RATING_WATER_K))
    typed: dict[str, dict[str, str]] = {}
    for shown in SHOWN:
        value = getattr(reading, shown.column)
        if value is None:
            continue
        unit, digits = (
            (shown.us_unit, shown.us_digits) if site.us_units else (shown.metric_unit, shown.metric_digits)
        )
        number = float(from_si(value, unit, shown.kind, barometric_pa=barometric_pa, density=density))
        typed[shown.name] = {"value": format(number, digits), "unit": unit}
    return typed
