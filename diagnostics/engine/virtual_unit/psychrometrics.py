"""Moist air at sea-level pressure: what an air coil's wet and dry duty needs."""

from __future__ import annotations

import numpy as np

from diagnostics.engine.virtual_unit.vapour import Number

PRESSURE_PA = 101_325.0
CP_DRY, CP_VAPOUR, LATENT = 1006.0, 1860.0, 2_501_000.0


def saturation_pressure_pa(temperature_k: Number) -> Number:
    """Saturation pressure of water vapour.

    Parameters
    ----------
    temperature_k : array
        Temperature. [K]

    Returns
    -------
    array
        Pressure, over water also below freezing. [Pa]

    References
    ----------
    Buck (1981), J. Appl. Meteorol. 20, 1527, curve ew1 of -20 to 50 degC.

    Examples
    --------
    >>> round(float(saturation_pressure_pa(293.15)))
    2337
    """
    celsius = temperature_k - 273.15
    return 611.21 * np.exp(17.502 * celsius / (240.97 + celsius))


def saturated_humidity_ratio(temperature_k: Number) -> Number:
    """Humidity ratio of saturated air.

    Parameters
    ----------
    temperature_k : array
        Temperature. [K]

    Returns
    -------
    array
        Water over dry air. [kg/kg]

    References
    ----------
    ASHRAE Fundamentals, Psychrometrics: W = 0.621945 p/(P - p).

    Examples
    --------
    >>> round(float(saturated_humidity_ratio(293.15)), 4)
    0.0147
    """
    pressure = saturation_pressure_pa(temperature_k)
    return 0.621945 * pressure / (PRESSURE_PA - pressure)


def humidity_ratio(dry_bulb_k: Number, wet_bulb_k: Number) -> Number:
    """Humidity ratio from dry bulb and wet bulb.

    Parameters
    ----------
    dry_bulb_k, wet_bulb_k : array
        Temperatures. [K]

    Returns
    -------
    array
        Water over dry air, not below zero. [kg/kg]

    References
    ----------
    ASHRAE Fundamentals, Psychrometrics, wet-bulb equation above freezing.

    Examples
    --------
    >>> round(float(humidity_ratio(299.82, 292.59)), 4)
    0.0111
    """
    dry, wet = dry_bulb_k - 273.15, wet_bulb_k - 273.15
    saturated = saturated_humidity_ratio(wet_bulb_k)
    ratio = ((2501.0 - 2.326 * wet) * saturated - 1.006 * (dry - wet)) / (2501.0 + 1.86 * dry - 4.186 * wet)
    return np.maximum(ratio, 1e-5)


def enthalpy_j_per_kg(dry_bulb_k: Number, ratio: Number) -> Number:
    """Enthalpy of moist air.

    Parameters
    ----------
    dry_bulb_k : array
        Temperature. [K]
    ratio : array
        Humidity ratio. [kg/kg]

    Returns
    -------
    array
        Enthalpy over dry air, zero for dry air at 0 degC. [J/kg]

    References
    ----------
    ASHRAE Fundamentals, Psychrometrics: h = 1.006 t + W (2501 + 1.86 t).

    Examples
    --------
    >>> round(float(enthalpy_j_per_kg(293.15, 0.0147) / 1e3), 1)
    57.4
    """
    celsius = dry_bulb_k - 273.15
    return CP_DRY * celsius + ratio * (LATENT + CP_VAPOUR * celsius)


def saturated_enthalpy_j_per_kg(temperature_k: Number) -> Number:
    """Enthalpy of saturated air.

    Parameters
    ----------
    temperature_k : array
        Temperature. [K]

    Returns
    -------
    array
        Enthalpy over dry air. [J/kg]

    References
    ----------
    ASHRAE Fundamentals, Psychrometrics.

    Examples
    --------
    >>> round(float(saturated_enthalpy_j_per_kg(283.15) / 1e3), 1)
    29.3
    """
    return enthalpy_j_per_kg(temperature_k, saturated_humidity_ratio(temperature_k))
