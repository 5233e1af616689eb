"""The answer in words: do this next, why not acid yet, causes with reasons, what cannot be told apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnostics.engine import per_cent, wording
from diagnostics.engine.causes.background import NOTHING_KNOWN, Background, told
from diagnostics.engine.causes.checking import next_check, open_checks
from diagnostics.engine.causes.chemical import refusal
from diagnostics.engine.causes.evidence import Findings, known
from diagnostics.engine.causes.machines import cause_words, check_words
from diagnostics.engine.causes.names import BAD_READING, BAD_RECORD, CAUSES, FOULED
from diagnostics.engine.causes.reasons import lines_of, plain, reasons_of
from diagnostics.engine.causes.seen import Seen
from diagnostics.engine.causes.steps import REOPENED, step
from diagnostics.engine.causes.weighing import Weighed, by_cause
from diagnostics.engine.records import ExchangerFacts, ReadingSet

ONE_OF_THEM = CAUSES[BAD_READING]
TELLING, ALIKE, WORTH_TELLING_APART = 0.02, 0.2, 0.1
SAME_BY_READINGS: tuple[str, str] = ("water_flow_low", "flow_control_fault")
"""Too little water from the system, or by the unit's own valve: every reading moves alike."""
TELLS_APART: tuple[tuple[tuple[str, ...], str], ...] = (
    (("strainer_blocked", "water_flow_low"), "open_strainer"),
    (("strainer_blocked", "flow_control_fault"), "open_strainer"),
    (("water_flow_low", "flow_control_fault"), "look_at_flow_control"),
    (("water_flow_low", "air_in_water"), "vent_water"),
    (("flow_control_fault", "air_in_water"), "vent_water"),
    (("strainer_blocked", "air_in_water"), "open_strainer"),
    (("exchanger_fouled", "non_condensables"), "static_test"),
    (("exchanger_fouled", "strainer_blocked"), "open_strainer"),
    (("exchanger_fouled", "overcharged"), "weigh_charge"),
    (("overcharged", "non_condensables"), "static_test"),
    (("undercharged", "metering_restricted"), "feel_drier"),
    (("compressor_weak", "reversing_valve_leaking"), "feel_reversing_valve"),
    (("nothing_wrong", "safety_control_fault"), "check_cutouts"),
    (("bad_reading", "bad_record"), "read_data_plate"),
)
"""Causes that readings often cannot tell apart, and the check that would (common practice)."""


def explained(
    facts: ExchangerFacts,
    reading: ReadingSet,
    findings: Findings,
    seen: Seen,
    weighed: Sequence[Weighed],
    background: Background = NOTHING_KNOWN,
) -> dict[str, Any]:
    """The fields of a `Ranking`."""
    done = known(reading, findings)
    chance = by_cause(weighed)
    checks = open_checks(facts, weighed, done)
    refused = refusal(facts, weighed, done, findings.in_vain)
    chosen = next_check(weighed, checks, refused.check if refused else None)
    next_step = step(facts, chance, done, checks.get(chosen or ""), refused, reading.mode)
    words = _naming(next_step.words, weighed)
    reopened = _reopened(findings, chance[FOULED])
    return {
        "causes": _causes(facts, reading, findings, seen, weighed, chance, told(background)),
        "pairs": tuple(
            {"causes": list(one.causes), "probability": round(one.probability, 6)}
            for one in weighed
            if len(one.causes) == 2
        ),
        "do_next": f"{REOPENED if reopened else ''}{words}",
        "next_check": checks.get(next_step.check or ""),
        "why_not_chemical": refused.words if refused else None,
        "cannot_tell_apart": _alike(facts, chance, done),
        "reopened": reopened,
        "checks": checks,
    }


def _causes(
    facts: ExchangerFacts,
    reading: ReadingSet,
    findings: Findings,
    seen: Seen,
    weighed: Sequence[Weighed],
    chance: Mapping[str, float],
    growth: str | None,
) -> tuple[dict[str, object], ...]:
    """Every cause sorted by probability; reasons from its likelier hypothesis, alone or in a pair."""
    lines = lines_of(seen, reading)
    found = []
    for cause in sorted(CAUSES, key=lambda name: -chance[name]):
        best = next((one for one in weighed if cause in one.causes), None)
        worth = chance[cause] >= TELLING and best is not None
        reasons = reasons_of(best, lines, facts, reading, findings) if worth and best is not None else []
        if worth and best is not None and len(best.causes) == 2:
            reasons.insert(0, f"for: best explained together, {plain(best.causes)}")
        if worth and best is not None and best.columns:
            reasons.insert(0, _where(best))
        if cause == FOULED and growth is not None and reasons:
            reasons.append(growth)
        if worth and cause in SAME_BY_READINGS and "look_at_flow_control" not in known(reading, findings):
            reasons.insert(min(len(reasons), 2), _same(cause, facts))
        if cause == FOULED and findings.in_vain:
            reasons.insert(0, "against: the last descale brought nothing out or changed nothing")
        found.append({"cause": cause, "probability": round(chance[cause], 6), "reasons": reasons})
    return tuple(found)


def _where(one: Weighed) -> str:
    """In which reading or entry of the record a blunder most likely lies."""
    named = " or ".join(wording.short_words(name) for name in one.columns)
    if one.causes == (BAD_RECORD,):
        return f"for: {named} on record may be wrong: {one.fits}"
    return f"for: without {named} the rest fits a sound unit best"


def _naming(words: str, weighed: Sequence[Weighed]) -> str:
    """The step with the suspect reading named where it only said that one is wrong."""
    blunder = next((one for one in weighed if one.causes == (BAD_READING,) and one.columns), None)
    if blunder is None:
        return words
    named = " or ".join(wording.short_words(name) for name in blunder.columns)
    return words.replace(ONE_OF_THEM, f"{ONE_OF_THEM} (first suspect: {named})").replace(
        "read that value again", f"read {named} again"
    )


def _same(cause: str, facts: ExchangerFacts) -> str:
    """That the readings tell nothing between two causes, and what would."""
    other = next(name for name in SAME_BY_READINGS if name != cause)
    return (
        f"alike: that {cause_words(other, facts)} moves every reading the same; to tell, "
        f"{check_words('look_at_flow_control', facts)}"
    )


def _reopened(findings: Findings, fouled: float) -> str | None:
    """After a descale in vain: what that says of the cause."""
    if not findings.in_vain:
        return None
    what = " and ".join(
        words
        for words, one in (
            ("brought nothing out", findings.descale_brought),
            ("changed nothing", findings.descale_changed),
        )
        if one == "nothing"
    )
    return (
        f"The descale {what}: scale was probably not the cause (fouled exchanger now "
        f"{per_cent.chance(fouled)}); the question is open again."
    )


def _alike(
    facts: ExchangerFacts, chance: Mapping[str, float], done: Mapping[str, str]
) -> tuple[dict[str, object], ...]:
    found: list[dict[str, object]] = []
    for pair, check in TELLS_APART:
        low, high = sorted(chance[name] for name in pair)
        near = high if pair == SAME_BY_READINGS else low
        same = pair == SAME_BY_READINGS or low >= ALIKE * high
        if near >= WORTH_TELLING_APART and same and check not in done:
            found.append(
                {
                    "causes": list(pair),
                    "check": check,
                    "words": f"These readings cannot tell whether {cause_words(pair[0], facts)} or "
                    f"{cause_words(pair[1], facts)}: {check_words(check, facts)}.",
                }
            )
    return tuple(found)
