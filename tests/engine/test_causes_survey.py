"""A loop's short rows read together, and the survey study at a twentieth."""

from dataclasses import replace

import pytest

from diagnostics.engine.causes import sorted_out, survey
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


def test_units_at_rest_satisfied_or_in_the_other_mode_are_no_evidence():
    rows = draw_site(8, "warm loop")[0]
    resting = replace(rows[0], reading=replace(rows[0].reading, minutes_running=0.0))
    satisfied = replace(
        rows[1], reading=replace(rows[1].reading, leaving_water_k=rows[1].reading.entering_water_k)
    )
    opposite = replace(rows[2], reading=replace(rows[2].reading, mode="heating"))
    unread = replace(rows[3], reading=replace(rows[3].reading, leaving_water_k=None))
    kept, left_out = sorted_out([resting, satisfied, opposite, unread, *rows[4:]])
    assert kept == tuple(rows[4:])
    assert list(left_out.values()).count("off or satisfied") == 2 and len(left_out) == 4
    assert survey(kept) == survey(rows[4:])
