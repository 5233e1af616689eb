"""Deposit over time between cleanings: four laws fitted by weight, compared, and the date of reaching the
limit.

Time is whatever drives growth, in days: the calendar's, or run hours over 24 where they are known. Each
result counts by its own uncertainty; gaps need nothing special; negative results are kept. A cleaning starts
a new episode: its growth rate is shared with the others, what it left behind is its own offset.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from diagnostics.engine.errors import FloatArray, like, within
from diagnostics.engine.records import Interval

Values = npt.ArrayLike
Law = Literal["linear", "falling_rate", "asymptotic", "induction"]
LAWS: tuple[Law, ...] = ("linear", "falling_rate", "asymptotic", "induction")
FARTHEST_DAYS = 3650.0
"""Beyond ten years no date is given."""
_DRAWS, _SEED = 4000, 41_027


@dataclass(frozen=True, slots=True)
class Result:
    """A fouling resistance [m2 K/W or K/W] with its standard uncertainty, at a day [d] of an episode.

    `days` counts from the episode's cleaning (or from new); `episode` numbers the time between two cleanings.
    """

    days: float
    resistance: float
    u: float
    episode: int = 0


@dataclass(frozen=True, slots=True)
class Fit:
    """A law fitted: parameters (rate first), offsets by episode, chi-square, AICc [-], its weight among the
    laws.

    `covariance` is of parameters and offsets together. Resistances in the results' unit, times in days.
    """

    law: Law
    parameters: tuple[float, ...]
    offsets: tuple[tuple[int, float], ...]
    chi_square: float
    aicc: float
    weight: float
    covariance: tuple[tuple[float, ...], ...]


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


def linear(days: Values, rate_per_day: Values) -> Any:
    """Return deposit that grows evenly, a t.

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate_per_day : float or array
        Growth a day [m2 K/(W d)].

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4.

    Examples
    --------
    >>> round(linear(100.0, 1e-6), 6)
    0.0001
    """
    return like(_days(days) * np.asarray(rate_per_day, float), days, rate_per_day)


def falling_rate(days: Values, rate: Values, exponent: float = 0.5) -> Any:
    """Return deposit that grows ever slower but without end, K t^n.

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate : float or array
        K, the resistance after one day [m2 K/W].
    exponent : float
        n [-], above 0 to 1.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4 (falling rate); n = 0.5 where removal or diffusion rules.

    Examples
    --------
    >>> round(falling_rate(100.0, 1e-5), 6)
    0.0001
    """
    power = float(within("exponent", "-", exponent, 1e-3, 1.0))
    return like(np.asarray(rate, float) * _days(days) ** power, days, rate)


def asymptotic(days: Values, end_resistance: Values, time_constant_days: Values) -> Any:
    """Return deposit that removal brings to an end, Rf* [1 - exp(-t/tau)].

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    end_resistance : float or array
        Rf*, what it settles at [m2 K/W].
    time_constant_days : float or array
        tau [d], above 0.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Kern & Seaton (1959), British Chemical Engineering 4, 258.

    Examples
    --------
    >>> round(asymptotic(30.0, 1.76e-4, 30.0), 8)
    0.00011125
    """
    tau = within("time constant", "d", time_constant_days, 1e-6, np.inf)
    grown = np.asarray(end_resistance, float) * -np.expm1(-_days(days) / tau)
    return like(grown, days, end_resistance, time_constant_days)


def induction(days: Values, rate_per_day: Values, delay_days: Values) -> Any:
    """Return deposit that waits before it grows evenly, a max(t - td, 0).

    Parameters
    ----------
    days : float or array
        Time since the cleaning [d], 0 or above.
    rate_per_day : float or array
        Growth a day once begun [m2 K/(W d)].
    delay_days : float or array
        Time before it begins [d], 0 or above.

    Returns
    -------
    float or array
        Fouling resistance [m2 K/W].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 4 (initiation).

    Examples
    --------
    >>> round(induction(100.0, 1e-6, 40.0), 6)
    6e-05
    """
    delay = within("delay", "d", delay_days, 0.0, np.inf)
    grown = np.asarray(rate_per_day, float) * np.maximum(_days(days) - delay, 0.0)
    return like(grown, days, rate_per_day, delay_days)


def _days(days: Values) -> FloatArray:
    return within("time", "d", days, 0.0, np.inf)


def aicc(chi_square: float, parameters: int, results: int) -> float:
    """Return Akaike's criterion for few results of known uncertainty, chi2 + 2k + 2k(k + 1)/(n - k - 1).

    Parameters
    ----------
    chi_square : float
        Sum of squared residuals over uncertainties [-].
    parameters : int
        Fitted parameters k [-].
    results : int
        Results n [-].

    Returns
    -------
    float
        Criterion [-]; infinite where n is not above k + 1, so that law is not chosen.

    References
    ----------
    Hurvich & Tsai (1989), Biometrika 76, 297; Burnham & Anderson (2002), Model Selection, ch. 2.

    Examples
    --------
    >>> round(aicc(4.0, 2, 8), 3)
    10.4
    """
    if results <= parameters + 1:
        return float("inf")
    return chi_square + 2.0 * parameters + 2.0 * parameters * (parameters + 1) / (results - parameters - 1)


_CURVES: dict[Law, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "linear": lambda t, p: p[0] * t,
    "falling_rate": lambda t, p: p[0] * np.sqrt(t),
    "asymptotic": lambda t, p: p[0] * p[1] * -np.expm1(-t / p[1]),
    "induction": lambda t, p: p[0] * np.maximum(t - p[1], 0.0),
}
"""By rate and, for two laws, a time; the asymptotic one by its first slope, so that it passes into linear."""


def fit(results: Sequence[Result], law: Law) -> Fit:
    """Fit one law to all episodes by weighted least squares: one growth, an offset for each episode.

    Parameters
    ----------
    results : sequence of Result
        Results [m2 K/W or K/W] with their standard uncertainties, one at the least.
    law : str
        One of `LAWS`.

    Returns
    -------
    Fit
        Parameters, covariance and AICc; the weight is 1 for a law alone. Rate [m2 K/(W d)], or [m2 K/(W sqrt
        d)] for the falling rate; time constant or delay [d].

    References
    ----------
    JCGM 100:2008, H.3 (least squares with known uncertainties); laws as the functions of their names.

    Examples
    --------
    >>> found = fit([Result(0.0, 0.0, 1e-6), Result(100.0, 1e-4, 1e-6), Result(200.0, 2e-4, 1e-6)], "linear")
    >>> round(found.parameters[0], 9)
    1e-06
    """
    if law not in LAWS:
        raise ValueError(f"law {law!r} is not one of {', '.join(LAWS)}")
    if not results or any(not result.u > 0.0 for result in results):
        raise ValueError(
            "no results, or one without a standard uncertainty above zero; expected each to have one"
        )
    t, y, u = (
        np.array([getattr(row, name) for row in results], float) for name in ("days", "resistance", "u")
    )
    within("time since the cleaning", "d", t, 0.0, np.inf)
    episodes = sorted({result.episode for result in results})
    place = np.array([episodes.index(result.episode) for result in results])
    times = 1 if law in ("asymptotic", "induction") else 0
    scale = max(float(np.max(np.abs(y))), float(np.min(u)))
    span = max(float(np.max(t)), 1.0)
    # what a cleaning left is near none: a weak prior of the results' own size keeps offset and growth apart
    prior = 0.5 * float(np.median(u))

    def residuals(p: FloatArray) -> FloatArray:
        shape = np.concatenate((p[:1] * scale / _power(law, span), p[1 : 1 + times] * span))
        off = p[1 + times :] * scale
        return np.concatenate(((_CURVES[law](t, shape) + off[place] - y) / u, off / prior))

    best = None
    for start in (0.2, 0.6, 2.0) if times else (0.0,):
        first = np.concatenate(([1.0], [start] * times, np.zeros(len(episodes))))
        low = np.concatenate(
            ([0.0], [0.0 if law == "induction" else 0.02] * times, [-np.inf] * len(episodes))
        )
        high = np.concatenate(
            ([np.inf], [1.0 if law == "induction" else 50.0] * times, [np.inf] * len(episodes))
        )
        first = np.clip(first, low + 1e-6, high - 1e-6)
        found = least_squares(residuals, first, bounds=(low, high), x_scale=1.0)
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    units = np.concatenate(([scale / _power(law, span)], [span] * times, [scale] * len(episodes)))
    values = best.x * units
    spread = np.linalg.pinv(best.jac.T @ best.jac) * np.outer(units, units)
    chi = float(np.sum(best.fun[: len(results)] ** 2))
    return Fit(
        law,
        tuple(float(one) for one in values[: 1 + times]),
        tuple(zip(episodes, (float(one) for one in values[1 + times :]), strict=True)),
        chi,
        aicc(chi, 1 + times, len(results)),
        1.0,
        tuple(tuple(float(one) for one in row) for row in spread),
    )


def _power(law: Law, days: float) -> float:
    return float(np.sqrt(days)) if law == "falling_rate" else days


def fits(results: Sequence[Result]) -> tuple[Fit, ...]:
    """Fit every law and weigh them by AICc, best first; laws with too few results for them are left out.

    Parameters
    ----------
    results : sequence of Result
        Results [m2 K/W or K/W], three at the least for any law.

    Returns
    -------
    tuple of Fit
        Laws with weights that add up to 1 [-]; empty with fewer than three results.

    References
    ----------
    Burnham & Anderson (2002), Model Selection and Multimodel Inference, eq. 2.8 (Akaike weights).

    Examples
    --------
    >>> rows = [Result(30.0 * n, 1e-6 * 30.0 * n, 5e-6) for n in range(8)]
    >>> fits(rows)[0].law
    'linear'
    """
    found = [fit(results, law) for law in LAWS] if results else []
    usable = [one for one in found if np.isfinite(one.aicc)]
    if not usable:
        return ()
    least = min(one.aicc for one in usable)
    raw = [float(np.exp(-(one.aicc - least) / 2.0)) for one in usable]
    weighed = [
        Fit(one.law, one.parameters, one.offsets, one.chi_square, one.aicc, share / sum(raw), one.covariance)
        for one, share in zip(usable, raw, strict=True)
    ]
    return tuple(sorted(weighed, key=lambda one: one.aicc))


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
