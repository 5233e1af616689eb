"""Conditioning on evidence against least squares, conjugate normals and brute force."""

import numpy as np
import pytest

from diagnostics.engine import conditioning as c
from tests.published.sources import published

WILSON = "Wilson (1915) plot, 1/U = R0 + 1/(C V^0.8), synthetic C 3500, R0 1.2e-4, V 0.8 to 2.4 (from memory)"


@published(c.condition, source=WILSON)
def test_clean_visits_at_several_flows_are_a_wilson_plot():
    speed = np.linspace(0.8, 2.4, 9)
    total = 1.2e-4 + 1 / (3500 * speed**0.8)
    slope, intercept = np.polyfit(speed**-0.8, total, 1)
    assert (slope, intercept) == pytest.approx((2.85714e-4, 1.2e-4), rel=1e-5)
    scale = 1e-3  # prior standard uncertainty of both, wide against the evidence

    def residuals(centre, spread):
        design = scale * np.stack([speed**-0.8, np.ones_like(speed)], axis=1)
        return design @ centre - total, design, np.full(speed.size, 1e-8)

    learned = c.condition(residuals, 2)
    assert scale * learned.centre == pytest.approx([slope, intercept], rel=1e-4)


CONJUGATE = (
    "Gelman et al., Bayesian Data Analysis, normal data with normal prior (from memory): precisions add"
)


@published(c.condition, c.update_draws, source=CONJUGATE)
def test_a_normal_prior_and_normal_evidence():
    # prior N(0, 1), evidence 1.0 with 0.5: precision 1 + 4, mean 4/5
    def residuals(centre, spread):
        return np.array([centre[0] - 1.0]), np.array([[1.0]]), np.array([0.5])

    learned = c.condition(residuals, 1)
    assert learned.centre[0] == pytest.approx(0.8)
    source = np.random.default_rng(7)
    draws = c.update_draws(source.standard_normal((1, 200_000)), learned, source)
    assert draws.mean() == pytest.approx(0.8, abs=0.005)
    assert draws.std() == pytest.approx(5**-0.5, rel=0.01)


@published(
    c.update_draws, source="closed form of the conditional normal distribution, by numpy.linalg (hand)"
)
def test_the_moved_draws_have_the_conditional_covariance():
    source = np.random.default_rng(11)
    design, noise = source.standard_normal((3, 5)), np.array([0.3, 1.0, 0.2])
    target = np.array([1.0, -2.0, 0.5])

    def residuals(centre, spread):
        return design @ centre - target, design, noise

    learned = c.condition(residuals, 5)
    draws = c.update_draws(source.standard_normal((5, 200_000)), learned, source)
    covariance = np.linalg.inv(np.eye(5) + design.T @ np.diag(noise**-2) @ design)
    mean = covariance @ design.T @ (target / noise**2)
    assert draws.mean(axis=1) == pytest.approx(mean, abs=0.012)
    assert np.cov(draws) == pytest.approx(covariance, abs=0.02)


@published(c.left_out, source="brute force: each piece of evidence against the posterior of all the others")
def test_left_out_scores_are_those_of_leaving_out():
    source = np.random.default_rng(5)
    design, noise = source.standard_normal((4, 3)), np.array([0.5, 0.4, 0.7, 0.3])
    target = source.standard_normal(4)

    def problem(rows):
        return lambda centre, spread: (design[rows] @ centre - target[rows], design[rows], noise[rows])

    told = c.left_out(c.condition(problem([0, 1, 2, 3]), 3))
    for place in range(4):
        rows = [row for row in range(4) if row != place]
        covariance = np.linalg.inv(np.eye(3) + design[rows].T @ np.diag(noise[rows] ** -2.0) @ design[rows])
        mean = covariance @ design[rows].T @ (target[rows] / noise[rows] ** 2)
        spread = np.sqrt(design[place] @ covariance @ design[place] + noise[place] ** 2)
        assert told[place] == pytest.approx((target[place] - design[place] @ mean) / spread, rel=1e-9)


@published(c.condition, source="scipy.optimize.least_squares on a bent relation with a normal prior")
def test_a_bent_relation_is_solved_at_its_most_likely_point():
    from scipy.optimize import least_squares

    def value(z):
        return np.exp(0.3 * z[0]) + 0.5 * z[1] - 1.6

    def residuals(centre, spread):
        return np.array([value(centre)]), np.array([[0.3 * np.exp(0.3 * centre[0]), 0.5]]), np.array([0.05])

    learned = c.condition(residuals, 2, rounds=8)
    best = least_squares(lambda z: np.array([*z, value(z) / 0.05]), np.zeros(2)).x
    assert learned.centre == pytest.approx(best, abs=1e-3)
