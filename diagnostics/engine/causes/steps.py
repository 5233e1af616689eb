"""What to do next as the causes alone say it: one step, and the check that it is, if it is one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnostics.engine import per_cent, wording
from diagnostics.engine.causes.checking import SURE
from diagnostics.engine.causes.chemical import Refusal
from diagnostics.engine.causes.evidence import TELLS_OF
from diagnostics.engine.causes.machines import cause_words, remedy_words
from diagnostics.engine.causes.names import CAUSES, CONFIRMED_BY, FOULED, NOTHING_WRONG
from diagnostics.engine.records import ExchangerFacts

CHEMICAL = "Chemical work is reasonable now"
AIR_FIRST = "first let the static test with the machine off rule out air in the refrigerant"
NOTHING = "Nothing to mend"
REOPENED = "The question is open again, since the descale was in vain. "
DIRTY = ("dirty", "blocked")
EVEN, NOTHING_LEADS = 0.5, 0.4
"""From the second on a unit where nothing wrong leads is left running; below it a check is worth its time."""

Told = Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Step:
    """A sentence, and the check that it asks for; None where it asks for none."""

    words: str
    check: str | None = None


def clean_strainer(state: str, wanted: str | None = None) -> str:
    """Before anything else; `wanted` is what the fouling number needs when it is read again."""
    again = "then read again" + (f", with {wanted}" if wanted else "")
    return f"Clean the strainer ({state}), {again}: nothing else is judged before the water flows freely."


def is_chemical(sentence: str) -> bool:
    """Whether a step proposes chemical work."""
    return CHEMICAL in sentence or wording.PLAN_DESCALE in sentence


def step(
    facts: ExchangerFacts,
    chance: Mapping[str, float],
    done: Mapping[str, str],
    check: Told | None,
    refused: Refusal | None,
    mode: str = "cooling",
) -> Step:
    """The one next step: a check before a remedy, and no remedy in the refrigerant before its own check."""
    strainer = done.get("open_strainer")
    if strainer in DIRTY:
        return Step(clean_strainer(str(strainer)))
    if refused is None:
        return _chemical(chance[FOULED], check, mode == "cooling" and "static_test" not in done)
    leader = max(chance, key=lambda name: chance[name])
    if leader == NOTHING_WRONG and (check is None or chance[leader] >= NOTHING_LEADS):
        return Step(f"{NOTHING}: {remedy_words(leader, facts)}.")
    likely = f"it is likely ({per_cent.chance(chance[leader])}) that {cause_words(leader, facts)}"
    if chance[leader] < SURE:
        return _unsure(facts, leader, chance[leader], check)
    if leader == FOULED:
        return _still_in_question(check, refused, likely)
    confirming = CONFIRMED_BY.get(leader)
    if confirming is not None and confirming not in done:
        if check is not None and check["check"] == confirming:
            tail = "nothing is opened or replaced before that shows it"
            return Step(f"Next: {check['words']}, since {likely}; {tail}.", confirming)
        return _unsure(facts, leader, chance[leader], check)
    if check is not None and TELLS_OF.get(str(check["check"])) == leader:
        remedy = remedy_words(leader, facts)
        return Step(f"Next: {check['words']}, since {likely}; where it shows so, {remedy}.", _name(check))
    return Step(f"Next: {remedy_words(leader, facts)}, since {likely}.")


def _name(check: Told) -> str:
    return str(check["check"])


def _chemical(fouled: float, check: Told | None, air_open: bool) -> Step:
    words = (
        f"{CHEMICAL}: {CAUSES[FOULED]} ({per_cent.chance(fouled)}), the strainer is clean and "
        "the back-flush changed nothing"
    )
    care = "label and safety sheet first; brush instead where it opens"
    if check is not None and check["check"] == "static_test":
        return Step(f"{words}; {care}; before it {check['words']}, since gas looks the same.", "static_test")
    return Step(f"{words}; {AIR_FIRST}; {care}." if air_open else f"{words}; {care}.")


def _unsure(facts: ExchangerFacts, leader: str, chance: float, check: Told | None) -> Step:
    so_far = f"the likeliest cause so far is that {cause_words(leader, facts)} ({per_cent.chance(chance)})"
    if check is not None:
        return Step(f"Next: {check['words']}; {so_far}.", _name(check))
    return Step(
        "Next: read the full set again on another day; no cause is sure enough to mend anything, "
        f"and no check would tell more now ({so_far})."
    )


def _still_in_question(check: Told | None, refused: Refusal, likely: str) -> Step:
    if check is not None:
        return Step(f"Next: {check['words']}, since {likely}.", _name(check))
    if "brought flow back" in refused.words:
        return Step(f"Next: read the full set again, now that the back-flush brought flow back; {likely}.")
    return Step(
        f"Next: read the full set again on another day, since {likely}, but not sure enough for acid."
    )
