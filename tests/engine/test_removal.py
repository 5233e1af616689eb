"""What a cleaning removed: known better than either value, and withheld for the same reasons."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import DRAWS
from diagnostics.engine.records import InstrumentAccuracy, Interval
from diagnostics.engine.removal import Removal, changed, removed
from tests.engine.case import COOLING, FACTS, HEATING, LIMIT, TWO_CLEAN, history, reading


def compare(before, after, past=TWO_CLEAN, facts=FACTS, draws=4000):
    return removed(facts, before, after, past, draws=draws)


@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
def test_the_resistance_removed_is_found(point):
    found = compare(reading(3 * LIMIT, point), reading(LIMIT / 2, point, days=701.0)).removed_m2k_per_w
    assert found.low < 2.5 * LIMIT < found.high
    assert found.value == pytest.approx(2.5 * LIMIT, rel=0.1)


@pytest.mark.parametrize("past", [TWO_CLEAN, history()], ids=["clean visits", "geometry"])
def test_the_difference_is_known_better_than_the_two_values_apart(past):
    # As many draws as the engine makes: with a fifth of them the share scatters by 0.02 from seed to seed.
    answer = compare(reading(2 * LIMIT), reading(0.0, days=701.0), past, draws=DRAWS)
    assert answer.width_share < 0.8
    assert answer.removed_m2k_per_w.low > 0
    assert answer.probability > 0.99


def test_other_gauges_afterwards_make_the_difference_less_certain():
    after = reading(0.0, days=701.0)
    same, other = (compare(reading(2 * LIMIT), row) for row in (after, replace(after, gauge_set="B")))

    def width(answer):
        return answer.removed_k_per_w.high - answer.removed_k_per_w.low

    assert width(other) > 1.1 * width(same)


def test_coarse_gauges_before_make_the_difference_less_certain_though_those_after_are_fine():
    after, before = reading(0.0, days=701.0), replace(reading(2 * LIMIT), gauge_set="B")
    coarse = [InstrumentAccuracy("entering_water", 1.0, 0.5, False),
              InstrumentAccuracy("leaving_water", 1.0, 0.5, False)]  # fmt: skip
    fine, wide = (
        removed(FACTS, before, after, TWO_CLEAN, draws=4000, instruments_before=given)
        for given in (None, coarse)
    )
    width = [answer.removed_k_per_w.high - answer.removed_k_per_w.low for answer in (fine, wide)]
    assert width[1] > 1.3 * width[0]
    assert wide.after_k_per_w.high - wide.after_k_per_w.low < 1.3 * (
        fine.after_k_per_w.high - fine.after_k_per_w.low
    )


def test_nothing_removed_is_told_as_nothing():
    answer = compare(reading(2 * LIMIT), reading(2 * LIMIT, days=701.0))
    assert answer.removed_m2k_per_w.low < 0 < answer.removed_m2k_per_w.high
    assert 0.2 < answer.probability < 0.8


def test_contradictory_readings_withhold_the_difference():
    answer = compare(reading(2 * LIMIT), replace(reading(0.0), leaving_water_k=290.0))
    assert answer.removed_k_per_w is None
    assert answer.warnings[0].code == "water_change_wrong_sign"


def test_without_an_area_the_difference_is_in_kelvin_per_watt():
    facts = replace(FACTS, area_m2=None, bore_m=None)
    answer = compare(reading(2 * LIMIT), reading(0.0), facts=facts)
    assert answer.removed_m2k_per_w is None
    assert answer.removed_k_per_w.value == pytest.approx(2 * LIMIT, rel=0.15)


@pytest.mark.parametrize(
    "gone, before, told",
    [
        (Interval(2.0, 1.5, 2.5), 2.2, "better"),
        (Interval(0.3, 0.1, 0.5), 2.2, "better"),
        (Interval(0.1, -0.3, 0.5), 2.2, "nothing"),
        (Interval(-0.4, -0.6, -0.2), 2.2, "nothing"),
        (Interval(2.0, -0.5, 4.5), 2.2, None),  # gauges too coarse: most may be gone, or nothing
        (Interval(0.1, -0.3, 0.5), -0.1, None),  # nothing stood there to be removed
    ],
)
def test_what_a_cleaning_changed_is_said_only_where_the_interval_tells(gone, before, told):
    stood = Interval(before, before - 1.0, before + 1.0)
    assert changed(Removal(None, gone, stood, None, None, None, ())) == told


def test_a_set_that_is_withheld_tells_no_change():
    assert changed(Removal(None, None, None, None, None, None, ())) is None
