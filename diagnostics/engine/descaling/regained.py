"""What a descale gave back: the unit's own model at one set of conditions, fouled as before and as after."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnostics.engine.records import ExchangerFacts, Interval, ReadingSet
from diagnostics.engine.virtual_unit import (
    CHILLER,
    Conditions,
    Faults,
    State,
    VirtualUnit,
    rated_unit,
    solve_many,
)

FLOW_RATIOS = (0.3, 2.0)
"""Flow over design within which the model is asked; else its design flow."""


@dataclass(frozen=True, slots=True)
class Regained:
    """Capacity and power [W] before and after at the same conditions, what changed with a 95 % interval, and
    the conditions: entering water [K], flow over design [-]."""

    capacity_before_w: float
    capacity_after_w: float
    capacity_w: Interval
    power_before_w: float
    power_after_w: float
    power_w: Interval
    entering_water_k: float
    flow_ratio: float


def regained(
    facts: ExchangerFacts, reading: ReadingSet, after: Interval, removed: Interval
) -> Regained | None:
    """Capacity and power that a cleaning gave back, at the conditions of one reading.

    The same modelled unit is solved twice, with what was left and with what was left and removed. The
    interval of the change is of the amount removed, whose errors are those that do not cancel, and of what
    was left, as the root of the sum of both squared.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row; capacity or design flow must be known.
    reading : ReadingSet
        Gives mode, entering water, flow and air; both states are solved there.
    after : Interval
        Fouling resistance left. [K/W]
    removed : Interval
        Fouling resistance removed, judged from both readings together. [K/W]

    Returns
    -------
    Regained or None
        Heat and power [W], their change after less before. None where the facts or the reading make no
        unit, or it finds no steady state.

    References
    ----------
    The virtual unit (`virtual_unit.solver`); JCGM 100:2008, 5.1.2 (independent contributions).

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> facts = ExchangerFacts("HP-1", "R410A", "coaxial", area_m2=1.0, capacity_w=10e3)
    >>> read = ReadingSet("HP-1", datetime(2027, 5, 4, tzinfo=UTC), "cooling", entering_water_k=303.15)
    >>> found = regained(facts, read, Interval(0.0, 0.0, 0.0), Interval(3e-4, 2e-4, 4e-4))
    >>> found.capacity_w.value > 0 > found.power_w.high
    True
    """
    if reading.entering_water_k is None or (facts.capacity_w is None and facts.design_flow_m3_per_s is None):
        return None
    try:
        unit = rated_unit(facts)
    except (ValueError, ArithmeticError):
        return None
    ratio = _flow_ratio(facts, reading)
    left = after.value
    amounts = [
        left, left + removed.value, left + removed.low, left + removed.high,
        after.low, after.low + removed.value, after.high, after.high + removed.value,
    ]  # fmt: skip
    states = _solved(unit, _conditions(unit, reading, ratio), amounts)
    if not all(one.converged and not one.beyond for one in states):
        return None
    heats = unit.machine != CHILLER and reading.mode == "heating"
    useful = "condenser_heat_w" if heats else "evaporator_heat_w"
    capacity, power = ([float(getattr(one, name)) for one in states] for name in (useful, "power_w"))
    return Regained(
        capacity[1], capacity[0], _change(capacity), power[1], power[0], _change(power),
        reading.entering_water_k, ratio,
    )  # fmt: skip


def _solved(unit: VirtualUnit, conditions: Conditions, amounts_k_per_w: list[float]) -> list[State]:
    """States at these amounts of fouling; a surface cleaner than clean is solved as clean."""
    area = float(unit.exchanger.area_m2)
    faults = [Faults(scale_m2k_per_w=max(amount, 0.0) * area) for amount in amounts_k_per_w]
    return solve_many([unit] * len(faults), [conditions] * len(faults), faults)


def _conditions(unit: VirtualUnit, reading: ReadingSet, flow_ratio: float) -> Conditions:
    """As read; what was not read stands at the rating."""
    assert reading.entering_water_k is not None
    cooling = reading.mode == "cooling"
    air = reading.entering_air_k or (300.15 if cooling else 293.15)
    usual_wet = air - (8.0 if cooling else 5.0)
    return Conditions(
        reading.mode,
        reading.entering_water_k,
        flow_ratio=flow_ratio,
        air_k=air,
        air_wet_bulb_k=min(reading.entering_air_wet_bulb_k or usual_wet, air),
        other_water_k=float(unit.rated_water_heating_k if cooling else unit.rated_water_cooling_k),
    )


def _flow_ratio(facts: ExchangerFacts, reading: ReadingSet) -> float:
    flow, design = reading.water_flow_m3_per_s, facts.design_flow_m3_per_s
    if not flow or not design:
        return 1.0
    ratio = flow / design
    return ratio if FLOW_RATIOS[0] <= ratio <= FLOW_RATIOS[1] else 1.0


def _change(values: list[float]) -> Interval:
    """After less before, with the ends that the amount removed and the amount left each give."""
    left, dirty, least, most, low, low_dirty, high, high_dirty = values
    value = left - dirty
    ends = [left - least, left - most]
    levels = [low - low_dirty, high - high_dirty]
    down = math.hypot(*(value - min(value, *each) for each in (ends, levels)))
    up = math.hypot(*(max(value, *each) - value for each in (ends, levels)))
    return Interval(value, value - down, value + up)
