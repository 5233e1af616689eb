"""A survey of one loop: short rows of its running units read together: the loop itself, these units, or
nearly all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine import per_cent
from diagnostics.engine.causes.evidence import log_lockout, usual_range_k
from diagnostics.engine.causes.names import FOULED, NOTHING_WRONG
from diagnostics.engine.causes.probability import Array, posterior
from diagnostics.engine.causes.seen import seen_of
from diagnostics.engine.causes.weighing import hypothesis_rows, row_log_likelihoods
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet
from diagnostics.engine.uncertainty import instrument_table

LOOP, UNITS, ALL, NOTHING = "the_loop", "these_units", "nearly_all_fouled", "no_unit_stands_out"
ANSWERS: tuple[str, ...] = (LOOP, UNITS, ALL)
STATES: tuple[str, ...] = (NOTHING_WRONG, FOULED, "water_flow_low", "other")
_PLACES: Mapping[str, tuple[str, ...]] = {
    NOTHING_WRONG: (NOTHING_WRONG,),
    FOULED: (FOULED,),
    "water_flow_low": ("water_flow_low", "strainer_blocked", "flow_control_fault", "air_in_water"),
    "other": (
        "overcharged",
        "undercharged",
        "non_condensables",
        "air_side_fault",
        "compressor_weak",
        "other_fault",
    ),
}
SHARES: Mapping[str, tuple[tuple[float, ...], ...]] = {
    NOTHING: ((0.92, 0.01, 0.03, 0.04),),
    UNITS: tuple((0.9 - share, share, 0.05, 0.05) for share in (0.07, 0.12, 0.2, 0.3, 0.4)),
    ALL: tuple((0.94 - share, share, 0.02, 0.04) for share in (0.6, 0.75, 0.9)),
    LOOP: tuple((0.95 - share, 0.02, share, 0.03) for share in (0.75, 0.92)),
}
"""Shares of the units of a loop in each state, under each answer: fewer or more of them (common practice)."""
PRIORS: Mapping[str, float] = {
    NOTHING: 0.2,
    UNITS: 0.35,
    ALL: 0.15,
    "weak_flow": 0.15,
    "entering_water": 0.15,
}
LOOP_EDGE_K, LOOP_BEYOND_K = 0.6, 3.0
WORTH_GAUGES, MOST_UNITS = 0.2, 4


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """One unit's short row; `clean` its clean visit where there is one. Off, satisfied or opposite-mode
    units are
    left out."""

    facts: ExchangerFacts
    reading: ReadingSet
    clean: ReadingSet | None = None


@dataclass(frozen=True, slots=True)
class Survey:
    """The answer for a loop: which of the answers leads, probabilities of all, units worth gauges, one
    sentence."""

    answer: str
    probabilities: Mapping[str, float]
    cause: str | None
    units_worth_gauges: tuple[str, ...]
    fouled_by_unit: Mapping[str, float]
    words: str


LEAST_WATER_CHANGE_K = 0.5
OFF, OPPOSITE, UNREAD = "off or satisfied", "runs in the other mode", "its waters were not read"


def sorted_out(rows: Sequence[SurveyRow]) -> tuple[tuple[SurveyRow, ...], dict[str, str]]:
    """Rows of running units in the mode that most run in, and why each of the others is no evidence.

    Parameters
    ----------
    rows : sequence of SurveyRow
        One a unit.

    Returns
    -------
    kept : tuple of SurveyRow
        What tells.
    left_out : dict of str to str
        Why, by unit.

    References
    ----------
    Common practice: a unit at rest, satisfied or in the other mode says nothing of its exchanger.

    Examples
    --------
    See `tests/engine/test_causes_survey.py`.
    """
    left_out: dict[str, str] = {}
    running = []
    for row in rows:
        why = _not_running(row.reading)
        if why is None:
            running.append(row)
        else:
            left_out[row.facts.unit] = why
    modes = [row.reading.mode for row in running]
    usual = max(sorted(set(modes)), key=modes.count) if modes else ""
    left_out |= {row.facts.unit: OPPOSITE for row in running if row.reading.mode != usual}
    return tuple(row for row in running if row.reading.mode == usual), left_out


def _not_running(reading: ReadingSet) -> str | None:
    entering, leaving = reading.entering_water_k, reading.leaving_water_k
    if entering is None or leaving is None:
        return UNREAD
    if reading.minutes_running == 0 or abs(leaving - entering) < LEAST_WATER_CHANGE_K:
        return OFF
    return None


def survey(rows: Sequence[SurveyRow]) -> Survey:
    """Read the short rows of a loop's running units together.

    Parameters
    ----------
    rows : sequence of SurveyRow
        One a running unit.

    Returns
    -------
    Survey
        the_loop, these_units or nearly_all_fouled. That no unit stands out is told by its probability; it
        leads to single units too, since nothing is shared.

    References
    ----------
    Gelman et al. (2013), Bayesian Data Analysis, ch. 5 (from memory): units share what they have in common.

    Examples
    --------
    See `tests/engine/test_causes_survey.py`.
    """
    if not rows:
        raise ValueError("a survey needs at least one running unit")
    logs = np.stack([_by_state(row) for row in rows])
    answers: dict[str, float] = {}
    given: dict[str, Array] = {}
    for answer in (NOTHING, UNITS, ALL, LOOP):
        answers[answer], given[answer] = _mixed(logs, SHARES[answer])
    warm, sound = _entering(rows)
    totals = {
        NOTHING: answers[NOTHING] + sound,
        UNITS: answers[UNITS] + sound,
        ALL: answers[ALL] + sound,
        "weak_flow": answers[LOOP] + sound,
        "entering_water": answers[NOTHING] + warm,
    }
    names = list(totals)
    chances = posterior(np.array([PRIORS[n] for n in names]), np.array([totals[n] for n in names]))
    return _answer(rows, dict(zip(names, chances.tolist(), strict=True)), given)


def _by_state(row: SurveyRow) -> Array:
    """Logarithm of the likelihood of one unit's row in each state; severities alike likely."""
    facts, reading = row.facts, replace(row.reading, strainer=None)
    seen = seen_of(facts, reading, History(), row.clean or (), instrument_table())
    hypotheses = hypothesis_rows(seen, facts)
    logs = row_log_likelihoods(seen, hypotheses)
    logs = logs + np.array([log_lockout(reading, one.causes, one.trip) for one in hypotheses])
    found = []
    for state in STATES:
        means = []
        for cause in _PLACES[state]:
            part = logs[[place for place, one in enumerate(hypotheses) if one.causes == (cause,)]]
            if part.size:
                means.append(part.max() + np.log(np.mean(np.exp(part - part.max()))))
        top = max(means)
        found.append(top + np.log(np.mean(np.exp(np.array(means) - top))))
    return np.array(found)


def _mixed(logs: Array, shares: Sequence[Sequence[float]]) -> tuple[float, Array]:
    """Log likelihood of all units under an answer, and each unit's state given it."""
    scaled = np.exp(logs - logs.max(axis=1, keepdims=True))
    totals, states = [], []
    for share in shares:
        joint = scaled * np.array(share)
        totals.append(float(np.log(joint.sum(axis=1)).sum() + logs.max(axis=1).sum()))
        states.append(joint / joint.sum(axis=1, keepdims=True))
    weights = np.exp(np.array(totals) - max(totals))
    mean = float(max(totals) + np.log(weights.mean()))
    return mean, np.asarray(np.tensordot(weights / weights.sum(), np.stack(states), axes=1))


def _entering(rows: Sequence[SurveyRow]) -> tuple[float, float]:
    """Log density of the loop's entering water (the units' median) if the loop is out of its range, and
    if not."""
    read = [row.reading.entering_water_k for row in rows if row.reading.entering_water_k is not None]
    usual = usual_range_k(rows[0].facts, rows[0].reading.mode)
    if not read or usual is None:
        return -3.0, 0.0
    low, high = usual
    at = float(np.median(read))
    out = max(at - high, low - at)
    inside = -0.5 * (max(out, 0.0) / LOOP_EDGE_K) ** 2 - np.log(high - low)
    if out >= 0.0:
        return float(-out / LOOP_BEYOND_K / 2.0 - np.log(2.0 * LOOP_BEYOND_K)), float(inside)
    return float(-0.5 * (out / LOOP_EDGE_K) ** 2 - np.log(2.0 * LOOP_BEYOND_K)), float(inside)


def _answer(rows: Sequence[SurveyRow], chances: Mapping[str, float], given: Mapping[str, Array]) -> Survey:
    told = {name: chances[name] for name in (NOTHING, UNITS, ALL)}
    told[LOOP] = chances["weak_flow"] + chances["entering_water"]
    states = (
        chances[NOTHING] * given[NOTHING]
        + chances["entering_water"] * given[NOTHING]
        + chances[UNITS] * given[UNITS]
        + chances[ALL] * given[ALL]
        + chances["weak_flow"] * given[LOOP]
    )
    by_answer = {LOOP: told[LOOP], UNITS: told[UNITS] + told[NOTHING], ALL: told[ALL]}
    answer = max(ANSWERS, key=lambda name: by_answer[name])
    cause = None
    if answer == LOOP:
        cause = "weak_flow" if chances["weak_flow"] > chances["entering_water"] else "entering_water"
    fouled = {row.facts.unit: float(one) for row, one in zip(rows, states[:, 1], strict=True)}
    trouble = {row.facts.unit: float(1.0 - one) for row, one in zip(rows, states[:, 0], strict=True)}
    ranked = sorted(trouble, key=lambda unit: -trouble[unit])
    worth = tuple(unit for unit in ranked if trouble[unit] > WORTH_GAUGES)[:MOST_UNITS] or tuple(ranked[:2])
    if answer == LOOP:
        worth = worth[:1]
    standing_out = answer != UNITS or told[UNITS] >= told[NOTHING]
    words = _words(answer, cause, by_answer[answer], worth, standing_out)
    return Survey(answer, told, cause, worth, fouled, words)


def _words(answer: str, cause: str | None, chance: float, worth: Sequence[str], standing_out: bool) -> str:
    units = ", ".join(worth) or "no unit"
    probably = per_cent.chance(chance)
    if answer == LOOP:
        what = "its water is out of its usual range" if cause == "entering_water" else "it lacks flow"
        first = (
            "tower, boiler and controls"
            if cause == "entering_water"
            else "main strainer, pump and loop pressure"
        )
        return f"The loop itself ({probably}): {what}; look at {first} before any unit."
    if answer == ALL:
        return f"Nearly all units are fouled by the same water ({probably}): confirm with gauges on {units}."
    if standing_out:
        return f"These units, nothing that all share ({probably}): gauges are worth their while on {units}."
    return f"Nothing that all share ({probably}) and no unit stands out: gauges, if anywhere, on {units}."
