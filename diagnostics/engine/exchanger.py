"""Heat exchanger relations: mean temperature difference, effectiveness and NTU, conductance. Pure
functions."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = float | NDArray[np.float64]
Arrangement = Literal[
    "counterflow",
    "parallel",
    "shell_and_tube",
    "crossflow_unmixed",
    "crossflow_stream_with_smaller_rate_mixed",
    "crossflow_stream_with_larger_rate_mixed",
]
ARRANGEMENTS: tuple[Arrangement, ...] = (
    "counterflow",
    "parallel",
    "shell_and_tube",
    "crossflow_unmixed",
    "crossflow_stream_with_smaller_rate_mixed",
    "crossflow_stream_with_larger_rate_mixed",
)
_NEARLY_EQUAL = 1e-7


def _plain(value: Any) -> Any:
    """Turn a zero-dimensional array back into a float."""
    return float(value) if np.ndim(value) == 0 else value


def log_mean_temperature_difference(one_end_k: Floats, other_end_k: Floats) -> Any:
    r"""Logarithmic mean of the temperature differences at an exchanger's two ends.

    .. math:: \Delta T_{lm} = (\Delta_1 - \Delta_2) / \ln(\Delta_1 / \Delta_2)

    The limit of equal ends is their common value. A difference of zero or below is a temperature cross:
    a single value raises, in an array that place becomes NaN.

    Parameters
    ----------
    one_end_k : float or array
        Temperature difference at one end. [K]
    other_end_k : float or array
        Temperature difference at the other end. [K]

    Returns
    -------
    float or array
        Logarithmic mean temperature difference. [K]

    References
    ----------
    Incropera, F. P., DeWitt, D. P. (2002), Fundamentals of Heat and Mass Transfer, 5th ed., eq. 11.15.

    Examples
    --------
    >>> round(log_mean_temperature_difference(59.8, 30.0), 1)
    43.2
    """
    one, other = np.asarray(one_end_k, float), np.asarray(other_end_k, float)
    crossed = (one <= 0) | (other <= 0)
    if np.ndim(crossed) == 0 and crossed:
        raise ValueError(
            f"temperature differences {one_end_k} K and {other_end_k} K: both ends must be above zero"
        )
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (one - other) / np.log(one / other)
    mean = np.where(np.abs(one - other) <= _NEARLY_EQUAL * np.abs(other), 0.5 * (one + other), mean)
    return _plain(np.where(crossed, np.nan, mean))


def effectiveness(ntu: Floats, capacity_ratio: Floats, arrangement: Arrangement = "counterflow") -> Any:
    r"""Effectiveness of an exchanger from its number of transfer units.

    Parameters
    ----------
    ntu : float or array
        Number of transfer units, conductance over the smaller capacity rate. [-]
    capacity_ratio : float or array
        Smaller over larger capacity rate, 0 where one side condenses or evaporates. [-]
    arrangement : str
        One of ARRANGEMENTS; shell and tube is one shell pass with two or more tube passes.

    Returns
    -------
    float or array
        Effectiveness. [-]

    References
    ----------
    Incropera, F. P., DeWitt, D. P. (2002), Fundamentals of Heat and Mass Transfer, 5th ed., table 11.3.

    Examples
    --------
    >>> round(effectiveness(1.0, 0.0), 5)
    0.63212
    """
    n, c = np.asarray(ntu, float), np.asarray(capacity_ratio, float)
    if np.any(n < 0) or np.any((c < 0) | (c > 1)):
        raise ValueError(
            f"ntu {ntu} must not be negative and capacity ratio {capacity_ratio} be within 0 to 1"
        )
    if arrangement not in ARRANGEMENTS:
        raise ValueError(f"arrangement {arrangement!r} is not one of {', '.join(ARRANGEMENTS)}")
    isothermal = -np.expm1(-n)
    safe = np.where(c > 0, c, 1.0)
    value = np.where(c > 0, _EFFECTIVENESS[arrangement](n, safe), isothermal)
    return _plain(value)


def _counterflow(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    decay = np.exp(-n * (1 - c))
    with np.errstate(invalid="ignore", divide="ignore"):
        general = (1 - decay) / (1 - c * decay)
    return np.where(c >= 1, n / (1 + n), general)


def _parallel(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    return -np.expm1(-n * (1 + c)) / (1 + c)


def _shell_and_tube(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    root = np.sqrt(1 + c * c)
    decay = np.exp(-n * root)
    with np.errstate(divide="ignore", invalid="ignore"):
        value = 2 / (1 + c + root * (1 + decay) / (1 - decay))
    return np.where(n > 0, value, 0.0)


def _crossflow_unmixed(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore", invalid="ignore"):
        value = -np.expm1(n**0.22 / c * np.expm1(-c * n**0.78))
    return np.where(n > 0, value, 0.0)


def _smaller_mixed(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    return -np.expm1(np.expm1(-c * n) / c)


def _larger_mixed(n: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64]:
    return -np.expm1(c * np.expm1(-n)) / c


_EFFECTIVENESS: dict[str, Any] = {
    "counterflow": _counterflow,
    "parallel": _parallel,
    "shell_and_tube": _shell_and_tube,
    "crossflow_unmixed": _crossflow_unmixed,
    "crossflow_stream_with_smaller_rate_mixed": _smaller_mixed,
    "crossflow_stream_with_larger_rate_mixed": _larger_mixed,
}


def transfer_units(
    effectiveness_: Floats,
    capacity_ratio: Floats,
    arrangement: Literal["counterflow", "parallel"] = "counterflow",
) -> Any:
    r"""Number of transfer units that gives an effectiveness.

    Parameters
    ----------
    effectiveness_ : float or array
        Effectiveness, from 0 to below the arrangement's greatest. [-]
    capacity_ratio : float or array
        Smaller over larger capacity rate, 0 where one side condenses or evaporates. [-]
    arrangement : str
        "counterflow" or "parallel".

    Returns
    -------
    float or array
        Number of transfer units; NaN in an array where no exchanger could do it. [-]

    References
    ----------
    Incropera, F. P., DeWitt, D. P. (2002), Fundamentals of Heat and Mass Transfer, 5th ed., table 11.4.

    Examples
    --------
    >>> round(transfer_units(0.5714, 0.2550), 3)
    0.926
    """
    e, c = np.asarray(effectiveness_, float), np.asarray(capacity_ratio, float)
    greatest = 1 / (1 + c) if arrangement == "parallel" else np.ones_like(c)
    beyond = (e >= greatest) | (e < 0)
    if np.ndim(beyond) == 0 and beyond:
        raise ValueError(f"effectiveness {effectiveness_} must be from 0 to below {float(greatest):.4f}")
    with np.errstate(divide="ignore", invalid="ignore"):
        if arrangement == "parallel":
            n = -np.log1p(-e * (1 + c)) / (1 + c)
        else:
            n = np.where(c >= 1, e / (1 - e), np.log((1 - e * c) / (1 - e)) / np.where(c >= 1, 1.0, 1 - c))
    return _plain(np.where(beyond, np.nan, n))


def heat_from_water(
    mass_flow_kg_per_s: Floats, specific_heat_j_per_kg_k: Floats, temperature_change_k: Floats
) -> Floats:
    """Heat that the water carries.

    Parameters
    ----------
    mass_flow_kg_per_s : float or array
        Mass flow of water or antifreeze. [kg/s]
    specific_heat_j_per_kg_k : float or array
        Specific heat at the mean of entering and leaving temperature. [J/(kg K)]
    temperature_change_k : float or array
        Leaving less entering water temperature. [K]

    Returns
    -------
    float or array
        Heat given to the water, negative where the water is cooled. [W]

    References
    ----------
    ISO 13256-1:1998, annex on the liquid enthalpy method (energy balance on the liquid side, from memory).

    Examples
    --------
    >>> heat_from_water(0.5, 4180.0, 5.0)
    10450.0
    """
    return mass_flow_kg_per_s * specific_heat_j_per_kg_k * temperature_change_k


def isothermal_effectiveness(entering_k: Floats, leaving_k: Floats, saturation_k: Floats) -> Floats:
    """Effectiveness of the water side against a refrigerant at one temperature, in either mode.

    Parameters
    ----------
    entering_k : float or array
        Entering water temperature. [K]
    leaving_k : float or array
        Leaving water temperature. [K]
    saturation_k : float or array
        Heat transfer temperature of the condensing or evaporating refrigerant. [K]

    Returns
    -------
    float or array
        Water temperature change over the greatest possible; 1 or more where the water passed saturation. [-]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2 (capacity ratio zero).

    Examples
    --------
    >>> round(isothermal_effectiveness(300.0, 305.0, 310.0), 3)
    0.5
    """
    return (leaving_k - entering_k) / (saturation_k - entering_k)


def lumped_conductance(mass_flow_kg_per_s: Floats, specific_heat_j_per_kg_k: Floats, eps: Floats) -> Any:
    r"""Conductance of a whole exchanger against a refrigerant at one temperature.

    .. math:: UA = -\dot m c_p \ln(1 - \varepsilon)

    Parameters
    ----------
    mass_flow_kg_per_s : float or array
        Mass flow of water. [kg/s]
    specific_heat_j_per_kg_k : float or array
        Specific heat of the water. [J/(kg K)]
    eps : float or array
        Effectiveness from 0 to below 1. [-]

    Returns
    -------
    float or array
        Conductance; NaN in an array where the effectiveness is 1 or more. [W/K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2 (capacity ratio zero).

    Examples
    --------
    >>> round(lumped_conductance(1.0, 4180.0, 0.6321205588), 0)
    4180.0
    """
    e = np.asarray(eps, float)
    beyond = (e >= 1) | (e < 0)
    if np.ndim(beyond) == 0 and beyond:
        raise ValueError(f"effectiveness {eps} must be from 0 to below 1: the water passed saturation")
    with np.errstate(divide="ignore", invalid="ignore"):
        ntu = np.where(beyond, np.nan, -np.log1p(-e))
    return _plain(mass_flow_kg_per_s * specific_heat_j_per_kg_k * ntu)


def saturation_needed(
    entering_k: Floats, heat_w: Floats, capacity_rate_w_per_k: Floats, conductance_w_per_k: Floats
) -> Any:
    r"""Heat transfer temperature a refrigerant must take to pass a heat to (or, negative, from) the water.

    .. math:: T_{sat} = T_{in} + q / (C \varepsilon), \quad \varepsilon = 1 - e^{-UA/C}

    Parameters
    ----------
    entering_k : float or array
        Entering water temperature. [K]
    heat_w : float or array
        Heat given to the water, negative where the water is cooled. [W]
    capacity_rate_w_per_k : float or array
        Mass flow times specific heat of the water. [W/K]
    conductance_w_per_k : float or array
        Conductance of the exchanger. [W/K]

    Returns
    -------
    float or array
        Saturation temperature. [K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2 (capacity ratio zero).

    Examples
    --------
    >>> round(saturation_needed(302.55, 44000.0, 8778.0, 6000.0) - 273.15, 2)
    39.52
    """
    shortfall = np.expm1(-conductance_w_per_k / capacity_rate_w_per_k)
    return _plain(entering_k - heat_w / (capacity_rate_w_per_k * shortfall))


def approach_from_conductance(
    temperature_change_k: Floats, capacity_rate_w_per_k: Floats, conductance_w_per_k: Floats
) -> Any:
    r"""Difference between saturation and leaving water that a conductance asks for.

    .. math:: \Delta T \, e^{-UA/C} / (1 - e^{-UA/C})

    Parameters
    ----------
    temperature_change_k : float or array
        Size of the water temperature change. [K]
    capacity_rate_w_per_k : float or array
        Mass flow times specific heat of the water. [W/K]
    conductance_w_per_k : float or array
        Conductance of the exchanger. [W/K]

    Returns
    -------
    float or array
        Approach, positive in both modes. [K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2 (capacity ratio zero).

    Examples
    --------
    >>> round(approach_from_conductance(5.0125, 8778.0, 6000.0), 2)
    5.11
    """
    growth = np.expm1(conductance_w_per_k / capacity_rate_w_per_k)
    return _plain(temperature_change_k / growth)
