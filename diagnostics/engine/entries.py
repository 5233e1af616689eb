"""Entries of the register and readings that can't be: set aside and said, before anything rests on them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from diagnostics.engine import ports
from diagnostics.engine.records import ExchangerFacts, ReadingSet, Warning

EXPONENTS = (1.0, 2.5)
"""Pressure drop grows with flow to 1 in laminar and 2 in fully rough flow; makers' fits stray a little."""
MOST_ANTIFREEZE = 0.6
BELIEVABLE: dict[str, tuple[str, float, float]] = {
    "area_m2": ("m2", 1e-3, 1e4),
    "bore_m": ("m", 5e-4, 0.5),
    "length_m": ("m", 0.05, 2000.0),
    "count": ("", 1, 100_000),
    "design_flow_m3_per_s": ("m3/s", 1e-6, 5.0),
    "design_pressure_drop_pa": ("Pa", 10.0, 1e6),
    "pressure_drop_exponent": ("", *EXPONENTS),
    "fouling_limit_m2k_per_w": ("m2K/W", 1e-7, 0.1),
    "capacity_w": ("W", 100.0, 1e8),
    "high_head_cutout_pa": ("Pa absolute", 1e5, 1.5e7),
    "low_suction_cutout_pa": ("Pa absolute", 1e3, 3e6),
    "freeze_cutout_k": ("K", 233.0, 303.0),
    "balancing_valve_kv_m3_per_h": ("m3/h", 0.02, 5000.0),
    "port_rise_m": ("m", -10.0, 10.0),
    "fan_power_w": ("W", 5.0, 1e5),
    "loop_low_k": ("K", 243.0, 373.0),
    "loop_high_k": ("K", 243.0, 373.0),
}
"""Between which values an entry can be of a machine of this trade; zero and below are outside all of them."""


@dataclass(frozen=True, slots=True)
class Stop:
    """Why no number can be told: code, text, and the column to look at."""

    code: str
    text: str
    suspect: str


UNIT_AT_THE_END = re.compile(r"_(m3_per_[sh]|kg_per_s|m2k_per_w|m2|pa|w|m|k|v|a)$")


def name_of(field: str) -> str:
    """The column's name without its unit."""
    return UNIT_AT_THE_END.sub("", field)


def usable_facts(facts: ExchangerFacts) -> tuple[ExchangerFacts, tuple[Warning, ...]]:
    """The register's row without what can't be, and a sentence about each entry set aside."""
    odd = dict(_odd_entries(facts))
    if not odd:
        return facts, ()
    said = tuple(
        Warning(f"{name_of(field)}_not_usable", f"{text}; it is set aside as not known")
        for field, text in odd.items()
    )
    unknown: dict[str, Any] = dict.fromkeys(odd)
    return replace(facts, **unknown), said


def _odd_entries(facts: ExchangerFacts) -> Iterator[tuple[str, str]]:
    for field, (unit, low, high) in BELIEVABLE.items():
        value = getattr(facts, field)
        if value is not None and not low <= value <= high:
            told = f"{name_of(field)} is {value:g} {unit}".rstrip()
            yield field, f"{told}: right would be {low:g} to {high:g}"
    coldest, warmest = facts.loop_low_k, facts.loop_high_k
    if coldest is not None and warmest is not None and coldest > warmest:
        for field in ("loop_low_k", "loop_high_k"):
            yield (
                field,
                f"loop_low {coldest - 273.15:.1f} degC is above loop_high {warmest - 273.15:.1f} degC",
            )


ANTIFREEZE_ENTRY = "antifreeze_entry"
"""Suspect that is no reading but the register's own entry."""


def _meant(fraction: float) -> str:
    """What a strength in per cent would have been as a fraction."""
    per_cent = 5 <= fraction <= 100 * MOST_ANTIFREEZE
    return f"; if {fraction:g} % was meant, enter {fraction / 100:g}" if per_cent else ""


def antifreeze_stop(facts: ExchangerFacts) -> Stop | None:
    """Why the loop's water has no properties, if it has none."""
    fraction = facts.antifreeze_fraction
    if facts.antifreeze == "none" and fraction:
        text = f"antifreeze_fraction is {fraction:g} but antifreeze is none: right would be its name, or 0"
        return Stop("antifreeze_not_named", text, ANTIFREEZE_ENTRY)
    if facts.antifreeze == "none":
        return None
    if fraction is None:
        return Stop(
            "antifreeze_fraction_missing",
            f"antifreeze is {facts.antifreeze} but its fraction is not known: measure it (refractometer) and "
            "enter antifreeze_fraction",
            "antifreeze_fraction",
        )
    if not 0 <= fraction <= MOST_ANTIFREEZE:
        return Stop(
            "antifreeze_fraction_out_of_range",
            f"antifreeze_fraction is {fraction:g}, that is {100 * fraction:.3g} %: check what was entered; "
            f"right would be 0 to {MOST_ANTIFREEZE:g} (0 to {100 * MOST_ANTIFREEZE:g} %), beyond which no "
            f"table of such water goes{_meant(fraction)}",
            ANTIFREEZE_ENTRY,
        )
    return None


FLOW_STOPS, FLOW_ODD = (0.02, 10.0), (0.25, 2.5)
"""Measured over design flow: beyond the first a typing or unit error, beyond the second worth a word."""
LEAST_FLOW, MOST_FLOW = 1e-3, 5e3
"""Water through one exchanger [kg/s]; below or above it is no reading of one."""


def usable_reading(
    reading: ReadingSet, facts: ExchangerFacts
) -> tuple[ReadingSet, tuple[Warning, ...], tuple[Stop, ...]]:
    """The set without what can't be, what was set aside, and what stops the number."""
    said: list[Warning] = []
    stops: list[Stop] = []
    changes: dict[str, Any] = {}
    flow = _flow(reading)
    if flow is not None:
        _check_flow(flow, facts, said, stops)
    _check_drop(reading, facts, flow is not None, changes, said, stops)
    valve = reading.balancing_valve_pressure_drop_pa
    if valve is not None and valve <= 0:
        text = f"balancing_valve_pressure_drop is {valve:g} Pa: right would be above 0; it is not used"
        said.append(Warning("balancing_valve_pressure_drop_not_above_zero", text))
        changes["balancing_valve_pressure_drop_pa"] = None
    _check_power(reading, changes, said)
    return (replace(reading, **changes) if changes else reading), tuple(said), tuple(stops)


def _check_drop(
    reading: ReadingSet,
    facts: ExchangerFacts,
    metered: bool,
    changes: dict[str, Any],
    said: list[Warning],
    stops: list[Stop],
) -> None:
    drop = reading.water_pressure_drop_pa
    if drop is None or drop > ports.least_possible_pa(facts, reading):
        return
    text = (
        f"water_pressure_drop is {drop:g} Pa: with water flowing it is above 0; right would be near the "
        "design pressure drop (hoses swapped, gauge not zeroed, or no flow)"
    )
    changes["water_pressure_drop_pa"] = None
    if metered:
        said.append(Warning("water_pressure_drop_not_above_zero", f"{text}; it is not used"))
    else:
        stops.append(Stop("water_pressure_drop_not_above_zero", text, "water_pressure_drop"))


LEAST_WHILE_RUNNING = {"compressor_power_w": 20.0, "amps_a": 0.1, "volts_v": 20.0, "power_factor": 0.0}
"""[W, A, V, -] The smallest compressors take more (common practice); a clamp that is not round a live lead
reads less."""


def _check_power(reading: ReadingSet, changes: dict[str, Any], said: list[Warning]) -> None:
    for field in ("compressor_power_w", "amps_a", "volts_v", "power_factor"):
        value, factor = getattr(reading, field), field == "power_factor"
        least = LEAST_WHILE_RUNNING[field]
        if value is None or least < value <= (1.0 if factor else float("inf")):
            continue
        right = "above 0 up to 1" if factor else f"above {least:g} while the compressor runs"
        text = f"{name_of(field)} is {value:g}: right would be {right}; it is not used"
        said.append(Warning(f"{name_of(field)}_out_of_range", text))
        changes[field] = None
    if reading.phases is not None and reading.phases not in (1, 3):
        text = f"phases is {reading.phases}: right would be 1 or 3; power from volts and amps is not used"
        said.append(Warning("phases_out_of_range", text))
        changes |= {"phases": None, "power_factor": None}


def cleaned(reading: ReadingSet, facts: ExchangerFacts) -> ReadingSet:
    """The set without what can't be read from a running machine."""
    return usable_reading(reading, facts)[0]


def _flow(reading: ReadingSet) -> float | None:
    """Water flow as read [kg/s], near enough to judge its size."""
    if reading.water_flow_kg_per_s is not None:
        return reading.water_flow_kg_per_s
    volume = reading.water_flow_m3_per_s
    return None if volume is None else volume * 998.0


def _check_flow(flow: float, facts: ExchangerFacts, said: list[Warning], stops: list[Stop]) -> None:
    told = f"water_flow is {flow:.3g} kg/s"
    if flow <= 0:
        text = (
            f"{told}, yet the water carries heat: right would be above 0 (meter on the wrong way, or no flow)"
        )
        stops.append(Stop("water_flow_not_above_zero", text, "water_flow"))
        return
    if not LEAST_FLOW <= flow <= MOST_FLOW:
        text = f"{told}: right would be {LEAST_FLOW:g} to {MOST_FLOW:g} kg/s; check the unit"
        stops.append(Stop("water_flow_out_of_range", text, "water_flow"))
        return
    if facts.design_flow_m3_per_s is None:
        return
    ratio = flow / (facts.design_flow_m3_per_s * 998.0)
    text = f"{told}, {ratio:.2g} times the design flow of {facts.design_flow_m3_per_s * 998.0:.3g} kg/s"
    if not FLOW_STOPS[0] <= ratio <= FLOW_STOPS[1]:
        text += f": right would be {FLOW_STOPS[0]:g} to {FLOW_STOPS[1]:g} times; check the unit of both"
        stops.append(Stop("water_flow_out_of_range", text, "water_flow"))
    elif not FLOW_ODD[0] <= ratio <= FLOW_ODD[1]:
        said.append(Warning("water_flow_far_from_design", f"{text}: check the unit of both"))
