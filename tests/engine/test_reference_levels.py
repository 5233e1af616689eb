"""The study of reference levels at a thirtieth: intervals hold and no clean surface is called fouled."""

import pytest

from tests.studies.levels_table import line
from tests.studies.reference_levels import LEVELS, LIMIT, run

CASES = 100


@pytest.fixture(scope="module")
def outcomes():
    return run(seed=77, cases=CASES, draws=3000)


@pytest.mark.parametrize("level", LEVELS)
def test_intervals_hold_the_truth_at_every_level(outcomes, level):
    told = [one for one in outcomes[level] if one.value == one.value]
    assert len(told) >= 0.95 * CASES
    # 100 cases: four standard errors of 95 % are 8.7 %
    assert sum(one.low <= one.truth <= one.high for one in told) / len(told) >= 0.863


@pytest.mark.parametrize("level", LEVELS)
def test_no_clean_surface_is_called_fouled_and_no_heavy_one_clean(outcomes, level):
    wrong = [one for one in outcomes[level] if one.truth == 0 and one.verdict == "fouled"]
    wrong += [one for one in outcomes[level] if one.truth >= 2 * LIMIT and one.verdict == "clean"]
    assert len(wrong) <= 1


def test_clean_visits_tell_more_than_a_table_and_a_table_more_than_geometry(outcomes):
    def width(level):
        return sorted(one.high - one.low for one in outcomes[level])[CASES // 2]

    order = ["two clean visits", "one clean visit", "operating table", "geometry and rating"]
    widths = [width(level) for level in order]
    assert widths == sorted(widths)


def test_the_zones_err_less_than_a_lumped_sum_or_a_plain_spreadsheet(outcomes):
    def usual_error(level):
        return sorted(abs(one.value - one.truth) for one in outcomes[level] if one.value == one.value)[
            CASES // 2
        ]

    zones = usual_error("two clean visits")
    assert zones < usual_error("lumped sum")
    assert zones < usual_error("plain spreadsheet")
    assert "two clean visits" in line("two clean visits", outcomes["two clean visits"])
