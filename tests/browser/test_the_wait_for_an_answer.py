"""A reading typed, posted, assessed and answered on screen, with ten phones at once on the embedded setting.

It times what people wait for, so nothing may run beside it: .ci/run has it alone, before the others. Whatever
else the machine does only ever adds, so that the best of a few rounds is the service's own.
"""

from __future__ import annotations

import pytest

from tests.benchmarks import phones
from tests.browser.conftest import Gives
from tests.browser.house import House

pytestmark = [pytest.mark.needs_browser, pytest.mark.needs_quiet]
PHONES, EACH, MOST_ROUNDS = 10, 6, 3
ANSWERED_WITHIN_S = 3.0


def test_ten_phones_at_once_get_their_answers_within_three_seconds(gives: Gives, house: House) -> None:
    """At the 95th percentile; one of them is a browser, timed from the tap to the words on its screen."""
    tech, rounds = gives(phones.EMAIL), []
    while len(rounds) < MOST_ROUNDS and min(rounds, default=ANSWERED_WITHIN_S) >= ANSWERED_WITHIN_S:
        seen, beside = phones.measure(house, PHONES, EACH, tech)
        assert (len(seen), len(beside)) == (EACH, EACH * (PHONES - 1))
        took = [one.answered_s for one in (*seen, *beside)]
        print(phones.told("answered", took), phones.told("on the screen", [one.answered_s for one in seen]))
        rounds.append(max(phones.percentile_95(took), phones.percentile_95(one.answered_s for one in seen)))
    assert min(rounds) < ANSWERED_WITHIN_S, [round(one, 2) for one in rounds]
