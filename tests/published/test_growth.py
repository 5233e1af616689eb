"""Growth laws and the worth of a cleaning against published laws, scipy and arithmetic shown."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from diagnostics.engine import growth as g
from diagnostics.engine import worth as w
from tests.published.sources import published


@published(
    g.asymptotic,
    source="Kern & Seaton (1959), Rf* = 1.76e-4, tau = 30 d, worked by hand: 0.6321 of it after tau, 0.9933 "
    "after 5 tau",
)
@pytest.mark.parametrize(
    ("days", "resistance"),
    [(0, 0.0), (15, 6.925e-5), (30, 1.1125e-4), (60, 1.5218e-4), (90, 1.6724e-4), (150, 1.7481e-4)],
)
def test_growth_that_settles(days, resistance):
    assert g.asymptotic(days, 1.76e-4, 30.0) == pytest.approx(resistance, abs=1e-8)


@published(g.linear, g.falling_rate, g.induction, source="Bott (1995), ch. 4, growth laws; worked by hand")
def test_growth_that_does_not_settle():
    assert g.linear(365.0, 4e-7) == pytest.approx(1.46e-4)
    assert g.falling_rate(400.0, 5e-6) == pytest.approx(1e-4)
    assert g.falling_rate(16.0, 1e-5, 0.25) == pytest.approx(2e-5)
    assert g.induction(30.0, 4e-7, 60.0) == 0
    assert g.induction(160.0, 4e-7, 60.0) == pytest.approx(4e-5)


@published(
    g.aicc,
    source="Burnham & Anderson (2002), ch. 2: k = 2, n = 8: 4 + 4 + 12/5 = 10.4; infinite at n = k + 1",
)
def test_akaikes_criterion_for_few_results():
    assert g.aicc(4.0, 2, 8) == pytest.approx(10.4)
    assert math.isinf(g.aicc(0.0, 2, 3))


@published(
    g.fit, source="numpy.polyfit weighted, unscaled covariance, the offset held near none by its weak prior"
)
def test_a_straight_line_is_numpys():
    days = np.array([0.0, 100.0, 200.0, 320.0, 450.0, 600.0])
    u = np.array([2e-5, 1e-5, 3e-5, 1e-5, 2e-5, 1e-5])
    seen = 4e-7 * days + np.array([1e-5, -5e-6, 2e-5, 0.0, -1e-5, 5e-6])
    found = g.fit([g.Result(*row) for row in zip(days, seen, u, strict=True)], "linear")
    # the prior is one more row: offset 0 with half the median uncertainty
    design = np.vstack([np.column_stack([days / u, 1 / u]), [0.0, 1 / (0.5 * np.median(u))]])
    rhs = np.append(seen / u, 0.0)
    expected = np.linalg.lstsq(design, rhs, rcond=None)[0]
    covariance = np.linalg.inv(design.T @ design)
    assert found.parameters[0] == pytest.approx(expected[0], rel=1e-4)
    assert found.offsets[0][1] == pytest.approx(expected[1], rel=1e-3)
    assert found.covariance[0][0] == pytest.approx(covariance[0, 0], rel=1e-4)


@published(
    g.fits,
    source="Burnham & Anderson (2002): Akaike weights exp(-delta/2) add up to one; Kern & Seaton's law",
)
def test_the_law_that_made_the_results_weighs_most():
    noise = np.random.default_rng(6)
    days = np.linspace(0, 360, 14)
    rows = [g.Result(t, g.asymptotic(t, 2e-4, 60.0) + noise.normal(0, 6e-6), 6e-6) for t in days]
    found = g.fits(rows)
    assert found[0].law == "asymptotic" and found[0].weight > 0.9
    assert sum(one.weight for one in found) == pytest.approx(1)
    end = found[0].parameters[0] * found[0].parameters[1]
    assert end == pytest.approx(2e-4, rel=0.05)
    assert found[0].parameters[1] == pytest.approx(60, rel=0.15)


@published(
    g.reaching, source="arithmetic: 3e-4 at 1e-6 a day is 300 days; coverage of a 95 % interval by binomial"
)
def test_the_date_of_reaching_the_limit_holds_its_truth():
    held = 0
    for seed in range(40):
        noise = np.random.default_rng(seed)
        rows = [g.Result(t, 1e-6 * t + noise.normal(0, 1.5e-5), 1.5e-5) for t in (0, 40, 80, 120, 160, 200)]
        found = g.reaching(rows, 3e-4)
        held += found.days.low <= 300 <= found.days.high
    assert held >= 34  # of 40; 95 % coverage gives fewer with probability 0.1 %


@published(
    w.interval_of_linear_days,
    w.mean_cost_of_linear_per_day,
    source="square-root law derived: C 400, k 0.08: 100 d at 8.00 a day; with 2 d of downtime 98.020 d; "
    "scipy's "
    "minimum of the mean cost",
)
@pytest.mark.parametrize(("downtime", "days"), [(0.0, 100.0), (2.0, 98.020)])
def test_the_interval_of_least_cost(downtime, days):
    assert w.interval_of_linear_days(400, 0.08, downtime) == pytest.approx(days, abs=1e-3)
    least = minimize_scalar(
        lambda t: w.mean_cost_of_linear_per_day(t, 400, 0.08, downtime), bounds=(1, 1000), method="bounded"
    )
    assert least.x == pytest.approx(days, abs=0.01)
    assert w.mean_cost_of_linear_per_day(100, 400, 0.08) == pytest.approx(8.0)


@published(
    w.interval_of_asymptotic_days,
    w.interval_of_falling_rate_days,
    source="scipy's minimum of the mean cost over a cycle, written out here; never where C >= k1 tau",
)
def test_the_interval_where_growth_slows():
    cost, k1, tau = 120.0, 4.0, 100.0
    least = minimize_scalar(
        lambda t: (cost + k1 * (t - tau * (1 - math.exp(-t / tau)))) / t, bounds=(1, 2000), method="bounded"
    )
    assert w.interval_of_asymptotic_days(cost, k1, tau) == pytest.approx(least.x, abs=0.05)
    assert math.isinf(w.interval_of_asymptotic_days(400.0, k1, tau))
    least = minimize_scalar(lambda t: (cost + 0.1 * t**1.5 / 1.5) / t, bounds=(1, 2000), method="bounded")
    assert w.interval_of_falling_rate_days(cost, 0.1) == pytest.approx(least.x, abs=0.05)


@published(
    w.extra_cost_per_year, source="arithmetic: 500 W for 2000 h at 0.20 and 1 kW missed at 0.05: 200 + 100"
)
def test_what_a_deposit_costs_in_a_year():
    assert w.extra_cost_per_year(500, 1000, 2000, 0.20, 0.05) == pytest.approx(300)
