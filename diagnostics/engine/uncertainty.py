"""Measurement uncertainty: instrument defaults, draws, first-order propagation, summaries."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine.records import InstrumentAccuracy, Interval

Array = NDArray[np.float64]

COVERAGE = (0.025, 0.975)

_COMMON = "common practice"
DEFAULT_INSTRUMENTS: tuple[InstrumentAccuracy, ...] = (
    InstrumentAccuracy("entering_water", 0.2, 0.1, False, source=f"{_COMMON}, matched digital probes"),
    InstrumentAccuracy("leaving_water", 0.2, 0.1, False, source=f"{_COMMON}, matched digital probes"),
    InstrumentAccuracy("water_flow", 0.03, 0.02, True, source=f"{_COMMON}, clamp-on or turbine meter"),
    InstrumentAccuracy(
        "water_pressure_drop", 0.02, 0.01, True, source=f"{_COMMON}, digital differential gauge"
    ),
    InstrumentAccuracy(
        "balancing_valve_pressure_drop", 0.02, 0.01, True, source=f"{_COMMON}, digital differential gauge"
    ),
    InstrumentAccuracy("head_pressure", 0.006, 0.004, True, source=f"{_COMMON}, digital manifold"),
    InstrumentAccuracy("suction_pressure", 0.006, 0.004, True, source=f"{_COMMON}, digital manifold"),
    InstrumentAccuracy("static_pressure", 0.006, 0.004, True, source=f"{_COMMON}, digital manifold"),
    InstrumentAccuracy("liquid_line", 0.5, 0.3, False, source=f"{_COMMON}, pipe clamp thermistor"),
    InstrumentAccuracy("suction_line", 0.5, 0.3, False, source=f"{_COMMON}, pipe clamp thermistor"),
    InstrumentAccuracy("discharge_line", 0.5, 0.3, False, source=f"{_COMMON}, pipe clamp thermistor"),
    InstrumentAccuracy("compressor_power", 0.015, 0.01, True, source=f"{_COMMON}, clamp power meter"),
    InstrumentAccuracy("amps", 0.02, 0.01, True, source=f"{_COMMON}, clamp ammeter"),
    InstrumentAccuracy("volts", 0.01, 0.005, True, source=f"{_COMMON}, multimeter"),
    InstrumentAccuracy("power_factor", 0.02, 0.01, False, source=f"{_COMMON}, clamp power meter"),
    InstrumentAccuracy("entering_air", 0.5, 0.3, False, source=f"{_COMMON}, digital thermometer"),
    InstrumentAccuracy("entering_air_wet_bulb", 0.7, 0.4, False, source=f"{_COMMON}, digital psychrometer"),
    InstrumentAccuracy("leaving_air", 0.5, 0.3, False, source=f"{_COMMON}, digital thermometer"),
    InstrumentAccuracy("static_coldest", 0.5, 0.3, False, source=f"{_COMMON}, digital thermometer"),
)
"""Limits of error with which readings are taken where nobody states better; rectangular within the limits."""

READINGS_WITH_INSTRUMENTS: tuple[str, ...] = tuple(one.reading for one in DEFAULT_INSTRUMENTS)


def instrument_table(overrides: Iterable[InstrumentAccuracy] | None = None) -> dict[str, InstrumentAccuracy]:
    """Accuracy by reading: the defaults with what the user states put over them."""
    table = {one.reading: one for one in DEFAULT_INSTRUMENTS}
    for one in overrides or ():
        if one.reading not in table:
            raise ValueError(f"reading {one.reading!r} is not one of {', '.join(READINGS_WITH_INSTRUMENTS)}")
        table[one.reading] = one
    return table


def standard_uncertainty(limit: float, distribution: str = "rectangular") -> float:
    r"""Standard uncertainty behind a stated limit.

    Rectangular: :math:`a/\sqrt3`; normal: the limit is two standard deviations.

    Parameters
    ----------
    limit : float
        Stated limit of error, in the reading's unit or as a fraction. [-]
    distribution : str
        "rectangular" or "normal".

    Returns
    -------
    float
        Standard uncertainty in the limit's unit. [-]

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular) and 4.3.4 (normal).

    Examples
    --------
    >>> round(standard_uncertainty(0.2), 4)
    0.1155
    """
    if distribution == "rectangular":
        return limit / 3**0.5
    if distribution == "normal":
        return limit / 2
    raise ValueError(f"distribution {distribution!r} is not one of rectangular, normal")


def mean_and_uncertainty(observations: Sequence[Sequence[float]]) -> tuple[Array, Array]:
    r"""Means of repeated simultaneous observations and the covariance of those means.

    Parameters
    ----------
    observations : sequence of sequences
        One row a quantity, one column a set of simultaneous observations, in each quantity's unit. [-]

    Returns
    -------
    means : array
        Mean of each row. [-]
    covariance : array
        Covariance matrix of the means. [-]

    References
    ----------
    JCGM 100:2008, eq. (3), (5) and (17).

    Examples
    --------
    >>> means, covariance = mean_and_uncertainty([[1.0, 2.0, 3.0]])
    >>> float(means[0]), round(float(covariance[0, 0]), 4)
    (2.0, 0.3333)
    """
    rows = np.asarray(observations, float)
    return rows.mean(axis=1), np.atleast_2d(np.cov(rows)) / rows.shape[1]


def sensitivities(function: Callable[[Array], Array], values: Array, steps: Array) -> Array:
    """Partial derivatives of a vector function by central differences.

    Parameters
    ----------
    function : callable
        Takes an array of input values, returns an array of results.
    values : array
        Where to differentiate, each in its own unit. [-]
    steps : array
        Step of each value, usually a fraction of its standard uncertainty. [-]

    Returns
    -------
    array
        Results by values: change of each result for a unit change of each value. [-]

    References
    ----------
    JCGM 100:2008, 5.1.3 and the note on numerical sensitivity in 5.1.4.

    Examples
    --------
    >>> def product(x):
    ...     return np.array([x[0] * x[1]])
    >>> sensitivities(product, np.array([2.0, 3.0]), np.array([1e-4, 1e-4])).round(6)
    array([[3., 2.]])
    """
    columns = []
    for index, step in enumerate(steps):
        shift = np.zeros_like(values)
        shift[index] = step
        columns.append((function(values + shift) - function(values - shift)) / (2 * step))
    return np.stack(columns, axis=1)


def propagate(sensitivity: Array, covariance: Array) -> Array:
    r"""First-order covariance of results from the covariance of inputs.

    .. math:: V_y = C V_x C^T

    Parameters
    ----------
    sensitivity : array
        Results by inputs. [-]
    covariance : array
        Covariance of the inputs. [-]

    Returns
    -------
    array
        Covariance of the results. [-]

    References
    ----------
    JCGM 100:2008, eq. (13); JCGM 102:2011, 6.2.1.3 for several results.

    Examples
    --------
    >>> propagate(np.array([[1.0, -1.0]]), np.array([[4.0, 4.0], [4.0, 4.0]]))
    array([[0.]])
    """
    return sensitivity @ covariance @ sensitivity.T


def variance_shares(sensitivity: Array, standard_uncertainties: Array) -> Array:
    """Share of each independent input in the variance of a result.

    Parameters
    ----------
    sensitivity : array
        Change of the result for a unit change of each input. [-]
    standard_uncertainties : array
        Standard uncertainty of each input. [-]

    Returns
    -------
    array
        Shares that sum to 1, or zeros where nothing is uncertain. [-]

    References
    ----------
    JCGM 100:2008, eq. (10) and (11b), the components of combined variance.

    Examples
    --------
    >>> variance_shares(np.array([3.0, 4.0]), np.array([1.0, 1.0])).tolist()
    [0.36, 0.64]
    """
    parts = (sensitivity * standard_uncertainties) ** 2
    total = parts.sum()
    return parts / total if total > 0 else np.zeros_like(parts)


def draw(generator: np.random.Generator, limits: Array, rectangular: NDArray[np.bool_], draws: int) -> Array:
    """Independent errors with stated standard uncertainties, one row a quantity.

    Parameters
    ----------
    generator : numpy Generator
        Seeded source of random numbers.
    limits : array
        Standard uncertainty of each quantity. [-]
    rectangular : array of bool
        True where the error is rectangular, False where it is normal.
    draws : int
        Number of draws. [-]

    Returns
    -------
    array
        Quantities by draws, each row of mean zero. [-]

    References
    ----------
    JCGM 101:2008, 6.4.2 (rectangular) and 6.4.7 (Gaussian).

    Examples
    --------
    >>> errors = draw(np.random.default_rng(1), np.array([1.0]), np.array([True]), 10000)
    >>> bool(abs(errors).max() < 3**0.5)
    True
    """
    errors = np.empty((len(limits), draws))
    flat = np.flatnonzero(rectangular)
    bell = np.flatnonzero(~rectangular)
    if flat.size:
        block = generator.random((flat.size, draws))
        block -= 0.5
        block *= (2 * 3**0.5 * limits[flat])[:, None]
        errors[flat] = block
    if bell.size:
        block = generator.standard_normal((bell.size, draws))
        block *= limits[bell][:, None]
        errors[bell] = block
    return errors


def interval(draws: Array) -> Interval:
    """Median and probabilistically symmetric 95 % interval of draws.

    Parameters
    ----------
    draws : array
        Draws of a quantity, in its unit. [-]

    Returns
    -------
    Interval
        Median with 2.5 and 97.5 percentiles, in the unit of the draws. [-]

    References
    ----------
    JCGM 101:2008, 7.7 (coverage interval from the discrete representation).

    Examples
    --------
    >>> interval(np.arange(1001.0))
    Interval(value=500.0, low=25.0, high=975.0)
    """
    low, middle, high = np.quantile(draws, (COVERAGE[0], 0.5, COVERAGE[1]))
    return Interval(float(middle), float(low), float(high))
