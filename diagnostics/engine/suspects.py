"""Which reading to look at first where the refrigerant's heat and the water's do not close.

Heat and flow alone can't tell a power meter from a clamp. The compressor can: its isentropic efficiency and
the volume it draws in repeat from visit to visit, superheat and subcooling stay near what the machine shows.
Each reading moves these in its own proportions, so leaving one out at a time shows which makes all others
agree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

from diagnostics.engine import balance, fan, flow_sources, refrigerant_side, valve_leak
from diagnostics.engine.bench import Bench
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.gate import CELSIUS, Gate
from diagnostics.engine.observe import water_sources
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.uncertainty import standard_uncertainty

Array = NDArray[np.float64]

FIELDS: dict[str, tuple[str, ...]] = {
    "water_flow": ("water_flow_kg_per_s", "water_flow_m3_per_s"),
    "water_pressure_drop": ("water_pressure_drop_pa",),
    "balancing_valve_pressure_drop": ("balancing_valve_pressure_drop_pa",),
    "compressor_power": ("compressor_power_w",),
    "amps": ("amps_a",),
    "volts": ("volts_v",),
    "power_factor": ("power_factor",),
    "head_pressure": ("head_pressure_pa",),
    "suction_pressure": ("suction_pressure_pa",),
    "discharge_line": ("discharge_line_k",),
    "suction_line": ("suction_line_k",),
    "liquid_line": ("liquid_line_k",),
    "entering_water": ("entering_water_k",),
    "leaving_water": ("leaving_water_k",),
}
USUAL_EFFICIENCY, EFFICIENCY_SPREAD = math.log(0.65), 0.15
EFFICIENCY_LEARNED, VOLUME_LEARNED = 0.06, 0.05
"""Standard uncertainty, as ln, of what a compressor repeats of itself at other pressures (common
practice)."""
POWER = ("compressor_power", "amps", "volts", "power_factor")
STEP = 1e-3
STEP_K = 0.05
NEARLY_AS_GOOD = 3.84
MOST_NAMED = 3
MACHINES_OWN = 3
"""Residuals behind the water's accounts: efficiency, superheat and subcooling; with clean visits volume
too."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What the residuals stand against: value and spread; no volume is known without clean visits."""

    efficiency: tuple[float, float]
    volume: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading that makes the others agree by its absence: as read, what would fit, what is left then."""

    column: str
    read: float
    fits: float
    left: float
    field: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """What would explain that the balance is open: readings, likeliest first, and a leak of the reversing
    valve."""

    readings: tuple[Suspect, ...] = ()
    leak: valve_leak.Leak | None = None


WIDE_OPEN = 4.0
"""Standard uncertainties from which an open heat balance is told by itself where no one reading explains
it."""


@dataclass(frozen=True, slots=True)
class HeatBalance:
    """Heat by the refrigerant and by the water's best flow [W], and how far apart in standard uncertainties
    [-]."""

    refrigerant_w: float
    water_w: float
    z: float


def check(
    gate: Gate,
    bench: Bench,
    reading: ReadingSet,
    visits: Sequence[ReadingSet],
    balance_of: HeatBalance | None = None,
) -> None:
    """Name the reading, or the few, whose leaving out makes all the others agree, and a leak of the reversing
    valve that would show the same; no verdict rests on them. Where none does, the balance itself is told."""
    try:
        found = find(bench, reading, visits)
    except OutOfRange:
        return
    if found.readings:
        _name_readings(gate, found)
    elif found.leak is not None:
        # In heating the suction line then tells the mixture, not what leaves the exchanger.
        say = gate.hold if reading.mode == "heating" else gate.note
        gate.valve_leaks = True
        say("reversing_valve_suspect", f"refrigerant and water do not close; {found.leak.words()}")
    else:
        _balance_open(gate, reading, balance_of)


def _name_readings(gate: Gate, found: Found) -> None:
    text = (
        "refrigerant and water do not close, and all the other readings agree without "
        f"{' or '.join(_words(one) for one in found.readings)}: look there first"
    )
    if found.leak is not None:
        text += f"; {found.leak.words()}"
    if all(one.column in POWER for one in found.readings):
        gate.note("reading_suspect", text)  # power only tells the flow, which the disagreement has widened
    else:
        gate.hold("reading_suspect", text)
    gate.suspect = found.readings[0].column


def _balance_open(gate: Gate, reading: ReadingSet, told: HeatBalance | None) -> None:
    if told is None or abs(told.z) < WIDE_OPEN:
        return
    at_fault = "no single reading explains it"
    if reading.compressor_power_w is None:
        at_fault += "; the power came from amps, volts and power factor, each of which may be at fault"
    else:
        at_fault += "; look at the power meter (a fan or pump on it?), the flow and both water thermometers"
    gate.note(
        "heat_balance_open",
        f"the refrigerant tells {told.refrigerant_w / 1000:.3g} kW, the water {told.water_w / 1000:.3g} kW, "
        f"{abs(told.z):.1f} times what their errors allow apart (right would be below 2): {at_fault}",
    )


def first(bench: Bench, reading: ReadingSet, visits: Sequence[ReadingSet]) -> tuple[str, str | None]:
    """Which reading to look at first, in words with what would fit, and its column, if one stands out."""
    try:
        found = find(bench, reading, visits).readings
    except OutOfRange:
        found = ()
    if not found:
        return _against_visits(reading, visits)
    return f"the other readings agree without {' or '.join(map(_words, found))}", found[0].column


FAR_FROM_VISITS = 2.0
"""A water flow this many times that of all clean visits, or its inverse, is looked at first."""


def _against_visits(reading: ReadingSet, visits: Sequence[ReadingSet]) -> tuple[str, str | None]:
    """The water flow, where it lies far from what the clean visits of the mode show; else none stands out."""
    for field in FIELDS["water_flow"]:
        now = getattr(reading, field)
        before = [getattr(one, field) for one in visits if one.mode == reading.mode]
        known = [value for value in before if value]
        if not now or not known or 1 / FAR_FROM_VISITS < now / fmean(known) < FAR_FROM_VISITS:
            continue
        one = Suspect("water_flow", now, fmean(known), 0.0, field)
        return f"{_words(one)}, as on the clean visits: look there first", "water_flow"
    return "the readings contradict each other, or one is off by a large factor; read the set again", None


def find(bench: Bench, reading: ReadingSet, visits: Sequence[ReadingSet]) -> Found:
    """What, left out or allowed for, makes all the readings agree; nothing where too many readings do."""
    usual, read = _usual(bench, reading, visits), _columns(reading)
    base = _residuals(bench, reading, usual, refrigerant_side.USUAL_LOSS)
    if base is None:
        return Found()
    moved = [_moved(bench, reading, usual, base[0], field) for field in read.values()]
    slopes = np.stack([one for one in moved if one is not None], axis=1)
    if slopes.shape[1] < len(read):
        return Found()
    spreads = [_spread(bench, reading, column, field) for column, field in read.items()]
    loss = _by_loss(bench, reading, usual, base[0])
    errors = np.column_stack([slopes * spreads, loss])
    covariance = errors @ errors.T + np.diag(base[1] ** 2)
    _, left, off = balance.leave_one_out(base[0], covariance, slopes)
    water_accounts = len(base[0]) - MACHINES_OWN - (usual.volume is not None)
    leak = valve_leak.find(bench, reading, base[0], covariance, water_accounts)
    agreeing = 2 * float(gammaincinv(0.5 * (len(base[0]) - 1), 0.95))
    least = min(float(left.min()), leak.left if leak else math.inf)
    near = min(agreeing, least + NEARLY_AS_GOOD)
    found = [
        Suspect(column, getattr(reading, field), _without(reading, field, off[place]), left[place], field)
        for place, (column, field) in enumerate(read.items())
        if left[place] <= near
    ]
    found = [one for one in found if _could_be(reading, one)] or found
    found.sort(key=lambda one: one.left)
    # One water temperature is as good a suspect as the other: together they count as one.
    kinds = {"water" if one.column in ("entering_water", "leaving_water") else one.column for one in found}
    named = tuple(found) if len(kinds) <= MOST_NAMED else ()
    return Found(named, leak if leak is not None and leak.left <= near else None)


def _could_be(reading: ReadingSet, one: Suspect) -> bool:
    """Whether what would fit is possible itself: heat goes into the water in cooling, out in heating."""
    ends = {
        "entering_water": reading.entering_water_k or 0.0,
        "leaving_water": reading.leaving_water_k or 0.0,
    }
    if one.column not in ends:
        return True
    ends[one.column] = one.fits
    change = ends["leaving_water"] - ends["entering_water"]
    return (change if reading.mode == "cooling" else -change) > 0.0


def _by_loss(bench: Bench, reading: ReadingSet, usual: Usual, base: Array) -> Array:
    """Change of the residuals for one standard uncertainty of the shell loss."""
    low, high = balance.SHELL_LOSS_LIMITS
    found = _residuals(bench, reading, usual, refrigerant_side.USUAL_LOSS + 0.01)
    return (
        np.zeros_like(base)
        if found is None or len(found[0]) != len(base)
        else (found[0] - base) / 0.01 * (high - low) / 12**0.5
    )


def _columns(reading: ReadingSet) -> dict[str, str]:
    """Field of each column that was read; volts and amps only where no power meter was."""
    found = {}
    for column, fields in FIELDS.items():
        field = next((one for one in fields if getattr(reading, one) is not None), None)
        if field is not None:
            found[column] = field
    if "compressor_power" in found:
        for column in POWER[1:]:
            found.pop(column, None)
    return found


def _is_kelvin(field: str) -> bool:
    return field.endswith("_k")


def _usual(bench: Bench, reading: ReadingSet, visits: Sequence[ReadingSet]) -> Usual:
    told = [
        refrigerant_side.account(bench, one)
        for one in visits
        if (one.mode, one.stage) == (reading.mode, reading.stage)
    ]
    known = [one for one in told if one is not None]
    if not known:
        return Usual((USUAL_EFFICIENCY, EFFICIENCY_SPREAD), None)
    return Usual(
        (fmean(one.ln_efficiency for one in known), EFFICIENCY_LEARNED),
        (fmean(one.ln_volume for one in known), VOLUME_LEARNED),
    )


SOURCE_SPREAD = {"balancing_valve": flow_sources.VALVE_SPREAD, "pressure_drop": flow_sources.CURVE_SPREAD}


def _residuals(bench: Bench, reading: ReadingSet, usual: Usual, loss: float) -> tuple[Array, Array] | None:
    """What would be zero without any error, and the spread of each that no reading accounts for."""
    told = refrigerant_side.account(bench, reading, loss)
    entering, leaving = reading.entering_water_k, reading.leaving_water_k
    if told is None or entering is None or leaving is None or entering == leaving:
        return None
    specific_heat = float(bench.liquid.specific_heat_j_per_kg_k(0.5 * (entering + leaving)))
    by_heat = math.log(told.heat_w / (specific_heat * abs(leaving - entering)))
    sources = _trusted(bench, reading, by_heat)
    if not sources:
        return None
    pairs = [(one.unbiased - by_heat, SOURCE_SPREAD.get(one.kind, 0.0) + 1e-3) for one in sources]
    pairs.append((told.ln_efficiency - usual.efficiency[0], usual.efficiency[1]))
    if usual.volume is not None:
        pairs.append((told.ln_volume - usual.volume[0], usual.volume[1]))
    for value, habit in ((told.superheat_k, bench.superheat), (told.subcooling_k, bench.subcooling)):
        pairs.append((value - habit.value, math.hypot(habit.repeating, habit.random)))
    values, spreads = np.array(pairs).T
    return values, spreads


def _trusted(bench: Bench, reading: ReadingSet, by_heat: float) -> list[flow_sources.FlowSource]:
    """The water's accounts; a pressure drop only where no narrowed bore can be behind what it tells."""
    meter, valve, drop = water_sources(bench, reading)
    found = [one for one in (meter, valve) if one is not None]
    above = found[0].unbiased if found else by_heat
    if drop is not None and drop.unbiased <= above + drop.spread:
        found.append(drop)
    return found


def _moved(bench: Bench, reading: ReadingSet, usual: Usual, base: Array, field: str) -> Array | None:
    """Change of the residuals for a unit error of one reading: a kelvin, or a unit of ln."""
    value = getattr(reading, field)
    step = STEP_K if _is_kelvin(field) else STEP
    other = value + step if _is_kelvin(field) else value * math.exp(step)
    changes: dict[str, Any] = {field: other}
    found = _residuals(bench, replace(reading, **changes), usual, refrigerant_side.USUAL_LOSS)
    return None if found is None or len(found[0]) != len(base) else (found[0] - base) / step


def _spread(bench: Bench, reading: ReadingSet, column: str, field: str) -> float:
    """Standard uncertainty of one reading, in kelvin or as ln."""
    one = bench.instruments[column]
    whole = math.hypot(
        *(standard_uncertainty(part, one.distribution) for part in (one.repeating, one.random))
    )
    if _is_kelvin(field) or one.relative:
        told = fan.compressor_power(bench.facts, reading) if column in ("compressor_power", "amps") else None
        return whole if told is None else math.hypot(whole, told.spread)
    return float(whole / abs(getattr(reading, field)))


MOST_LN = 60.0


def _without(reading: ReadingSet, field: str, off: float) -> float:
    """What the reading would be without its error."""
    value = float(getattr(reading, field))
    return (
        float(value - off)
        if _is_kelvin(field)
        else float(value * math.exp(min(max(-off, -MOST_LN), MOST_LN)))
    )


UNITS = {"kg_per_s": (1.0, "kg/s"), "m3_per_s": (1000.0, "L/s"), "_pa": (1e-3, "kPa"), "_w": (1e-3, "kW")}


def _words(one: Suspect) -> str:
    """Column, what was read and what would fit."""
    field = one.field
    if _is_kelvin(field):
        told = [f"{value - CELSIUS:.1f} degC" for value in (one.read, one.fits)]
    else:
        factor, unit = next((pair for end, pair in UNITS.items() if field.endswith(end)), (1.0, ""))
        told = [f"{value * factor:.3g} {unit}".rstrip() for value in (one.read, one.fits)]
    return f"{one.column} ({told[0]} was read, about {told[1]} would fit)"
