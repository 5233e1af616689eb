"""Superheated vapour as polynomials in ln(1 + superheat/8 K), many machines at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Number = Any
"""A float, or an array of floats with one entry a machine (further axes run along slices)."""

ORDER = 5
SCALE_K = 8.0
ROUNDS = 4


def vapour_value(saturated: Number, terms: Array, superheat_k: Number) -> Number:
    """Enthalpy, entropy or log density of vapour at a superheat, from its polynomial.

    The polynomial runs in ln(1 + superheat / 8 K); below dew it goes on along its slope (metastable).

    Parameters
    ----------
    saturated : array
        The value at dew, in its own unit. [J/kg, J/(kg.K) or -]
    terms : array
        Coefficients, last axis. [as saturated]
    superheat_k : array
        Temperature above dew. [K]

    Returns
    -------
    array
        The value, in its own unit. [J/kg, J/(kg.K) or -]

    References
    ----------
    A least-squares fit of this engine's own; its error is stated in the tests.

    Examples
    --------
    >>> float(vapour_value(10.0, np.array([2.0, 0.0, 0.0, 0.0, 0.0]), 0.0))
    10.0
    """
    u = np.log1p(np.maximum(superheat_k, 0.0) / SCALE_K)
    total = terms[..., -1]
    for power in range(ORDER - 2, -1, -1):
        total = total * u + terms[..., power]
    return saturated + total * u + terms[..., 0] * np.minimum(superheat_k, 0.0) / SCALE_K


def vapour_slope(terms: Array, superheat_k: Number) -> Number:
    """Change of a vapour property with superheat.

    Parameters
    ----------
    terms : array
        Coefficients, last axis. [J/kg or J/(kg.K)]
    superheat_k : array
        Temperature above dew. [K]

    Returns
    -------
    array
        Slope: the specific heat when `terms` are those of enthalpy. [J/(kg.K) or J/(kg.K2)]

    References
    ----------
    Derivative of `vapour_value`.

    Examples
    --------
    >>> float(vapour_slope(np.array([8.0, 0.0, 0.0, 0.0, 0.0]), 0.0))
    1.0
    """
    above = np.maximum(superheat_k, 0.0)
    u = np.log1p(above / SCALE_K)
    total = ORDER * terms[..., -1]
    for power in range(ORDER - 2, -1, -1):
        total = total * u + (power + 1) * terms[..., power]
    return total / (SCALE_K + above)


def superheat_from(value: Number, saturated: Number, terms: Array, dew_k: Number) -> Number:
    """Superheat at which vapour has a given enthalpy or entropy.

    Newton from the start that a constant specific heat would give.

    Parameters
    ----------
    value, saturated : array
        The wanted value and the value at dew. [J/kg or J/(kg.K)]
    terms : array
        Coefficients. [as value]
    dew_k : array
        Dew temperature. [K]

    Returns
    -------
    array
        Superheat. [K]

    References
    ----------
    Newton's method on `vapour_value`.

    Examples
    --------
    >>> terms = np.array([8000.0, 4000.0, 0.0, 0.0, 0.0])
    >>> round(float(superheat_from(vapour_value(0.0, terms, 30.0), 0.0, terms, 300.0)), 6)
    30.0
    """
    superheat = (value - saturated) * SCALE_K / terms[..., 0] * 1.3
    for _ in range(ROUNDS):
        superheat = np.maximum(np.minimum(superheat, 160.0), -60.0)
        error, slope = _error_and_slope(terms, superheat, value - saturated)
        superheat = superheat - error / slope
    return superheat


def _error_and_slope(terms: Array, superheat_k: Number, wanted: Number) -> tuple[Number, Number]:
    """Value above dew less the wanted one, and its slope with superheat, from one pass through the
    polynomial.
    """
    above = np.maximum(superheat_k, 0.0)
    u = np.log1p(above / SCALE_K)
    total, slope = terms[..., -1], ORDER * terms[..., -1]
    for power in range(ORDER - 2, -1, -1):
        total = total * u + terms[..., power]
        slope = slope * u + (power + 1) * terms[..., power]
    below = terms[..., 0] * np.minimum(superheat_k, 0.0) / SCALE_K
    return total * u + below - wanted, slope / (SCALE_K + above)
