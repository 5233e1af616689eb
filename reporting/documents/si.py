"""A reading's SI value as people read it; the unit is told by the name of its column."""

from __future__ import annotations

from reporting.documents import words

SCALES: dict[str, tuple[float, str, int]] = {
    "water_flow_m3_per_s": (1e3, "L/s", 3),
    "water_flow_kg_per_s": (1.0, "kg/s", 3),
    "water_pressure_drop_pa": (1e-3, "kPa", 3),
    "balancing_valve_pressure_drop_pa": (1e-3, "kPa", 3),
    "head_pressure_pa": (1e-3, "kPa absolute", 4),
    "suction_pressure_pa": (1e-3, "kPa absolute", 4),
    "static_pressure_pa": (1e-3, "kPa absolute", 4),
    "compressor_power_w": (1e-3, "kW", 3),
    "amps_a": (1.0, "A", 3),
    "volts_v": (1.0, "V", 3),
    "power_factor": (1.0, "", 2),
}


def si_words(column: str, value: float) -> str:
    if column.endswith("_k"):
        return words.celsius(value)
    scale, unit, digits = SCALES.get(column, (1.0, "", 4))
    return f"{words.number(value * scale, digits)}{words.HARD if unit else ''}{unit}"
