"""A reading typed, posted, assessed and answered on screen, with ten phones at once on the embedded setting.

It times what people wait for, so nothing may run beside it: .ci/run has it alone, before the others. Whatever
else the machine does only ever adds, so that the best of a few rounds is the service's own. The three seconds
are asked of a machine that computes an assessment in `USUAL_MACHINE_S`, as the one they were set on does. A
slower one can't give them: shared hosts were seen to need the time of 160 to 470 of their assessments, and
beyond `MOST_ASSESSMENTS` something waits that should not. There a pass doesn't show the three seconds; what
was measured and asked is printed, passed or not.
"""

from __future__ import annotations

import time

import pytest

from diagnostics.engine.assessment import assess
from tests.benchmarks import phones
from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, reading

pytestmark = [pytest.mark.needs_browser, pytest.mark.needs_quiet]
PHONES, EACH, MOST_ROUNDS = 10, 6, 3
ANSWERED_WITHIN_S = 3.0
USUAL_MACHINE_S, MOST_ASSESSMENTS = 0.016, 1000


def one_assessment_s() -> float:
    """Least time of one assessment alone in this process: how fast this machine is just now."""
    took, row = [], reading(LIMIT)
    for _ in range(20):
        began = time.perf_counter()
        assess(FACTS, row, TWO_CLEAN)
        took.append(time.perf_counter() - began)
    return min(took)


def limit_s(assessment_s: float) -> float:
    """What is asked of a machine as fast as this."""
    return ANSWERED_WITHIN_S if assessment_s <= USUAL_MACHINE_S else MOST_ASSESSMENTS * assessment_s


def told(took: list[float], screen: list[float], alone_s: float) -> str:
    """What was measured, and what was asked."""
    asked = f"asked: within {limit_s(alone_s):.1f} s at the 95th percentile"
    if alone_s > USUAL_MACHINE_S:
        asked += (
            f"; the machine is too slow to be asked for {ANSWERED_WITHIN_S:.0f} s, which this does not show"
        )
    return "\n".join(
        (
            phones.told("answered", took),
            phones.told("on the screen", screen),
            f"one assessment alone: {1000 * alone_s:.0f} ms; {asked}",
        )
    )


def test_ten_phones_at_once_get_their_answers_in_time(
    gives: Gives, house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    """At the 95th percentile; one of them is a browser, timed from the tap to the words on its screen."""
    tech, rounds = gives(phones.EMAIL), []
    while len(rounds) < MOST_ROUNDS and not any(took < limit for took, limit in rounds):
        seen, beside = phones.measure(house, PHONES, EACH, tech)
        alone = one_assessment_s()
        assert (len(seen), len(beside)) == (EACH, EACH * (PHONES - 1))
        screen, took = ([one.answered_s for one in part] for part in (seen, (*seen, *beside)))
        with capsys.disabled():
            print(f"\n{told(took, screen, alone)}")
        rounds.append((max(map(phones.percentile_95, (took, screen))), limit_s(alone)))
    assert any(took < limit for took, limit in rounds), rounds
