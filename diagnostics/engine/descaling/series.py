"""A short series of readings: its trend, and how likely it has stopped changing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import ndtr

from diagnostics.engine.errors import within


@dataclass(frozen=True, slots=True)
class Trend:
    """A straight line through a series: slope, value at the last time, standard uncertainties, count."""

    slope: float
    slope_u: float
    last: float
    last_u: float
    count: int


def trend(times_s: Sequence[float], values: Sequence[float], u: float) -> Trend:
    """Return the straight line through readings that all have the same standard uncertainty.

    Parameters
    ----------
    times_s : sequence of float
        Times, rising [s]; two different ones at the least.
    values : sequence of float
        Readings, in any unit [unit of the reading].
    u : float
        Standard uncertainty of one reading, above 0 [unit of the reading].

    Returns
    -------
    Trend
        Slope [unit/s] and value at the last time, with standard uncertainties.

    References
    ----------
    JCGM 100:2008, H.3 (straight line by least squares), with the uncertainty of a reading known.

    Examples
    --------
    >>> line = trend([0.0, 600.0, 1200.0], [1.0, 2.0, 3.0], 0.1)
    >>> round(line.slope * 600, 6), round(line.last, 6)
    (1.0, 3.0)
    """
    spread = float(within("standard uncertainty", "-", u, 1e-12, math.inf))
    if len(times_s) < 2 or len(times_s) != len(values):
        raise ValueError(f"{len(times_s)} times and {len(values)} values; expected two or more of each")
    count = len(times_s)
    middle_t, middle_v = sum(times_s) / count, sum(values) / count
    sum_tt = sum((t - middle_t) ** 2 for t in times_s)
    if sum_tt <= 0.0:
        raise ValueError("all readings at one time; expected two different times")
    slope = sum((t - middle_t) * (v - middle_v) for t, v in zip(times_s, values, strict=True)) / sum_tt
    reach = times_s[-1] - middle_t
    last_u = spread * math.sqrt(1.0 / count + reach**2 / sum_tt)
    return Trend(slope, spread / math.sqrt(sum_tt), middle_v + slope * reach, last_u, count)


def probability_below(value: float, u: float, limit: float) -> float:
    """Return how likely a quantity is below a limit.

    Parameters
    ----------
    value : float
        Best estimate [unit of the reading].
    u : float
        Standard uncertainty, 0 or above [unit of the reading].
    limit : float
        Limit [unit of the reading].

    Returns
    -------
    float
        Probability [-], of a normal distribution.

    References
    ----------
    JCGM 106:2012, 7.2 (conformance probability).

    Examples
    --------
    >>> round(probability_below(1.0, 0.5, 1.5), 3)
    0.841
    """
    if u <= 0.0:
        return float(value < limit)
    return float(ndtr((limit - value) / u))


def probability_steady(line: Trend, over_s: float, allowed: float) -> float:
    """Return how likely a series changes by less than an allowed amount over a time.

    Parameters
    ----------
    line : Trend
        Its trend.
    over_s : float
        Time [s].
    allowed : float
        Largest change that counts as steady, either way [unit of the reading].

    Returns
    -------
    float
        Probability [-].

    References
    ----------
    JCGM 106:2012, 7.4 (two-sided tolerance interval).

    Examples
    --------
    >>> round(probability_steady(Trend(0.0, 1e-3, 5.0, 0.1, 4), 1000.0, 1.96), 2)
    0.95
    """
    change, u = line.slope * over_s, line.slope_u * over_s
    return probability_below(change, u, allowed) - probability_below(change, u, -allowed)
