"""Trends of a log's readings against numpy's least squares and scipy's normal distribution."""

import numpy as np
import pytest
from scipy.stats import norm

from diagnostics.engine.descaling import series as s
from tests.published.sources import published

TIMES = [0.0, 180.0, 360.0, 600.0, 1200.0, 1800.0]
VALUES = [0.100, 0.093, 0.088, 0.079, 0.066, 0.060]


@published(s.trend, source="numpy.polyfit with unscaled covariance; line's value at the last time by numpy")
def test_the_line_through_a_log_is_numpys():
    weight = 1 / 0.002
    (slope, start), covariance = np.polyfit(TIMES, VALUES, 1, w=[weight] * 6, cov="unscaled")
    line = s.trend(TIMES, VALUES, 0.002)
    assert line.slope == pytest.approx(slope, rel=1e-9)
    assert line.slope_u == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-9)
    assert line.last == pytest.approx(start + slope * 1800, rel=1e-9)
    at_last = np.array([1800.0, 1.0])
    assert line.last_u == pytest.approx((at_last @ covariance @ at_last) ** 0.5, rel=1e-9)


@published(s.probability_below, s.probability_steady, source="scipy.stats.norm; JCGM 106:2012, 7")
@pytest.mark.parametrize("slope", [-2e-5, 0.0, 1e-5])
def test_probabilities_are_the_normal_distributions(slope):
    line = s.Trend(slope, 1e-5, 3.0, 0.05, 5)
    spread = norm(slope * 1800, 1e-5 * 1800)
    assert s.probability_steady(line, 1800, 0.02) == pytest.approx(spread.cdf(0.02) - spread.cdf(-0.02))
    assert s.probability_below(3.0, 0.05, 3.1) == pytest.approx(norm.cdf(2.0))


def test_a_series_of_one_moment_has_no_trend():
    with pytest.raises(ValueError, match="two"):
        s.trend([600.0], [3.0], 0.1)
    with pytest.raises(ValueError, match="two different times"):
        s.trend([600.0, 600.0], [3.0, 3.1], 0.1)
