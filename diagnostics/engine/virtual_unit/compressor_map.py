"""A compressor maker's ten-coefficient map."""

from __future__ import annotations

import numpy as np

from diagnostics.engine.virtual_unit.vapour import Array, Number

DENSITY_WEIGHT = 0.75


def ten_coefficient_value(coefficients: Array, suction_dew: Number, discharge_dew: Number) -> Number:
    """Value of a compressor maker's ten-coefficient polynomial.

    X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3 with S, D the
    suction and discharge dew temperatures in the unit the map is published in.

    Parameters
    ----------
    coefficients : array
        C1 to C10, last axis. [unit of X]
    suction_dew, discharge_dew : array
        Dew temperatures. [degC or degF]

    Returns
    -------
    array
        Mass flow, power or capacity, as published. [unit of X]

    References
    ----------
    AHRI Standard 540 (form from memory).

    Examples
    --------
    >>> c = np.array([1.0, 2, 3, 0.1, 0.2, 0.3, 0.01, 0.02, 0.03, 0.04])
    >>> round(float(ten_coefficient_value(c, 45.0, 130.0)), 2)
    123794.75
    """
    return np.sum(coefficients * _terms(suction_dew, discharge_dew), axis=-1)


def fit_ten_coefficients(suction_dew: Array, discharge_dew: Array, values: Array) -> Array:
    """Ten coefficients that fit a compressor's mass flow or power over its envelope.

    Parameters
    ----------
    suction_dew, discharge_dew : array
        Dew temperatures of at least ten points. [degC or degF]
    values : array
        Mass flow or power at the points. [any]

    Returns
    -------
    array
        C1 to C10. [unit of values]

    References
    ----------
    AHRI Standard 540 (form from memory); ordinary least squares.

    Examples
    --------
    >>> s, d = np.meshgrid(np.arange(-10.0, 15.0, 5.0), np.arange(30.0, 60.0, 5.0))
    >>> bool(abs(fit_ten_coefficients(s.ravel(), d.ravel(), 3.0 * s.ravel())[1] - 3.0) < 1e-8)
    True
    """
    return np.asarray(np.linalg.lstsq(_terms(suction_dew, discharge_dew), values, rcond=None)[0])


def mass_flow_at_superheat(map_flow: Number, density: Number, map_density: Number) -> Number:
    """Mass flow of a map corrected from its rated superheat to another.

    m = m_map (1 + F (rho/rho_map - 1)) with F = 0.75.

    Parameters
    ----------
    map_flow : array
        Mass flow of the map. [kg/s]
    density, map_density : array
        Suction density as it is, and at the map's superheat. [kg/m3]

    Returns
    -------
    array
        Mass flow. [kg/s]

    References
    ----------
    Dabiri & Rice (1981), ASHRAE Transactions 87 (from memory).

    Examples
    --------
    >>> mass_flow_at_superheat(0.05, 20.0, 20.0)
    0.05
    """
    return map_flow * (1.0 + DENSITY_WEIGHT * (density / map_density - 1.0))


def _terms(s: Number, d: Number) -> Array:
    one = np.ones_like(np.asarray(s, dtype=float) * d)
    return np.stack(
        [one, s * one, d * one, s**2 * one, s * d, d**2 * one, s**3 * one, d * s**2, s * d**2, d**3 * one],
        axis=-1,
    )
