"""What a unit's instruments and clean reference can tell: the smallest fouling that would be called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from diagnostics.engine import entries, smallest_call
from diagnostics.engine.assessment import assess
from diagnostics.engine.records import (
    Assessment,
    ExchangerFacts,
    History,
    InstrumentAccuracy,
    Limit,
    ReadingSet,
    ReferenceUsed,
)
from diagnostics.engine.virtual_unit import CHILLER, Conditions, Faults, rated_unit, readings, solve

DRAWS = 2000
USUAL_SCALE = 1.76e-4
"""Scale [m2K/W] of the machine that stands in where nothing was read yet (TEMA, towers; from memory)."""


@dataclass(frozen=True, slots=True)
class Detectability:
    """Smallest fouling called with 90 % confidence, by what is better; in the limit's unit.

    `rests_on` is "a reading" where one of this mode was at hand, else "the unit's own model". None in
    `smallest` means that these readings can't be judged; `why_not` says why.
    """

    unit: str
    mode: str
    limit: Limit | None
    smallest: Mapping[str, float]
    reference: tuple[ReferenceUsed, ...]
    enter_next: str | None
    rests_on: str
    sentence: str
    why_not: str = ""


def detectability(
    facts: ExchangerFacts,
    history: History,
    mode: str,
    instruments: Iterable[InstrumentAccuracy] | None = None,
    without: Iterable[str] = (),
    gauge_set: str | None = None,
) -> Detectability:
    """What would be called fouled on this unit with these instruments and what is known of the clean surface.

    The last set read in this mode stands for what will be read, after all that is known; without one a set of
    the unit's own model, every channel read, does.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.
    history : History
        Clean visits, tables and events; of the routine sets only which channels were read counts.
    mode : str
        cooling or heating.
    instruments : iterable of InstrumentAccuracy, optional
        Accuracies that replace the defaults.
    without : iterable of str
        Fields of the reading set that are not going to be read.
    gauge_set : str, optional
        Name of the gauge set it will be read with; without one the set's own.

    Returns
    -------
    Detectability
        Smallest resistances in the limit's unit. [m2 K/W or K/W]

    References
    ----------
    Currie, L. A. (1968), Anal. Chem. 40, 586; JCGM 100:2008 for the variance shares.

    Examples
    --------
    >>> facts = ExchangerFacts("HP-1", "R410A", "coaxial", area_m2=1.0, capacity_w=10e3)
    >>> found = detectability(facts, History(), "cooling")
    >>> found.smallest["one_more_clean_reference"] < found.smallest["as_it_is"]
    True
    """
    row, rests_on = _stand_in(facts, history, mode)
    row = replace(row, taken_at=_after_all(history, row), gauge_set=gauge_set or row.gauge_set)
    row = replace(row, **dict.fromkeys(without))  # type: ignore[arg-type]
    answer = assess(facts, row, history, list(instruments or ()) or None, draws=DRAWS)
    told = answer.more.get("smallest_called_fouled_in_limit_unit")
    if answer.limit is None or not isinstance(told, Mapping) or not answer.reference:
        return _can_not(facts, mode, answer, rests_on)
    smallest = {str(name): float(value) for name, value in told.items()}
    best = smallest_call.enter_next(smallest, answer.limit.value, answer.reference)
    words = smallest_call.sentence(smallest, answer.limit, best)
    return Detectability(facts.unit, mode, answer.limit, smallest, answer.reference, best, rests_on, words)


def _after_all(history: History, row: ReadingSet) -> datetime:
    """When it will be read: a day after the last reading and event, so that all of them count."""
    known = (row.taken_at, *(one.taken_at for one in history.readings), *(one.at for one in history.events))
    return max(known) + timedelta(days=1)


def _can_not(facts: ExchangerFacts, mode: str, answer: Assessment, rests_on: str) -> Detectability:
    why = answer.warnings[0].text if answer.warnings else answer.do_next
    return Detectability(
        facts.unit, mode, answer.limit, {}, answer.reference, "operating_table", rests_on, answer.do_next, why
    )


def _stand_in(facts: ExchangerFacts, history: History, mode: str) -> tuple[ReadingSet, str]:
    """The last set of this mode that is no clean reference, else one of the unit's own model."""
    sets = [row for row in history.readings if row.mode == mode and row.unit == facts.unit]
    routine = [row for row in sets if row.purpose != "clean_reference"]
    if routine:
        return max(routine, key=lambda row: row.taken_at), "a reading"
    last = max((row.taken_at for row in history.readings), default=datetime(2000, 1, 1, tzinfo=UTC))
    gauges = next((row.gauge_set for row in reversed(sets) if row.gauge_set), None)
    facts, _ = entries.usable_facts(facts)
    unit = rated_unit(facts)
    entering = unit.rated_water_cooling_k if mode == "cooling" else unit.rated_water_heating_k
    day = Conditions(mode, float(entering), air_k=293.15, air_wet_bulb_k=288.15)
    if mode == "cooling" or unit.machine == CHILLER:
        day = Conditions(mode, float(entering), other_water_k=float(unit.rated_water_heating_k))
        if mode == "heating":
            day = replace(day, other_water_k=float(unit.rated_water_cooling_k))
    state = solve(unit, day, Faults(scale_m2k_per_w=USUAL_SCALE))
    row = readings(state, unit=facts.unit, taken_at=last)
    return replace(row, gauge_set=gauges, fault_lockout=None), "the unit's own model"
