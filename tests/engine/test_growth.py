"""Growth between cleanings: resets, gaps, weights, and limits never reached; worth that says never."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine import worth as w
from diagnostics.engine.growth import LAWS, Result, fit, fits, reaching


def line(days, episode=0, offset=0.0, u=5e-6):
    return [Result(float(t), 1e-6 * t + offset, u, episode) for t in days]


def test_a_cleaning_starts_anew_and_what_it_left_is_carried():
    rows = line((0, 60, 120, 180)) + line((0, 60, 120, 180), episode=1, offset=3e-5, u=5e-6)
    found = fit(rows, "linear")
    left = dict(found.offsets)
    assert abs(left[0]) < 5e-6 and left[1] > 1e-5
    second = reaching(rows, 2.5e-4)
    first = reaching(rows, 2.5e-4, episode=0)
    assert second.days.value < first.days.value


def test_an_episode_without_results_yet_takes_the_others_growth():
    rows = line(range(0, 240, 30))
    found = reaching(rows, 2e-4, episode=1)
    assert found.days.low < 200 < found.days.high


def test_a_poor_result_counts_less_than_a_good_one():
    good = line((0, 50, 100, 150, 200))
    outlier = [Result(250.0, 9e-4, 5e-4)]
    assert fit(good + outlier, "linear").parameters[0] == pytest.approx(1e-6, rel=0.02)


def test_negative_results_are_kept_not_clipped():
    noise = np.random.default_rng(2)
    rows = [Result(float(t), noise.normal(0, 2e-5), 2e-5) for t in range(0, 400, 25)]
    assert min(row.resistance for row in rows) < 0
    found = reaching(rows, 2e-4)
    assert found.days.low > 400 and math.isinf(found.days.high)


def test_growth_that_settles_below_the_limit_may_never_reach_it():
    rows = [Result(float(t), 1e-4 * (1 - math.exp(-t / 40)), 2e-6) for t in range(0, 400, 25)]
    found = reaching(rows, 2e-4)
    assert found.laws[0].law == "asymptotic"
    assert found.probability_never > 0.95 and math.isinf(found.days.value)


def test_an_end_that_is_not_within_ten_years_says_so_and_which_share_never_reaches_it():
    settles = reaching(
        [Result(float(t), 1e-4 * (1 - math.exp(-t / 40)), 2e-6) for t in range(0, 400, 25)], 2e-4
    )
    assert settles.said.endswith("to not within 10 years)") and settles.probability_beyond < 0.05
    slow = reaching(line(range(0, 800, 50), u=2e-6), 8e-3)  # at 1e-6 a day 8000 days away
    assert slow.probability_beyond > 0.5 and slow.said.startswith("not within 10 years")
    near = reaching(line(range(0, 280, 20), u=1e-6), 3e-4)
    assert near.said.startswith("30") and "days (95 % interval" in near.said


def test_growth_that_is_even_so_far_is_not_taken_to_settle_at_once():
    """A time constant that even growth leaves unknown is no short one."""
    found = reaching(line(range(0, 300, 30), u=3e-6), 4e-4)
    assert found.probability_never < 0.2
    assert found.days.low > 300


@pytest.mark.parametrize("count", [0, 1, 2])
def test_too_few_results_give_no_date(count):
    assert reaching(line((0, 100, 200)[:count]), 2e-4) is None
    assert fits(line((0, 100, 200)[:count])) == ()


def test_more_results_of_one_law_make_its_growth_better_known():
    few, many = (fit(line(np.linspace(0, 200, count)), "linear") for count in (5, 20))
    assert many.covariance[0][0] < few.covariance[0][0]


@pytest.mark.parametrize("law", LAWS)
def test_every_law_passes_near_results_it_can_follow(law):
    rows = line((0, 60, 120, 180, 240))
    found = fit(rows, law)
    if law != "falling_rate":
        assert found.chi_square < 1.0


def test_a_wrong_law_or_a_result_without_uncertainty_is_refused():
    with pytest.raises(ValueError, match="falling_rate"):
        fit(line((0, 1, 2)), "exponential")
    with pytest.raises(ValueError, match="standard uncertainty"):
        fit([Result(0.0, 0.0, 0.0)], "linear")


@given(st.floats(1, 5000), st.floats(1e-4, 10), st.floats(0, 10))
def test_the_dearer_the_cleaning_the_rarer(cost, growth, downtime):
    rare = w.interval_of_linear_days(2 * cost, growth, downtime)
    assert rare > w.interval_of_linear_days(cost, growth, downtime) > 0


@pytest.mark.parametrize("growth", [0.0, -0.1, float("nan")])
def test_where_nothing_grows_no_cleaning_ever_pays(growth):
    assert w.interval_of_linear_days(400, growth) == w.NEVER
    assert w.interval_of_asymptotic_days(400, growth, 100) == w.NEVER
    assert w.interval_of_falling_rate_days(400, growth) == w.NEVER


@given(st.floats(0.01, 0.99), st.floats(1, 1000))
def test_a_settling_cost_has_a_best_interval_only_below_what_it_can_cost(share, tau):
    assert math.isfinite(w.interval_of_asymptotic_days(share * 3.0 * tau, 3.0, tau))
    assert math.isinf(w.interval_of_asymptotic_days(1.01 * 3.0 * tau, 3.0, tau))
