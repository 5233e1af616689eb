"""Three sets minutes apart: swinging ones are averaged and widened, settling ones withhold the number."""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from tests.engine.case import FACTS, TWO_CLEAN, codes, reading

ROW = reading(0.0)


def sets(heads, minutes=4.0):
    """This set and those before it, whose head pressure stands at these factors, oldest first."""
    return [
        replace(
            ROW,
            head_pressure_pa=ROW.head_pressure_pa * factor,
            taken_at=ROW.taken_at - timedelta(minutes=minutes * (len(heads) - 1 - place)),
        )
        for place, factor in enumerate(heads)
    ]


def judge(rows):
    past = replace(TWO_CLEAN, readings=(*TWO_CLEAN.readings, *rows[:-1]))
    return assess(FACTS, rows[-1], past, draws=4000)


def width(answer):
    return answer.fouling_resistance_m2k_per_w.high - answer.fouling_resistance_m2k_per_w.low


def test_the_mean_of_three_swinging_sets_is_judged_and_told_wider():
    steady, hunting = judge([ROW]), judge(sets([1.03, 0.97, 1.0]))
    assert "mean_of_three" in codes(hunting)
    assert hunting.fouling_resistance_m2k_per_w.value == pytest.approx(
        steady.fouling_resistance_m2k_per_w.value, abs=1.5e-5
    )
    assert width(hunting) > 1.1 * width(steady)


def test_a_pressure_that_keeps_rising_is_not_steady():
    answer = judge(sets([0.94, 0.97, 1.0]))
    assert answer.fouling_resistance_m2k_per_w is None
    assert "not_steady" in codes(answer)


def test_two_sets_that_differ_are_too_few_for_a_mean():
    answer = judge(sets([1.03, 1.0]))
    assert answer.fouling_resistance_m2k_per_w is None
    assert "read three sets" in next(w.text for w in answer.warnings if w.code == "not_steady")


def test_three_sets_that_agree_are_read_as_the_last():
    assert "mean_of_three" not in codes(judge(sets([1.002, 0.998, 1.0])))
