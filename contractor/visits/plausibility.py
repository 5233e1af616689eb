"""Questions about a reading that parses but looks wrong. Nothing is refused here: the technician is asked.

The usual ranges are common practice, wide on purpose: they catch a slip of the point or of the unit, not a
sick machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from contractor.register.typed import Quantity, number
from contractor.visits.models import Reading
from contractor.visits.quantities import READING
from diagnostics.engine import quantities
from diagnostics.engine.records import MACHINES_WITHOUT_A_FAN

PHONE_CLOCK = timedelta(minutes=10)
AROUND_A_VISIT = timedelta(hours=24)
STEADY_MINUTES, MOST_MINUTES = 10, 366 * 24 * 60
MOST_WATER_CHANGE_K = 25.0
WATER_TOLD_APART_K = 0.5


@dataclass(frozen=True, slots=True)
class Question:
    """A code for programs, a sentence for people, and where in the reading it is about."""

    code: str
    text: str
    pointer: str


USUAL: dict[str, tuple[float, float]] = {
    "entering_water_k": (258.0, 333.0),
    "leaving_water_k": (258.0, 343.0),
    "water_flow_m3_per_s": (1e-6, 0.5),
    "water_flow_kg_per_s": (1e-3, 500.0),
    "water_pressure_drop_pa": (0.0, 300e3),
    "balancing_valve_pressure_drop_pa": (0.0, 300e3),
    "head_pressure_pa": (50e3, 5.5e6),
    "suction_pressure_pa": (20e3, 3.0e6),
    "liquid_line_k": (253.0, 348.0),
    "suction_line_k": (233.0, 323.0),
    "discharge_line_k": (283.0, 423.0),
    "compressor_power_w": (50.0, 5e6),
    "amps_a": (0.2, 3000.0),
    "volts_v": (90.0, 15e3),
    "power_factor": (0.2, 1.0),
    "entering_air_k": (243.0, 328.0),
    "entering_air_wet_bulb_k": (243.0, 313.0),
    "leaving_air_k": (243.0, 348.0),
    "static_pressure_pa": (20e3, 5.5e6),
    "static_coldest_k": (233.0, 333.0),
}


def questions_about(reading: Reading, now: datetime | None = None) -> tuple[Question, ...]:
    """Everything worth asking about a reading. `now` adds what only matters on its arrival."""
    found = [*_sizes(reading), *_contradictions(reading), *_circumstances(reading)]
    return (*found, *_on_arrival(reading, now)) if now else tuple(found)


def _sizes(reading: Reading) -> Iterator[Question]:
    for quantity in READING:
        for column in quantity.columns:
            value, (low, high) = getattr(reading, column), USUAL[column]
            if value is not None and not low <= value <= high:
                yield Question(f"{quantity.name}_unusual", _size_in_words(reading, quantity, column),
                               f"/as_typed/{quantity.name}")  # fmt: skip


def _size_in_words(reading: Reading, quantity: Quantity, column: str) -> str:
    entry = reading.as_typed.get(quantity.name, {})
    value, unit = entry.get("value", ""), entry.get("unit", "")
    barometric = _barometric(reading)
    ends = sorted(_shown(end, unit, quantity, barometric) for end in USUAL[column])
    name = quantity.name.replace("_", " ")
    text = (
        f"{name.capitalize()} {value} {unit}".strip()
        + f": usual is {ends[0]:.4g} to {ends[1]:.4g} {unit}".rstrip()
    )
    meant = _perhaps_meant(value, ends, unit)
    return f"{text}. {meant or 'Please read it again.'}"


def _shown(si: float, unit: str, quantity: Quantity, barometric_pa: float) -> float:
    return float(quantities.from_si(si, unit, quantity.kind, barometric_pa=barometric_pa))


def _perhaps_meant(value: str, ends: list[float], unit: str) -> str:
    """A point in the wrong place is the commonest slip."""
    typed = number(value)
    for factor in (0.1, 10.0, 0.01, 100.0):
        if ends[0] <= typed * factor <= ends[1]:
            return f"Was {typed * factor:.6g} {unit} meant?".replace("  ", " ").replace(" meant", " meant")
    return ""


def _barometric(reading: Reading) -> float:
    from contractor.register.typed import barometric_at

    return barometric_at(reading.visit.site.elevation_m)


def _contradictions(reading: Reading) -> Iterator[Question]:
    yield from _water_sides(reading)
    head, suction = reading.head_pressure_pa, reading.suction_pressure_pa
    if head is not None and suction is not None and suction >= head:
        yield Question("suction_above_head",
                       f"Suction {_typed(reading, 'suction_pressure')} is not below head "
                       f"{_typed(reading, 'head_pressure')}. Are the hoses exchanged, or is the machine off?",
                       "/as_typed/suction_pressure")  # fmt: skip
    discharge, liquid = reading.discharge_line_k, reading.liquid_line_k
    if discharge is not None and liquid is not None and liquid >= discharge:
        yield Question("liquid_above_discharge",
                       f"Liquid line {_typed(reading, 'liquid_line')} is not below discharge line "
                       f"{_typed(reading, 'discharge_line')}. Are the clamps exchanged?",
                       "/as_typed/liquid_line")  # fmt: skip


def _water_sides(reading: Reading) -> Iterator[Question]:
    entering, leaving = reading.entering_water_k, reading.leaving_water_k
    if entering is None or leaving is None:
        return
    change = leaving - entering if reading.mode == "cooling" else entering - leaving
    told = f"entering {_typed(reading, 'entering_water')}, leaving {_typed(reading, 'leaving_water')}"
    if change < -WATER_TOLD_APART_K:
        should = "warmer" if reading.mode == "cooling" else "colder"
        yield Question("water_change_of_wrong_sign",
                       f"In {reading.mode} the leaving water should be {should}: {told}. "
                       "Are the two exchanged, or the mode?", "/as_typed/leaving_water")  # fmt: skip
    elif change > MOST_WATER_CHANGE_K:
        yield Question("water_change_large",
                       f"The water changes by {change:.1f} K: {told}. Is the flow nearly "
                       "stopped, or one of them misread?", "/as_typed/leaving_water")  # fmt: skip


def _circumstances(reading: Reading) -> Iterator[Question]:
    minutes = reading.minutes_running
    if minutes is not None and minutes < 0:
        yield Question("minutes_running_unusual",
                       f"{minutes:.4g} minutes running: expected the minutes since the compressor started.",
                       "/minutes_running")  # fmt: skip
    elif minutes is not None and minutes < STEADY_MINUTES:
        yield Question("not_steady_yet",
                       f"Read after {minutes:g} minutes; ten minutes running make it steady.",
                       "/minutes_running")  # fmt: skip
    if minutes is not None and minutes > MOST_MINUTES:
        yield Question("minutes_running_unusual",
                       f"Running for {minutes:.4g} minutes, longer than a year. Was another unit meant?",
                       "/minutes_running")  # fmt: skip
    if not reading.exchanger.reads_in(reading.mode):
        yield Question("mode_not_of_exchanger",
                       f"{reading.exchanger} is read in {reading.exchanger.modes} only. Is it another one?",
                       "/mode")  # fmt: skip
    if reading.exchanger.is_retired:
        yield Question("exchanger_retired",
                       f"{reading.exchanger} is retired in the register. Is it another one?",
                       "/exchanger")  # fmt: skip
    if reading.visit.site.elevation_m is None and _any_gauge(reading):
        yield Question("elevation_not_known",
                       f"The elevation of {reading.visit.site} is not known: sea level was taken.",
                       "/visit")  # fmt: skip
    if reading.phases is not None and reading.phases not in (1, 3):
        yield Question("phases_unusual", f"{reading.phases} phases: usual is 1 or 3.", "/phases")
    unit = reading.exchanger.unit
    if reading.power_includes_fan and unit.kind in MACHINES_WITHOUT_A_FAN and unit.fan_power_w is None:
        yield Question("fan_on_a_machine_without_one",
                       f"The power is said to include a fan; a {unit.get_kind_display()} has none. "
                       f"Was it a pump, or is {unit} another kind of machine?",
                       "/power_includes_fan")  # fmt: skip


def _on_arrival(reading: Reading, now: datetime) -> Iterator[Question]:
    visit, taken = reading.visit, reading.taken_at
    if taken > now + PHONE_CLOCK:
        yield Question("taken_in_the_future",
                       f"Taken at {taken:%Y-%m-%d %H:%M} UTC, still to come. Is the phone's clock right?",
                       "/taken_at")  # fmt: skip
    elif not visit.window_start - AROUND_A_VISIT <= taken <= visit.window_end + AROUND_A_VISIT:
        yield Question("taken_outside_visit",
                       f"Taken at {taken:%Y-%m-%d %H:%M} UTC, more than a day from the visit of "
                       f"{visit.window_start:%Y-%m-%d}. Is it another visit?", "/taken_at")  # fmt: skip
    if visit.state == "called_off":
        yield Question("visit_called_off", "The visit was called off. Is it another visit?", "/visit")
    twins = Reading.objects.standing().filter(
        exchanger=reading.exchanger_id,
        mode=reading.mode,
        taken_at=reading.taken_at,
        as_typed=reading.as_typed,
    )
    if twins.exclude(pk=reading.pk).exists():
        yield Question(
            "same_again", "The very same reading is on record already. Was it sent twice?", "/as_typed"
        )


def _typed(reading: Reading, name: str) -> str:
    entry = reading.as_typed.get(name, {})
    return f"{entry.get('value', '?')} {entry.get('unit', '')}".strip()


def _any_gauge(reading: Reading) -> bool:
    names = ("head_pressure", "suction_pressure", "static_pressure")
    units = [reading.as_typed[name].get("unit", "") for name in names if name in reading.as_typed]
    return any(quantities.conversion(unit, "refrigerant_pressure").gauge for unit in units)
