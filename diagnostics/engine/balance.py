"""The refrigerant side's own account of heat, and tests of whether two accounts agree."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = float | NDArray[np.float64]

LEAST_SUPERHEAT_K = 3.0
SHELL_LOSS_LIMITS = (0.02, 0.12)
"""Share of the compressor's power lost through its shell (common practice for hermetic compressors)."""


def refrigerant_flow(
    power_w: Floats, shell_loss: Floats, discharge_j_per_kg: Floats, suction_j_per_kg: Floats
) -> Floats:
    r"""Refrigerant mass flow from compressor power and the states before and after it.

    .. math:: \dot m_r = P (1 - f) / (h_{dis} - h_{suc})

    Parameters
    ----------
    power_w : float or array
        Electrical power of the compressor alone. [W]
    shell_loss : float or array
        Share of the power lost through the shell. [-]
    discharge_j_per_kg, suction_j_per_kg : float or array
        Enthalpy at discharge and suction. [J/kg]

    Returns
    -------
    float or array
        Refrigerant mass flow. [kg/s]

    References
    ----------
    ISO 917:1989, testing of refrigerant compressors, method of the energy balance (from memory).

    Examples
    --------
    >>> refrigerant_flow(3000.0, 0.05, 460e3, 422e3)
    0.075
    """
    return power_w * (1 - shell_loss) / (discharge_j_per_kg - suction_j_per_kg)


def refrigerant_heat(
    mass_flow_kg_per_s: Floats, entering_j_per_kg: Floats, leaving_j_per_kg: Floats
) -> Floats:
    """Heat the refrigerant gives up between two states, positive where its enthalpy falls.

    Parameters
    ----------
    mass_flow_kg_per_s : float or array
        Refrigerant mass flow. [kg/s]
    entering_j_per_kg, leaving_j_per_kg : float or array
        Enthalpy before and after the exchanger. [J/kg]

    Returns
    -------
    float or array
        Heat. [W]

    References
    ----------
    ISO 13256-1:1998, annex on the refrigerant enthalpy method (from memory).

    Examples
    --------
    >>> refrigerant_heat(0.075, 460e3, 260e3)
    15000.0
    """
    return mass_flow_kg_per_s * (entering_j_per_kg - leaving_j_per_kg)


def heat_past_leak(
    mass_flow_kg_per_s: float,
    hot_j_per_kg: float,
    at_valve_j_per_kg: float,
    after_j_per_kg: float,
    share: float,
) -> float:
    r"""Heat that the water's exchanger passes where a reversing valve lets hot gas through to the suction.

    .. math:: Q = m \,[(h_{hot} - h_{valve}) - x (h_{after} - h_{valve})]

    In cooling only 1 - x of the compressor's flow condenses, and the hot state is that behind the compressor.
    In heating it is the state before the compressor, a mixture of 1 - x from the evaporator and x of hot gas.

    Parameters
    ----------
    mass_flow_kg_per_s : float
        Flow through the compressor. [kg/s]
    hot_j_per_kg, at_valve_j_per_kg, after_j_per_kg : float
        Enthalpy of the exchanger's hot end as read at the compressor, before the expansion valve and behind
        the compressor. [J/kg]
    share : float
        Share x of the compressor's flow that leaks. [-]

    Returns
    -------
    float
        Heat. [W]

    References
    ----------
    Cengel and Boles, Thermodynamics: mass and energy balance of an adiabatic mixing chamber.

    Examples
    --------
    >>> heat_past_leak(0.1, 460e3, 260e3, 460e3, 0.25)
    15000.0
    """
    passed = (hot_j_per_kg - at_valve_j_per_kg) - share * (after_j_per_kg - at_valve_j_per_kg)
    return mass_flow_kg_per_s * passed


def electrical_power(volts: Floats, amps: Floats, phases: int = 1, power_factor: Floats = 1.0) -> Floats:
    r"""Electrical power from volts, amps and power factor.

    .. math:: P = V I \cos\varphi \;(\times \sqrt{3} \text{ on three phases, V between lines})

    Parameters
    ----------
    volts : float or array
        Voltage, between lines on three phases. [V]
    amps : float or array
        Current in one line. [A]
    phases : int
        1 or 3. [-]
    power_factor : float or array
        Power factor. [-]

    Returns
    -------
    float or array
        Power. [W]

    References
    ----------
    IEC 60050-131, entries on active power (from memory).

    Examples
    --------
    >>> round(electrical_power(400.0, 10.0, 3, 0.85))
    5889
    """
    if phases not in (1, 3):
        raise ValueError(f"phases {phases} must be 1 or 3")
    return volts * amps * power_factor * (3**0.5 if phases == 3 else 1.0)


def less_fan(power_w: float, fan_low_w: float, fan_high_w: float) -> tuple[float, float]:
    r"""Power of the compressor alone where the fan's lies evenly, as ln of the rest, between two limits.

    .. math:: P_c = \sqrt{(P - F_h)(P - F_l)}, \quad u(\ln P_c) = \ln\frac{P - F_l}{P - F_h} / \sqrt{12}

    Parameters
    ----------
    power_w : float
        Power of compressor and fan together. [W]
    fan_low_w, fan_high_w : float
        Limits of the fan's power, below the power read. [W]

    Returns
    -------
    power : float
        Power of the compressor. [W]
    spread : float
        Standard uncertainty of its ln. [-]

    References
    ----------
    JCGM 100:2008, 4.3.7 (a rectangular distribution's standard uncertainty).

    Examples
    --------
    >>> power, spread = less_fan(2000.0, 200.0, 300.0)
    >>> round(power, 1), round(spread, 4)
    (1749.3, 0.0165)
    """
    low, high = power_w - fan_high_w, power_w - fan_low_w
    return math.sqrt(low * high), math.log(high / low) / 12**0.5


def disagreement(
    one: float, other: float, spread_one: float, spread_other: float, correlation: float = 0.0
) -> float:
    r"""Difference of two results in units of its own standard uncertainty (a z value).

    .. math:: z = (x_1 - x_2) / \sqrt{u_1^2 + u_2^2 - 2 r u_1 u_2}

    Parameters
    ----------
    one, other : float
        Two results for one quantity. [-]
    spread_one, spread_other : float
        Their standard uncertainties. [-]
    correlation : float
        Correlation of their errors. [-]

    Returns
    -------
    float
        Standardised difference; beyond +-2 the two disagree (95 %). [-]

    References
    ----------
    ISO 13528:2015, 9.6 and 9.7 (zeta scores); with JCGM 100:2008, eq. (16) where errors are correlated.

    Examples
    --------
    >>> disagreement(1.10, 1.00, 0.03, 0.04)
    2.0000000000000018
    """
    variance = spread_one**2 + spread_other**2 - 2 * correlation * spread_one * spread_other
    if variance <= 0:
        return 0.0 if one == other else math.copysign(math.inf, one - other)
    return (one - other) / math.sqrt(variance)


def weighted_mean(
    values: NDArray[np.float64], spreads: NDArray[np.float64]
) -> tuple[float, float, NDArray[np.float64]]:
    r"""Inverse-variance mean of independent results.

    Parameters
    ----------
    values : array
        Results for one quantity. [-]
    spreads : array
        Their standard uncertainties. [-]

    Returns
    -------
    mean : float
        Weighted mean. [-]
    spread : float
        Its standard uncertainty. [-]
    weights : array
        Weights that sum to 1. [-]

    References
    ----------
    Cox, M. G. (2002), The evaluation of key comparison data, Metrologia 39, procedure A.

    Examples
    --------
    >>> mean, spread, weights = weighted_mean(np.array([1.0, 2.0]), np.array([1.0, 1.0]))
    >>> float(mean), round(float(spread), 4), weights.tolist()
    (1.5, 0.7071, [0.5, 0.5])
    """
    precision = 1 / spreads**2
    weights = precision / precision.sum()
    return float(weights @ values), float(precision.sum() ** -0.5), weights


def leave_one_out(
    residuals: NDArray[np.float64], covariance: NDArray[np.float64], sensitivity: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
    r"""What is left of all contradictions together when one reading in turn is left out.

    .. math:: \chi^2 = r^T S^{-1} r, \quad \chi^2_i = \chi^2 - (a_i^T S^{-1} r)^2 / (a_i^T S^{-1} a_i)

    Parameters
    ----------
    residuals : array
        Differences that would be zero without any error, each in its own unit. [-]
    covariance : array
        Their covariance matrix S. [-]
    sensitivity : array
        Residuals by readings: change of each residual for a unit error of each reading, the a_i. [-]

    Returns
    -------
    whole : float
        Sum of squares with every reading in. [-]
    left : array
        Sum of squares without each reading; one degree of freedom fewer. [-]
    errors : array
        The error of each reading that would explain most, in its unit; zero where it can explain nothing. [-]

    References
    ----------
    Narasimhan and Mah (1987), AIChE Journal 33, 1514 (generalised likelihood ratio); Baarda (1968), data
    snooping.

    Examples
    --------
    >>> whole, left, errors = leave_one_out(np.array([3.0, 0.0]), np.eye(2), np.eye(2))
    >>> whole, left.tolist(), errors.tolist()
    (9.0, [0.0, 9.0], [3.0, 0.0])
    """
    solved = np.linalg.solve(covariance, np.column_stack([residuals, sensitivity]))
    whole = float(residuals @ solved[:, 0])
    along = sensitivity.T @ solved[:, 0]
    size = np.einsum("ki,ki->i", sensitivity, solved[:, 1:])
    tells = size > 1e-12
    errors = np.divide(along, size, out=np.zeros_like(along), where=tells)
    return whole, whole - errors * along, errors
