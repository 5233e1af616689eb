"""A loop's short rows read together, and the survey study at a twentieth."""

import pytest

from diagnostics.engine.causes import survey
from tests.studies.causes_survey import KINDS, SITES, draw_site, run


@pytest.fixture(scope="module")
def answered():
    return run(3, SITES // 20)


def test_the_right_one_of_the_three_answers_is_given(answered):
    # 15 sites at an aim of 0.9: twelve right or more with probability 0.94
    assert sum(one.right for one in answered) >= 12
    assert {one.kind for one in answered} == set(KINDS)


def test_gauges_are_asked_for_on_a_few_units_only():
    found = survey(draw_site(5, "three in ten")[0])
    assert 1 <= len(found.units_worth_gauges) <= 4
    assert sum(found.probabilities.values()) == pytest.approx(1.0)


def test_a_loop_without_rows_is_refused():
    with pytest.raises(ValueError, match="at least one running unit"):
        survey([])


def test_a_warm_loop_is_named_with_what_to_look_at():
    found = survey(draw_site(8, "warm loop")[0])
    assert (found.answer, found.cause) == ("the_loop", "entering_water")
    assert "before any unit" in found.words
