"""Rankings made by hand for reports: acid held back, let, and after a descale in vain."""

from __future__ import annotations

from dataclasses import replace

from reporting.documents.causes import RankingTold
from reporting.documents.facts import VisitReport
from tests.reporting.samples import fouled

APPROACH = "approach 9.1 K, the clean unit at this flow and load would show 4.9 +- 0.6 K"
HELD_BACK = RankingTold(
    do_next="Next: open and look at the strainer.",
    why_not_chemical="Not acid yet: the strainer has not been seen clean with these readings.",
    reopened=None,
    causes=(
        {
            "cause": "exchanger_fouled",
            "probability": 0.71,
            "reasons": [
                f"for: {APPROACH}",
                "for: condensing temperature by head pressure 44.9 degC, the clean unit here would show "
                "41.1 +- 1.4 degC",
                "against: pressure drop 112 % of the design figure, a sound unit would show 91 % to 108 %; "
                "this cause would move it by +38 %",
            ],
        },
        {
            "cause": "strainer_blocked",
            "probability": 0.18,
            "reasons": ["for: flow 74 % of design flow, a sound unit would show 92 % to 108 %"],
        },
        {"cause": "non_condensables", "probability": 0.06, "reasons": []},
        {"cause": "overcharged", "probability": 0.03, "reasons": []},
        {"cause": "other_fault", "probability": 0.02, "reasons": []},
    ),
    next_check={
        "check": "open_strainer",
        "words": "open and look at the strainer",
        "minutes": 10,
        "intrusiveness": 2,
        "cautions": ["Lock out, tag out and prove dead before opening."],
        "expected_information_nat": 0.21,
        "outcomes": [
            {"outcome": "clean", "probability": 0.73, "then": [
                {"cause": "exchanger_fouled", "probability": 0.83},
                {"cause": "non_condensables", "probability": 0.07}]},
            {"outcome": "blocked", "probability": 0.15, "then": [
                {"cause": "strainer_blocked", "probability": 0.91},
                {"cause": "exchanger_fouled", "probability": 0.08}]},
        ],
    },
    cannot_tell_apart=(
        {
            "causes": ["exchanger_fouled", "strainer_blocked"],
            "check": "open_strainer",
            "words": "These readings cannot tell whether the water side of the exchanger is fouled or the "
            "strainer before the unit is blocked: open and look at the strainer.",
        },
    ),
)  # fmt: skip
LET = replace(
    HELD_BACK,
    do_next="Chemical work is reasonable now: the water side of the exchanger is fouled (93 %), the strainer "
    "is clean and the back-flush changed nothing; label and safety sheet first; brush where it opens.",
    why_not_chemical=None,
    causes=({**HELD_BACK.causes[0], "probability": 0.93}, *HELD_BACK.causes[2:4]),
    next_check=None,
    cannot_tell_apart=(),
)
IN_VAIN = replace(
    HELD_BACK,
    do_next="The question is open again, since the descale was in vain. Next: stop for 30 minutes and hold "
    "the static pressure against the coldest surface.",
    why_not_chemical="Not acid again: the last descale brought nothing out or changed nothing, so scale was "
    "probably not the cause (22 % left for a fouled exchanger).",
    reopened="The descale brought nothing out and changed nothing: scale was probably not the cause (fouled "
    "exchanger now 22 %); the question is open again.",
)


def ranked(told: RankingTold = HELD_BACK) -> VisitReport:
    return replace(fouled(), ranking=told)
