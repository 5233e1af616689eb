"""Whether chemical work is reasonable yet, and if not, why not: one sentence, and the check that would lift
it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine import per_cent
from diagnostics.engine.causes.machines import cause_words
from diagnostics.engine.causes.names import FLOW_FROM_OUTSIDE, FOULED, NOTHING_WRONG
from diagnostics.engine.causes.weighing import Weighed, by_cause
from diagnostics.engine.records import ExchangerFacts

FOULED_LEAST, OUTSIDE_MOST, GAS_MOST = 0.8, 0.1, 0.2
FLOW_CHECKS: tuple[str, ...] = ("open_strainer", "look_at_flow_control", "ask_the_loop", "vent_water")
"""Where water may be lost before the exchanger, in the order in which it is looked for."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why nothing chemical yet, and the check that it asks for (None where it asks for none)."""

    words: str
    check: str | None = None


def with_any(weighed: Sequence[Weighed], causes: Sequence[str]) -> float:
    """Probability [-] that at least one of some causes is at work, alone or in a pair."""
    return float(np.sum([one.probability for one in weighed if set(one.causes) & set(causes)]))


def refusal(
    facts: ExchangerFacts, weighed: Sequence[Weighed], done: Mapping[str, str], in_vain: bool = False
) -> Refusal | None:
    """Why not, or None where a fouled exchanger leads and all that comes before chemical work is done."""
    chance = by_cause(weighed)
    leader = max(chance, key=lambda name: chance[name])
    fouled = with_any(weighed, [FOULED])
    if in_vain:
        return Refusal(
            "Not acid again: the last descale brought nothing out or changed nothing, so scale was probably "
            f"not the cause ({per_cent.chance(fouled)} left for a fouled exchanger)."
        )
    if leader != FOULED:
        probably = per_cent.chance(chance[leader])
        if leader == NOTHING_WRONG:
            return Refusal(f"Not acid: most likely {cause_words(leader, facts)} ({probably}).")
        leads = f"the likeliest cause is that {cause_words(leader, facts)} ({probably})"
        return Refusal(f"Not acid: {leads}; acid would not help that.")
    return _by_flow(weighed, done) or _by_doubt(chance[FOULED], fouled, weighed, done)


def _by_flow(weighed: Sequence[Weighed], done: Mapping[str, str]) -> Refusal | None:
    """What comes before the exchanger is cleared first."""
    outside = with_any(weighed, FLOW_FROM_OUTSIDE)
    if outside > OUTSIDE_MOST:
        return Refusal(
            f"Not acid yet: low flow from outside the exchanger is not excluded "
            f"({per_cent.chance(outside)}); strainer, flow control and hoses come first.",
            next((check for check in FLOW_CHECKS if check not in done), None),
        )
    if done.get("open_strainer") not in ("clean", "not_fitted"):
        words = "Not acid yet: the strainer has not been seen clean with these readings."
        return Refusal(words, "open_strainer")
    return None


def _by_doubt(
    alone: float, fouled: float, weighed: Sequence[Weighed], done: Mapping[str, str]
) -> Refusal | None:
    """The exchanger leads: is it sure enough, and is the easier remedy done."""
    gas = with_any(weighed, ["non_condensables"])
    flush_first = Refusal(
        "Not acid yet: a back-flush is quicker and brings out mud; it comes before any chemical work.",
        "back_flush",
    )
    if "back_flush" not in done and alone > 0.5 and gas <= GAS_MOST:
        return flush_first
    if gas > GAS_MOST:
        return _gas(gas, done)
    if fouled < FOULED_LEAST:
        return Refusal(
            f"Not acid yet: a fouled exchanger leads but is not sure enough "
            f"({per_cent.chance(fouled)}) for chemical work."
        )
    if "back_flush" not in done:
        return flush_first
    if done["back_flush"] == "flow_restored":
        return Refusal(
            "Not acid yet: the back-flush brought flow back; read again, and what came out names the deposit."
        )
    return None


def _gas(gas: float, done: Mapping[str, str]) -> Refusal:
    probably = per_cent.chance(gas)
    alike = f"Not acid yet: gas in the refrigerant looks the same on these readings ({probably}); "
    if "static_test" in done:
        return Refusal(f"{alike}the static test did not exclude it: repeat it, settled for longer.")
    return Refusal(f"{alike}the static test with the machine off tells them apart.", "static_test")
