"""Which check next: the most expected information for its effort, easy before intrusive."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnostics.engine.causes.chemical import GAS_MOST, with_any
from diagnostics.engine.causes.evidence import OUTCOMES, chances
from diagnostics.engine.causes.machines import check_words
from diagnostics.engine.causes.names import CAUSES, CHECKS, CONFIRMED_BY, FLOW_FROM_OUTSIDE, FOULED
from diagnostics.engine.causes.probability import Array, expected_information
from diagnostics.engine.causes.weighing import Weighed, by_cause
from diagnostics.engine.records import ExchangerFacts

LEAST_INFORMATION = 0.02
"""Below this expected information [nat] no check is worth its effort."""
FLOW_MATTERS, SURE = 0.02, 0.75
TOLD_CAUSES = 3


def open_checks(
    facts: ExchangerFacts, weighed: Sequence[Weighed], done: Mapping[str, str]
) -> dict[str, dict[str, object]]:
    """Every check not yet made, with its cautions and what each outcome would do."""
    return {
        name: _told(name, _information(name, facts, weighed), facts, weighed)
        for name in CHECKS
        if name not in done
    }


def next_check(
    weighed: Sequence[Weighed], checks: Mapping[str, Mapping[str, object]], asked: str | None = None
) -> str | None:
    """The check to make next: the one that the refusal of chemical work asks for where the exchanger leads,
    else by order or by what it would tell; None where none would tell."""
    gains = {name: float(str(one["expected_information_nat"])) for name, one in checks.items()}
    if asked in gains:
        return asked
    return _confirming(weighed, gains) or _by_order(weighed, gains) or _by_information(gains)


def _confirming(weighed: Sequence[Weighed], gains: Mapping[str, float]) -> str | None:
    """Where a cause that is mended in the refrigerant circuit is likely: the cheap check of it first."""
    chance = by_cause(weighed)
    leader = max(chance, key=lambda name: chance[name])
    check = CONFIRMED_BY.get(leader)
    return check if chance[leader] >= SURE and check in gains else None


def _by_order(weighed: Sequence[Weighed], gains: Mapping[str, float]) -> str | None:
    """Where a fouled exchanger is in question: the strainer, then where flow is lost, then the back-flush."""
    chance = by_cause(weighed)
    outside = sum(chance[name] for name in FLOW_FROM_OUTSIDE)
    if max(chance[FOULED], outside) < 0.25 or chance[FOULED] + outside < 0.4:
        return None
    if "open_strainer" in gains and (outside > FLOW_MATTERS or chance[FOULED] > 0.5):
        return "open_strainer"
    if chance[FOULED] > 0.5 and outside < 0.1 and "back_flush" in gains:
        gas_first = with_any(weighed, ["non_condensables"]) > GAS_MOST and "static_test" in gains
        return "static_test" if gas_first else "back_flush"
    return None


def _by_information(gains: Mapping[str, float]) -> str | None:
    worth = {name: gain / CHECKS[name].effort for name, gain in gains.items() if gain >= LEAST_INFORMATION}
    return max(worth, key=lambda name: worth[name]) if worth else None


def _table(check: str, facts: ExchangerFacts, weighed: Sequence[Weighed]) -> tuple[Array, Array]:
    rows = [chances(check, one.causes, facts, one.severity) for one in weighed]
    return np.array([one.probability for one in weighed]), np.array(rows)


def _information(check: str, facts: ExchangerFacts, weighed: Sequence[Weighed]) -> float:
    return expected_information(*_table(check, facts, weighed))


def _told(check: str, gain: float, facts: ExchangerFacts, weighed: Sequence[Weighed]) -> dict[str, object]:
    prior, table = _table(check, facts, weighed)
    outcomes = []
    for place, outcome in enumerate(OUTCOMES[check]):
        together = prior * table[:, place]
        after = together / together.sum()
        by_name = dict.fromkeys(CAUSES, 0.0)
        for one, chance in zip(weighed, after, strict=True):
            for cause in one.causes:
                by_name[cause] += float(chance) / len(one.causes)
        top = sorted(by_name, key=lambda name: -by_name[name])[:TOLD_CAUSES]
        outcomes.append(
            {
                "outcome": outcome,
                "probability": round(float(together.sum()), 4),
                "then": [{"cause": name, "probability": round(by_name[name], 4)} for name in top],
            }
        )
    what = CHECKS[check]
    return {
        "check": check,
        "words": check_words(check, facts),
        "minutes": what.minutes,
        "intrusiveness": what.intrusiveness,
        "cautions": list(what.cautions),
        "expected_information_nat": round(gain, 4),
        "outcomes": outcomes,
    }
