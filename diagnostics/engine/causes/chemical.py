"""Whether chemical work is reasonable yet, and if not, why not: one sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnostics.engine.causes.machines import cause_words
from diagnostics.engine.causes.names import FLOW_FROM_OUTSIDE, FOULED
from diagnostics.engine.causes.weighing import Weighed, by_cause
from diagnostics.engine.records import ExchangerFacts

FOULED_LEAST, OUTSIDE_MOST, GAS_MOST = 0.8, 0.1, 0.2


def with_any(weighed: Sequence[Weighed], causes: Sequence[str]) -> float:
    """Probability [-] that at least one of some causes is at work, alone or in a pair."""
    return float(np.sum([one.probability for one in weighed if set(one.causes) & set(causes)]))


def why_not_chemical(
    facts: ExchangerFacts, weighed: Sequence[Weighed], done: Mapping[str, str], in_vain: bool = False
) -> str | None:
    """One sentence, or None where a fouled exchanger leads and all that comes before chemical work is
    done."""
    chance = by_cause(weighed)
    leader = max(chance, key=lambda name: chance[name])
    fouled, outside = with_any(weighed, [FOULED]), with_any(weighed, FLOW_FROM_OUTSIDE)
    gas = with_any(weighed, ["non_condensables"])
    if in_vain:
        return (
            "Not acid again: the last descale brought nothing out or changed nothing, so scale was probably "
            f"not the cause ({fouled:.0%} left for a fouled exchanger)."
        )
    if leader != FOULED:
        leads = f"the likeliest cause is that {cause_words(leader, facts)} ({chance[leader]:.0%})"
        return f"Not acid: {leads}; acid would not help that."
    if outside > OUTSIDE_MOST:
        return (
            f"Not acid yet: low flow from outside the exchanger is not excluded ({outside:.0%}); "
            "strainer, flow control and hoses come first."
        )
    if done.get("open_strainer") not in ("clean", "not_fitted"):
        return "Not acid yet: the strainer has not been seen clean with these readings."
    flush_first = (
        "Not acid yet: a back-flush is quicker and brings out mud; it comes before any chemical work."
    )
    if "back_flush" not in done and chance[FOULED] > 0.5 and gas <= GAS_MOST:
        return flush_first
    if fouled < FOULED_LEAST:
        return (
            f"Not acid yet: a fouled exchanger leads but is not sure enough ({fouled:.0%}) for chemical work."
        )
    if gas > GAS_MOST:
        return (
            f"Not acid yet: gas in the refrigerant looks the same on these readings ({gas:.0%}); "
            "the static test with the machine off tells them apart."
        )
    if "back_flush" not in done:
        return flush_first
    if done["back_flush"] == "flow_restored":
        return (
            "Not acid yet: the back-flush brought flow back; read again, and what came out names the deposit."
        )
    return None
