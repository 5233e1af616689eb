"""Three sets minutes apart: swinging ones are averaged and widened, settling ones withhold the number."""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from tests.engine.case import FACTS, TWO_CLEAN, clean, codes, history, reading

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


def clean_visit(heads, minutes=4.0):
    """One clean visit read in several sets, whose head pressure stands at these factors, oldest first."""
    row = clean(20.0)
    return [
        replace(
            row,
            head_pressure_pa=row.head_pressure_pa * factor,
            taken_at=row.taken_at - timedelta(minutes=minutes * (len(heads) - 1 - place)),
            taken_at_as_typed=f"set {place + 1}",
        )
        for place, factor in enumerate(heads)
    ]


def by(sets, *others):
    return assess(FACTS, ROW, history(*sets, *others), draws=4000)


def clean_used(answer):
    return [used.taken_at for used in answer.reference if used.kind == "clean_reference"]


def test_a_clean_visit_of_three_swinging_sets_counts_once_as_their_mean():
    steady, hunting = by(clean_visit([1.0])), by(clean_visit([1.03, 0.97, 1.0]))
    assert clean_used(hunting) == ["set 3"]
    assert "reference_mean_of_three" in codes(hunting)
    assert hunting.fouling_resistance_m2k_per_w.value == pytest.approx(
        steady.fouling_resistance_m2k_per_w.value, abs=1.5e-5
    )
    assert width(hunting) > 1.05 * width(steady)


def test_a_clean_visit_that_was_still_settling_is_no_reference_and_says_so():
    answer = by(clean_visit([0.94, 0.97, 1.0]), clean(0.0))
    assert len(clean_used(answer)) == 1 and "set" not in clean_used(answer)[0]
    text = next(w.text for w in answer.warnings if w.code == "reference_not_usable")
    assert "head_pressure went from" in text


def test_the_swing_of_a_clean_visit_is_part_of_what_the_answer_rests_on():
    one, other = (by(clean_visit([1.0 + swing, 1.0 - swing, 1.0])) for swing in (0.03, 0.04))
    assert one.inputs_digest != other.inputs_digest
