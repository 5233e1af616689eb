"""Equilibria of carbonate water and of weak acids: constants, activity, protons given up at a pH.

The constants are negative decadic logarithms (pK) on the molal scale; at the strengths met here molal and
molar differ by less than the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import FloatArray, like, within

Values = npt.ArrayLike

ATMOSPHERE_PA = 101_325.0
_LOW_K, _HIGH_K = 273.15, 363.15


def _temperature(temperature_k: Values) -> FloatArray:
    return within("water temperature", "K", temperature_k, _LOW_K, _HIGH_K)


def pk_carbonic(temperature_k: Values) -> Any:
    """Return pK1 of carbonic acid, CO2 + H2O = H+ + HCO3-.

    pK1 = 356.3094 + 0.06091964 T - 21834.37/T - 126.8339 log T + 1684915/T^2.

    Parameters
    ----------
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        pK1 [-].

    References
    ----------
    Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46, 1011.

    Examples
    --------
    >>> round(pk_carbonic(298.15), 3)
    6.352
    """
    t = _temperature(temperature_k)
    pk = 356.3094 + 0.06091964 * t - 21834.37 / t - 126.8339 * np.log10(t) + 1684915.0 / t**2
    return like(pk, temperature_k)


def pk_bicarbonate(temperature_k: Values) -> Any:
    """Return pK2 of carbonic acid, HCO3- = H+ + CO3--.

    pK2 = 107.8871 + 0.03252849 T - 5151.79/T - 38.92561 log T + 563713.9/T^2.

    Parameters
    ----------
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        pK2 [-].

    References
    ----------
    Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46, 1011; Standard Methods 2330.

    Examples
    --------
    >>> round(pk_bicarbonate(298.15), 3)
    10.329
    """
    t = _temperature(temperature_k)
    pk = 107.8871 + 0.03252849 * t - 5151.79 / t - 38.92561 * np.log10(t) + 563713.9 / t**2
    return like(pk, temperature_k)


def pk_calcite(temperature_k: Values) -> Any:
    """Return pKs of calcite, CaCO3 = Ca++ + CO3--.

    pKs = 171.9065 + 0.077993 T - 2839.319/T - 71.595 log T.

    Parameters
    ----------
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        pKs [-].

    References
    ----------
    Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46, 1011; Standard Methods 2330.

    Examples
    --------
    >>> round(pk_calcite(298.15), 3)
    8.48
    """
    t = _temperature(temperature_k)
    return like(171.9065 + 0.077993 * t - 2839.319 / t - 71.595 * np.log10(t), temperature_k)


def pk_water(temperature_k: Values) -> Any:
    """Return pKw of water, 4471/T + 0.01706 T - 6.0875.

    Parameters
    ----------
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        pKw [-].

    References
    ----------
    Harned & Hamer (1933), J. Am. Chem. Soc. 55, 2194, as in Standard Methods 2330.

    Examples
    --------
    >>> round(pk_water(298.15), 2)
    13.99
    """
    t = _temperature(temperature_k)
    return like(4471.0 / t + 0.01706 * t - 6.0875, temperature_k)


def carbon_dioxide_solubility_mol_per_l(pressure_pa: Values, temperature_k: Values) -> Any:
    """Return how much carbon dioxide stands dissolved under its own pressure (Henry's law).

    log KH = 108.3865 + 0.01985076 T - 6919.53/T - 40.45154 log T + 669365/T^2, mol/(kg atm).

    Parameters
    ----------
    pressure_pa : float or array
        Partial pressure of carbon dioxide [Pa].
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        Dissolved carbon dioxide [mol/L], a litre taken as a kilogram of water.

    References
    ----------
    Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46, 1011.

    Examples
    --------
    >>> round(carbon_dioxide_solubility_mol_per_l(101325.0, 298.15), 4)
    0.034
    """
    t = _temperature(temperature_k)
    log = 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * np.log10(t) + 669365.0 / t**2
    pressure = within("pressure of carbon dioxide", "Pa", pressure_pa, 0.0, 1e6)
    return like(10.0**log * pressure / ATMOSPHERE_PA, pressure_pa, temperature_k)


def activity_exponent(ionic_strength_mol_per_l: Values, temperature_k: Values) -> Any:
    """Return pfm, minus the logarithm of the activity coefficient of an ion of one charge (Davies).

    pfm = A [sqrt I/(1 + sqrt I) - 0.3 I], A = 1.82e6 (eps T)^-1.5, eps = 60954/(T + 116) - 68.937.

    Parameters
    ----------
    ionic_strength_mol_per_l : float or array
        Ionic strength [mol/L], 0 to 0.5, the equation's range.
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        pfm [-]; an ion of charge z has z^2 times as much.

    References
    ----------
    Davies (1962), Ion Association; Standard Methods 2330 for A and the permittivity.

    Examples
    --------
    >>> round(activity_exponent(0.1, 298.15), 3)
    0.107
    """
    t = _temperature(temperature_k)
    strength = within("ionic strength", "mol/L", ionic_strength_mol_per_l, 0.0, 0.5)
    permittivity = 60954.0 / (t + 116.0) - 68.937
    a = 1.82e6 * (permittivity * t) ** -1.5
    root = np.sqrt(strength)
    return like(a * (root / (1.0 + root) - 0.3 * strength), ionic_strength_mol_per_l, temperature_k)


def protons_given_up(ph: Values, pka: Sequence[float]) -> Any:
    """Return how many protons a molecule of an acid has given up, on average, at a pH.

    n = sum j a_j / sum a_j with a_0 = 1 and a_j = a_(j-1) 10^(pH - pK_j).

    Parameters
    ----------
    ph : float or array
        pH [-], -1 to 15.
    pka : sequence of float
        pK of each proton, first to last [-]; none for an acid that gives up nothing.

    Returns
    -------
    float or array
        Protons given up, 0 to as many as there are constants [-].

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry, ch. 3 (ionization fractions).

    Examples
    --------
    >>> round(protons_given_up(4.0, (3.13, 4.76, 6.40)) / 3, 2)
    0.34
    """
    value = within("pH", "-", ph, -1.0, 15.0)
    share, given, total = np.ones_like(value), np.zeros_like(value), np.ones_like(value)
    for number, one in enumerate(pka, start=1):
        share = share * 10.0 ** (value - one)
        given, total = given + number * share, total + share
    return like(given / total, ph)


def bicarbonate_charge_mol_per_l(ph: Values, carbon_dioxide_pa: Values, temperature_k: Values) -> Any:
    """Return [HCO3-] + 2 [CO3--], the charge on what stands dissolved under carbon dioxide.

    Parameters
    ----------
    ph : float or array
        pH [-], -1 to 15.
    carbon_dioxide_pa : float or array
        Partial pressure of carbon dioxide [Pa]; a fizzing bath stands under about one atmosphere of it.
    temperature_k : float or array
        Temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        Equivalents [mol/L]; activity coefficients taken as one.

    References
    ----------
    Stumm & Morgan (1996), Aquatic Chemistry, ch. 4 (open carbonate system); constants as named above.

    Examples
    --------
    >>> round(bicarbonate_charge_mol_per_l(5.0, 101325.0, 298.15), 5)
    0.00151
    """
    value = within("pH", "-", ph, -1.0, 15.0)
    dissolved = carbon_dioxide_solubility_mol_per_l(carbon_dioxide_pa, temperature_k)
    bicarbonate = dissolved * 10.0 ** (value - pk_carbonic(temperature_k))
    carbonate = bicarbonate * 10.0 ** (value - pk_bicarbonate(temperature_k))
    return like(bicarbonate + 2.0 * carbonate, ph, carbon_dioxide_pa, temperature_k)
