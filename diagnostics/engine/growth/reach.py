"""When the limit is reached: over all laws by their weights and all parameters by their covariance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.errors import FloatArray, within
from diagnostics.engine.growth.fitting import Fit, Result, fits
from diagnostics.engine.records import Interval

FARTHEST_DAYS = 3650.0
"""Beyond ten years no date is given."""
_DRAWS, _SEED = 4000, 41_027


@dataclass(frozen=True, slots=True)
class Reaching:
    """Days from the latest cleaning until the limit is reached: median and 95 % interval.

    An infinite end means "not within ten years" (`FARTHEST_DAYS`), and nothing more: `probability_beyond`
    is the share of the draws that reach the limit later than that, `probability_never` the share that by
    their law never do. Results that stay below the limit can't tell growth that settles from growth that
    goes on, so the upper end is often "not within ten years", and honestly so. With few results AICc
    leans to the law with fewest parameters, so the interval then holds if that law does: growth that
    waits before it begins (induction) is seen too late by four to six results.
    """

    days: Interval
    probability_never: float
    laws: tuple[Fit, ...]
    probability_beyond: float = 0.0

    @property
    def said(self) -> str:
        """When, in words; an end that is not within ten years says so."""
        low, middle, high = (_said(one) for one in (self.days.low, self.days.value, self.days.high))
        return f"{middle} (95 % interval {low} to {high})"


def _said(days: float) -> str:
    if not np.isfinite(days):
        return f"not within {FARTHEST_DAYS / 365.0:.0f} years"
    return f"{days:.0f} days" if days < 730.0 else f"{days / 365.25:.1f} years"


def reaching(results: Sequence[Result], limit: float, episode: int | None = None) -> Reaching | None:
    """Return when the limit is reached, over all laws by their weights and all parameters by their
    covariance.

    Parameters
    ----------
    results : sequence of Result
        Results [m2 K/W or K/W].
    limit : float
        Limit, in the results' unit [m2 K/W or K/W].
    episode : int or None
        Episode asked about [-]; the latest where None. One without results yet starts at zero.

    Returns
    -------
    Reaching or None
        Days since that episode's cleaning [d]; None with fewer than three results.

    References
    ----------
    JCGM 101:2008 (draws); Burnham & Anderson (2002), ch. 4 (averaging over models).

    Examples
    --------
    >>> rows = [Result(30.0 * n, 1e-6 * 30.0 * n, 2e-6) for n in range(9)]
    >>> found = reaching(rows, 3e-4)
    >>> found.days.low < 300.0 < found.days.high
    True
    """
    level = float(within("limit", "m2 K/W or K/W", limit, 1e-12, np.inf))
    weighed = fits(results)
    if not weighed:
        return None
    asked = max(result.episode for result in results) if episode is None else episode
    generator = np.random.Generator(np.random.PCG64(_SEED))
    counts = generator.multinomial(_DRAWS, [one.weight for one in weighed])
    days = np.concatenate(
        [
            _days_of(one, level, asked, int(count), generator)
            for one, count in zip(weighed, counts, strict=True)
        ]
    )
    never = float(np.mean(np.isinf(days)))
    beyond = float(np.mean(days > FARTHEST_DAYS)) - never
    days[days > FARTHEST_DAYS] = np.inf
    low, middle, high = np.quantile(days, (0.025, 0.5, 0.975), method="closest_observation")
    return Reaching(Interval(float(middle), float(low), float(high)), never, weighed, beyond)


def _by_curvature(mean: FloatArray, spread: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Turn a time constant into its inverse: near linear growth the inverse has a bell, the time has none."""
    turned = mean.copy()
    turned[1] = 1.0 / mean[1]
    slopes = np.ones(len(mean))
    slopes[1] = -1.0 / mean[1] ** 2
    return turned, spread * np.outer(slopes, slopes)


def _days_of(one: Fit, limit: float, episode: int, count: int, generator: np.random.Generator) -> FloatArray:
    """Draw the days at which one law reaches the limit."""
    mean = np.array([*one.parameters, *(value for _, value in one.offsets)])
    spread = np.array(one.covariance)
    if one.law == "asymptotic":
        mean, spread = _by_curvature(mean, spread)
    drawn = generator.multivariate_normal(mean, spread, size=count, method="eigh", check_valid="ignore")
    rate = np.maximum(drawn[:, 0], 1e-300)
    names = [name for name, _ in one.offsets]
    offset = drawn[:, len(one.parameters) + names.index(episode)] if episode in names else np.zeros(count)
    missing = np.maximum(limit - offset, 0.0)
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        if one.law == "linear":
            days = missing / rate
        elif one.law == "falling_rate":
            days = (missing / rate) ** 2
        elif one.law == "induction":
            days = np.maximum(drawn[:, 1], 0.0) + missing / rate
        else:
            curvature = np.maximum(drawn[:, 1], 1e-12)  # none is linear
            share = missing * curvature / rate
            days = np.where(share < 1.0, -np.log1p(-np.minimum(share, 1.0 - 1e-12)) / curvature, np.inf)
    return np.asarray(days, dtype=float)
