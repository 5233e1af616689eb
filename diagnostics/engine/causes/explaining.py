"""The answer in words: do this next, why not acid yet, causes with reasons, what cannot be told apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnostics.engine.causes.background import NOTHING_KNOWN, Background, told
from diagnostics.engine.causes.checking import SURE, next_check
from diagnostics.engine.causes.chemical import why_not_chemical
from diagnostics.engine.causes.evidence import Findings, known
from diagnostics.engine.causes.machines import cause_words, check_words, remedy_words
from diagnostics.engine.causes.names import CAUSES, CONFIRMED_BY, FOULED, NOTHING_WRONG
from diagnostics.engine.causes.reasons import lines_of, plain, reasons_of
from diagnostics.engine.causes.seen import Seen
from diagnostics.engine.causes.weighing import Weighed, by_cause
from diagnostics.engine.records import ExchangerFacts, ReadingSet

TELLING, ALIKE = 0.02, 0.2
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
    check = next_check(facts, weighed, done)
    refusal = why_not_chemical(facts, weighed, done, findings.in_vain)
    leader = max(chance, key=lambda name: chance[name])
    reopened = _reopened(findings, chance[FOULED])
    return {
        "causes": _causes(facts, reading, findings, seen, weighed, chance, told(background)),
        "pairs": tuple(
            {"causes": list(one.causes), "probability": round(one.probability, 6)}
            for one in weighed
            if len(one.causes) == 2
        ),
        "do_next": _do_next(facts, leader, chance[leader], done, check, refusal, reopened),
        "next_check": check,
        "why_not_chemical": refusal,
        "cannot_tell_apart": _alike(facts, chance, done),
        "reopened": reopened,
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
        if cause == FOULED and growth is not None and reasons:
            reasons.append(growth)
        if cause == FOULED and findings.in_vain:
            reasons.insert(0, "against: the last descale brought nothing out or changed nothing")
        found.append({"cause": cause, "probability": round(chance[cause], 6), "reasons": reasons})
    return tuple(found)


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
        f"The descale {what}: scale was probably not the cause (fouled exchanger now {fouled:.0%}); the "
        "question is open again."
    )


def _do_next(
    facts: ExchangerFacts,
    leader: str,
    chance: float,
    done: Mapping[str, str],
    check: dict[str, object] | None,
    refusal: str | None,
    reopened: str | None = None,
) -> str:
    if refusal is None:
        return (
            f"Chemical work is reasonable now: {CAUSES[FOULED]} ({chance:.0%}), the strainer is clean and "
            "the back-flush changed nothing; label and safety sheet first; brush instead where it opens."
        )
    if reopened is not None:
        follow = f"{check['words']}" if check is not None else remedy_words(leader, facts)
        return f"The question is open again, since the descale was in vain. Next: {follow}."
    if leader == NOTHING_WRONG:
        return f"Nothing to mend: {remedy_words(leader, facts)}."
    likeliest = f"{cause_words(leader, facts)} ({chance:.0%})"
    likely = f"it is likely ({chance:.0%}) that {cause_words(leader, facts)}"
    confirming = CONFIRMED_BY.get(leader)
    if chance >= SURE and leader != FOULED and (confirming is None or confirming in done):
        return f"Next: {remedy_words(leader, facts)}, since {likely}."
    if check is not None and check["check"] == confirming:
        return f"Next: {check['words']}, since {likely}; nothing is opened or replaced before that shows it."
    if check is not None and chance < SURE:
        return f"Next: {check['words']}; the likeliest cause so far is that {likeliest}."
    if check is not None:
        return f"Next: {check['words']}, since {likely}."
    return f"Next: {remedy_words(leader, facts)}."


def _alike(
    facts: ExchangerFacts, chance: Mapping[str, float], done: Mapping[str, str]
) -> tuple[dict[str, object], ...]:
    found: list[dict[str, object]] = []
    for pair, check in TELLS_APART:
        low, high = sorted(chance[name] for name in pair)
        if low >= 0.1 and low >= ALIKE * high and check not in done:
            found.append(
                {
                    "causes": list(pair),
                    "check": check,
                    "words": f"These readings cannot tell whether {cause_words(pair[0], facts)} or "
                    f"{cause_words(pair[1], facts)}: {check_words(check, facts)}.",
                }
            )
    return tuple(found)
