"""One surface on one day: both modes must agree, or the answer says which two do not."""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import UnitEvent
from tests.engine.case import COOLING, FACTS, HEATING, LIMIT, clean, codes, history, reading

PAST = (
    clean(0.0),
    clean(20.0, flow=0.8),
    clean(0.1, point=HEATING),
    clean(20.1, point=HEATING, flow=0.8),
)
NOW = 700.0


def judge(row, *others, **rest):
    return assess(FACTS, row, history(*PAST, *others, **rest), draws=4000)


def words(answer):
    return next(warning.text for warning in answer.warnings if warning.code == "modes_disagree")


def heating(fouling, hours_before=1.0, **changes):
    return reading(fouling, HEATING, days=NOW - hours_before / 24, **changes)


@pytest.mark.parametrize("fouling", [0.0, 2 * LIMIT])
def test_modes_that_agree_are_not_flagged(fouling):
    assert "modes_disagree" not in codes(judge(reading(fouling), heating(fouling)))


def test_modes_that_disagree_are_flagged_with_both_values_and_what_may_be_behind():
    answer = judge(reading(5 * LIMIT), heating(0.0))
    text = words(answer)
    assert "cooling tells a fouling of" in text and "heating of" in text
    assert "m2K/W" in text and "air in the refrigerant" in text
    backwards = judge(replace(heating(5 * LIMIT, -1.0)), reading(0.0))
    assert "charge too low" in words(backwards)


def test_the_other_modes_set_moves_no_number():
    alone, beside = judge(reading(5 * LIMIT)), judge(reading(5 * LIMIT), heating(0.0))
    assert alone.fouling_resistance_m2k_per_w == beside.fouling_resistance_m2k_per_w
    assert alone.verdict == beside.verdict
    assert alone.inputs_digest != beside.inputs_digest


@pytest.mark.parametrize(
    "other",
    [
        heating(0.0, hours_before=30.0),
        heating(0.0, hours_before=-1.0),
        replace(heating(0.0), purpose="after_descale"),
        reading(0.0, COOLING, days=NOW - 1 / 24),
    ],
)
def test_other_days_later_sets_the_same_mode_and_a_cleaned_surface_are_not_compared(other):
    assert "modes_disagree" not in codes(judge(reading(5 * LIMIT), other))


def test_a_descale_between_the_two_sets_explains_the_difference():
    row = reading(5 * LIMIT)
    event = UnitEvent("HP-1", row.taken_at - timedelta(minutes=30), "descaled")
    assert "modes_disagree" not in codes(judge(row, heating(0.0), events=(event,)))
