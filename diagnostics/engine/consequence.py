"""The fouling limit by consequence: how much scale the unit bears before it costs too much or trips."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import per_cent
from diagnostics.engine.causes.evidence import USUAL_RANGES_K, usual_range_k
from diagnostics.engine.causes.machines import is_chiller, is_evaporator
from diagnostics.engine.records import ExchangerFacts, machine_told, reverses
from diagnostics.engine.virtual_unit import (
    CHILLER,
    Conditions,
    Faults,
    State,
    VirtualUnit,
    rated_unit,
    solve_many,
)

Array = NDArray[np.float64]

SCALES_M2K_PER_W = tuple(1e-4 * share for share in (0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.5, 7.0))
LEAST_M2K_PER_W = 1.761e-5
"""What ratings themselves allow for (AHRI 550/590, evaporators, from memory): no limit is set below it."""
MARGIN_SHARE, CAPACITY_LOSS, POWER_RISE = 0.5, 0.05, 0.10
USUAL_LOOP_K = USUAL_RANGES_K["closed_loop"]
"""Where neither the loop's range nor its kind of water is on record."""
USUAL_CHILLED_K = (284.15, 288.15)
"""Return of a building's chilled water, where no range is on record for an evaporator: about the rated
12 degC (AHRI 550/590, 54 F entering, from memory), a little below and above it (common practice)."""
WORDS = {
    "high_head": "half of the margin to the high-head cut-out",
    "low_suction": "half of the margin to the low-suction cut-out",
    "freeze": "half of the margin to the freeze limit",
    "capacity": f"{per_cent.share(CAPACITY_LOSS)} of capacity lost",
    "power": f"{per_cent.share(POWER_RISE)} more power",
}


@dataclass(frozen=True, slots=True)
class Consequence:
    """The limit [m2K/W] with what set it: a key of WORDS, mode and loop day [K].

    `reached_m2k_per_w` tells at how much scale each consequence is reached, by mode and name; what lies
    beyond the heaviest scale solved is left out. `tripping` names modes whose clean unit already trips.
    """

    value_m2k_per_w: float
    set_by: str
    mode: str
    worst_day_k: float
    reached_m2k_per_w: tuple[tuple[str, str, float], ...]
    tripping: tuple[str, ...] = ()
    reversing: bool = True

    @property
    def where(self) -> str:
        """In which mode of a heat pump, or at which of a machine's two exchangers."""
        if self.reversing:
            return f"in {self.mode}"
        return f"by scale in the {'condenser' if self.mode == 'cooling' else 'evaporator'}"

    @property
    def source(self) -> str:
        """In words."""
        day = "hottest" if self.mode == "cooling" else "coldest"
        return (
            f"by consequence: {WORDS[self.set_by]} {self.where} with entering water of "
            f"{self.worst_day_k - 273.15:.1f} degC, the water's {day}, by this unit's own model"
        )


def limit_by_consequence(facts: ExchangerFacts, mode: str) -> Consequence | None:
    """The smallest scale at which half a margin, 5 % of capacity or 10 % of power is gone.

    A heat pump's one exchanger is limited by both modes, whichever comes first; a chiller's condenser by
    cooling, its evaporator by heating. The clean unit and the scaled one meet the same worst loop day.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row; capacity or design flow must be known.
    mode : str
        Mode of the reading: tells a chiller's condenser from its evaporator.

    Returns
    -------
    Consequence or None
        Limit [m2 K/W] and what set it; None where the facts make no unit or nothing is reached.

    References
    ----------
    The virtual unit (`virtual_unit.solver`); the three consequences are this engine's choice.

    Examples
    --------
    >>> facts = ExchangerFacts("HP-1", "R410A", "coaxial", area_m2=1.0, capacity_w=10e3)
    >>> found = limit_by_consequence(facts, "cooling")
    >>> found.set_by, 1e-4 < found.value_m2k_per_w < 6e-4
    ('power', True)
    """
    if facts.capacity_w is None and facts.design_flow_m3_per_s is None:
        return None
    usual = USUAL_CHILLED_K if is_evaporator(facts, mode) else USUAL_LOOP_K
    low, high = usual_range_k(facts, mode) or usual
    bare = replace(
        facts,
        unit="",
        machine=machine_told(facts),
        loop=None,
        water_source=None,
        elevation_m=None,
        fouling_limit_m2k_per_w=None,
        loop_low_k=low,
        loop_high_k=high,
    )
    return _limit(bare, mode if is_chiller(facts) else "both")


@lru_cache(maxsize=4096)
def _limit(facts: ExchangerFacts, modes: str) -> Consequence | None:
    try:
        unit = rated_unit(facts)
    except (ValueError, ArithmeticError):
        return None
    worst = {"cooling": facts.loop_high_k or 0.0, "heating": facts.loop_low_k or 0.0}
    found: list[tuple[str, str, float]] = []
    tripping = []
    for mode in ("cooling", "heating") if modes == "both" else (modes,):
        states = _states(unit, mode, worst[mode])
        if _trips_clean(facts, states[0]):
            tripping.append(mode)
        if not states[0].converged:
            continue
        found += [(mode, name, scale) for name, scale in _reached(facts, unit, states).items()]
    known = [one for one in found if np.isfinite(one[2])]
    if not known:
        return None
    mode, name, scale = min(known, key=lambda one: one[2])
    return Consequence(
        max(scale, LEAST_M2K_PER_W), name, mode, worst[mode], tuple(known), tuple(tripping), reverses(facts)
    )


def _trips_clean(facts: ExchangerFacts, clean: State) -> bool:
    """Whether the clean unit is past a cut-out on record, or finds no steady state at all."""
    head, suction = facts.high_head_cutout_pa, facts.low_suction_cutout_pa
    if not clean.converged:
        return True
    if clean.mode == "cooling":
        return head is not None and clean.head_pa >= head
    return suction is not None and clean.suction_pa <= suction


def _states(unit: VirtualUnit, mode: str, entering_k: float) -> list[State]:
    other = unit.rated_water_heating_k if mode == "cooling" else unit.rated_water_cooling_k
    day = Conditions(mode, entering_k, other_water_k=other)
    if unit.machine != CHILLER and mode == "heating":
        day = replace(day, air_k=293.15, air_wet_bulb_k=288.15)
    count = len(SCALES_M2K_PER_W)
    return solve_many(
        [unit] * count, [day] * count, [Faults(scale_m2k_per_w=one) for one in SCALES_M2K_PER_W]
    )


def _reached(facts: ExchangerFacts, unit: VirtualUnit, states: list[State]) -> dict[str, float]:
    """Scale at which each consequence is reached; NaN where not within what was solved."""
    clean, cutouts = states[0], unit.cutouts
    cooling = clean.mode == "cooling"
    chiller = unit.machine == CHILLER
    useful = "evaporator_heat_w" if cooling or chiller else "condenser_heat_w"
    found = {
        "capacity": _first(states, useful, (1 - CAPACITY_LOSS) * getattr(clean, useful)),
        "power": _first(states, "power_w", (1 + POWER_RISE) * clean.power_w),
    }
    if cooling:
        trips = facts.high_head_cutout_pa or float(cutouts.high_head_pa)
        found["high_head"] = _margin(states, "head_pa", trips)
        return found
    trips = facts.low_suction_cutout_pa or float(cutouts.low_suction_pa)
    found["low_suction"] = _margin(states, "suction_pa", trips)
    if facts.freeze_cutout_k is not None:
        # A sensor on the water stays above the refrigerant and scale does not cool it: only one below counts.
        found["freeze"] = _margin(states, "evaporating_dew_k", facts.freeze_cutout_k)
    return found


def _margin(states: list[State], name: str, trips: float) -> float:
    """Scale at which half of what lies between the clean unit and its cut-out is gone; NaN where the clean
    unit is past it."""
    clean, rising = getattr(states[0], name), name == "head_pa"
    if (clean >= trips) if rising else (clean <= trips):
        return float("nan")
    return _first(states, name, clean + MARGIN_SHARE * (trips - clean))


def _first(states: list[State], name: str, threshold: float) -> float:
    runs = [one for one in states if one.converged]
    scales = np.array([scale for scale, one in zip(SCALES_M2K_PER_W, states, strict=True) if one.converged])
    return first_reached(scales, np.array([getattr(one, name) for one in runs]), threshold)


def first_reached(scales_m2k_per_w: Array, values: Array, threshold: float) -> float:
    """Scale at which a quantity first reaches a threshold from where it starts, by straight lines.

    Parameters
    ----------
    scales_m2k_per_w : array
        Rising, from the clean surface on. [m2 K/W]
    values : array
        The quantity at each, in its own unit. [-]
    threshold : float
        In the quantity's unit. [-]

    Returns
    -------
    float
        Scale; NaN where the threshold is not reached. [m2 K/W]

    References
    ----------
    Linear interpolation, e.g. Abramowitz & Stegun (1972), 25.2.

    Examples
    --------
    >>> round(first_reached(np.array([0.0, 1e-4, 2e-4]), np.array([10.0, 11.0, 13.0]), 12.0), 6)
    0.00015
    """
    past = (values >= threshold) if threshold > values[0] else (values <= threshold)
    if not past.any():
        return float("nan")
    place = int(np.argmax(past))
    if place == 0:
        return float(scales_m2k_per_w[0])
    low, high = values[place - 1], values[place]
    share = (threshold - low) / (high - low)
    start, end = scales_m2k_per_w[place - 1], scales_m2k_per_w[place]
    return float(start + share * (end - start))
