"""Fouling: resistance, cleanliness, limits and the verdict rule. Pure functions and named constants."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine.records import Verdict

Floats = float | NDArray[np.float64]

HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU = 0.1761101838
"""1 h ft2 degF/Btu in m2 K/W (exact from the international foot and the International Table Btu)."""

FOULED_FROM_PROBABILITY = 0.9
CLEAN_UP_TO_PROBABILITY = 0.1


@dataclass(frozen=True, slots=True)
class FoulingAllowance:
    """A published design fouling resistance, used as the limit where nothing better is entered."""

    value_m2k_per_w: float
    source: str


_TEMA = "TEMA Standards, RGP-T-2.4 (from memory)"
ALLOWANCE_BY_WATER_SOURCE: dict[str, FoulingAllowance] = {
    "cooling_tower": FoulingAllowance(
        0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, treated cooling tower water"
    ),
    "closed_loop": FoulingAllowance(
        0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, treated closed loop water"
    ),
    "ground_loop": FoulingAllowance(
        0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, closed loop water, used for ground loops"
    ),
    "well": FoulingAllowance(0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, city or well water"),
    "city_water": FoulingAllowance(
        0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, city or well water"
    ),
    "pond": FoulingAllowance(
        0.002 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU, f"{_TEMA}, river water, used for ponds"
    ),
}
DEFAULT_ALLOWANCE = FoulingAllowance(
    0.001 * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU,
    f"{_TEMA}, treated tower, loop or well water, because the water source is not known",
)


def fouling_resistance(conductance_now: Floats, conductance_clean: Floats) -> Floats:
    r"""Fouling resistance from a conductance and the clean one.

    .. math:: R_f = 1/U_d - 1/U_c

    Negative values are kept: early in a surface's life they are roughness and noise.

    Parameters
    ----------
    conductance_now : float or array
        Overall coefficient [W/(m2 K)] or conductance [W/K] as it is.
    conductance_clean : float or array
        The same when clean, at this flow and load. [W/(m2 K)] or [W/K]

    Returns
    -------
    float or array
        Fouling resistance, [m2 K/W] or [K/W].

    References
    ----------
    Bott, T. R. (1995), Fouling of Heat Exchangers, ch. 2 (overall coefficients clean and fouled).

    Examples
    --------
    >>> round(fouling_resistance(2400.0, 3000.0), 9)
    8.3333e-05
    """
    return 1 / conductance_now - 1 / conductance_clean


def cleanliness(conductance_now: Floats, conductance_clean: Floats) -> Floats:
    r"""Cleanliness, conductance over clean conductance; 1 is clean and readings may pass it.

    Parameters
    ----------
    conductance_now : float or array
        Overall coefficient [W/(m2 K)] or conductance [W/K] as it is.
    conductance_clean : float or array
        The same when clean. [W/(m2 K)] or [W/K]

    Returns
    -------
    float or array
        Cleanliness. [-]

    References
    ----------
    Heat Exchange Institute, Standards for Steam Surface Condensers, cleanliness factor (from memory).

    Examples
    --------
    >>> cleanliness(2400.0, 3000.0)
    0.8
    """
    return conductance_now / conductance_clean


def over_surface(conductance_now: Floats, conductance_clean: Floats) -> Floats:
    r"""Extra surface, as a fraction, that makes up for fouling.

    .. math:: OS = U_c / U_d - 1 = U_c R_f

    Parameters
    ----------
    conductance_now : float or array
        Overall coefficient [W/(m2 K)] or conductance [W/K] as it is.
    conductance_clean : float or array
        The same when clean. [W/(m2 K)] or [W/K]

    Returns
    -------
    float or array
        Over-surface as a fraction. [-]

    References
    ----------
    Kakac, S., Liu, H. (2002), Heat Exchangers: Selection, Rating and Thermal Design, 2nd ed., ch. 5.

    Examples
    --------
    >>> over_surface(2400.0, 3000.0)
    0.25
    """
    return conductance_clean / conductance_now - 1


def resistance_from_cleanliness(cleanliness_: Floats, conductance_clean: Floats) -> Floats:
    r"""Fouling resistance that a cleanliness stands for.

    .. math:: R_f = (1 - CF) / (CF\,U_c)

    Parameters
    ----------
    cleanliness_ : float or array
        Cleanliness, above zero. [-]
    conductance_clean : float or array
        Overall coefficient [W/(m2 K)] or conductance [W/K] when clean.

    Returns
    -------
    float or array
        Fouling resistance, [m2 K/W] or [K/W].

    References
    ----------
    Kakac, S., Liu, H. (2002), Heat Exchangers: Selection, Rating and Thermal Design, 2nd ed., ch. 5.

    Examples
    --------
    >>> round(resistance_from_cleanliness(0.85, 3000.0), 9)
    5.8824e-05
    """
    return (1 - cleanliness_) / (cleanliness_ * conductance_clean)


def deposit_thickness(
    resistance_m2k_per_w: Floats, conductivity_w_per_m_k: Floats, bore_m: Floats | None = None
) -> Floats:
    r"""Thickness of an even deposit that gives a fouling resistance.

    Flat: :math:`x = k R_f`. In a tube, with the resistance based on the clean bore:
    :math:`x = \frac{D}{2}\left(1 - e^{-2 k R_f / D}\right)`.

    Parameters
    ----------
    resistance_m2k_per_w : float or array
        Fouling resistance. [m2 K/W]
    conductivity_w_per_m_k : float or array
        Conductivity of the deposit. [W/(m K)]
    bore_m : float or array, optional
        Clean bore of the tube; without it the surface is taken as flat. [m]

    Returns
    -------
    float or array
        Thickness of the deposit. [m]

    References
    ----------
    Incropera, F. P., DeWitt, D. P. (2002), Fundamentals of Heat and Mass Transfer, 5th ed., eq. 3.28
    (cylinder wall).

    Examples
    --------
    >>> round(deposit_thickness(4.8557e-4, 2.2, 0.016) * 1000, 3)
    1.0
    """
    if bore_m is None:
        return conductivity_w_per_m_k * resistance_m2k_per_w
    shrink = -2 * conductivity_w_per_m_k * resistance_m2k_per_w / bore_m
    thickness = -bore_m / 2 * np.expm1(shrink)
    return float(thickness) if np.ndim(thickness) == 0 else thickness


def probability_over(draws: NDArray[np.float64], limit: Floats) -> float:
    """Share of the draws that lie beyond a limit.

    Parameters
    ----------
    draws : array
        Draws of a fouling resistance. [m2 K/W] or [K/W]
    limit : float or array
        The limit in the same unit, one value or one a draw. [m2 K/W] or [K/W]

    Returns
    -------
    float
        Probability of being beyond the limit. [-]

    References
    ----------
    JCGM 101:2008, 7.5 (discrete representation of the distribution function).

    Examples
    --------
    >>> probability_over(np.array([1.0, 2.0, 3.0, 4.0]), 2.5)
    0.5
    """
    return float(np.mean(draws > limit))


def verdict(probability: float, low: float, high: float, limit: float) -> Verdict:
    """Verdict on the surface: the word that may send a crew with acid, so it has to be earned.

    At least 0.9 probability beyond the limit is fouled, at most 0.1 is clean, else undecided. An interval
    whose half-width exceeds the limit is never clean, and fouled only if all of it lies beyond the limit.

    Parameters
    ----------
    probability : float
        Probability of being beyond the limit. [-]
    low, high : float
        Ends of the 95 % interval. [m2 K/W] or [K/W]
    limit : float
        The limit. [m2 K/W] or [K/W]

    Returns
    -------
    str
        "fouled", "clean" or "undecided".

    References
    ----------
    JCGM 106:2012, 8.3 (guarded acceptance and rejection); the levels 0.9 and 0.1 are this engine's own.

    Examples
    --------
    >>> verdict(0.97, 1.8e-4, 3.0e-4, 1.76e-4)
    'fouled'
    """
    too_wide = (high - low) / 2 > limit
    if probability >= FOULED_FROM_PROBABILITY and (not too_wide or low > limit):
        return "fouled"
    if probability <= CLEAN_UP_TO_PROBABILITY and not too_wide:
        return "clean"
    return "undecided"


def smallest_called_fouled(limit: float, spread: float) -> float:
    r"""Smallest true resistance that would be called fouled nine times in ten, where nothing else is wrong.

    The verdict asks for nine tenths of the draws beyond the limit, :math:`z = 1.28` standard uncertainties;
    that it be passed nine times in ten asks for as much again. Where the 95 % interval's half-width exceeds
    the limit all of it has to lie beyond: 1.96 in place of 1.28.

    Parameters
    ----------
    limit : float
        The limit. [m2 K/W] or [K/W]
    spread : float
        Standard uncertainty of the resistance. [m2 K/W] or [K/W]

    Returns
    -------
    float
        Smallest resistance called. [m2 K/W] or [K/W]

    References
    ----------
    Currie, L. A. (1968), Limits for qualitative detection and quantitative determination, Anal. Chem. 40,
    586.

    Examples
    --------
    >>> round(smallest_called_fouled(1.76e-4, 2e-5), 6)
    0.000227
    """
    needed = WHOLE_INTERVAL if WHOLE_INTERVAL * spread > limit else NINE_IN_TEN
    return limit + (needed + NINE_IN_TEN) * spread


NINE_IN_TEN, WHOLE_INTERVAL = 1.2816, 1.9600
"""Quantiles of the normal distribution at 0.9 and 0.975."""


def allowance(water_source: str | None) -> FoulingAllowance:
    """Published fouling allowance for a water source, or the stated default where it is not known.

    Parameters
    ----------
    water_source : str or None
        One of the keys of ALLOWANCE_BY_WATER_SOURCE.

    Returns
    -------
    FoulingAllowance
        Value [m2 K/W] and source.

    References
    ----------
    TEMA, Standards of the Tubular Exchanger Manufacturers Association, RGP-T-2.4 (from memory).

    Examples
    --------
    >>> round(allowance("well").value_m2k_per_w, 6)
    0.000176
    """
    if water_source is None:
        return DEFAULT_ALLOWANCE
    if water_source not in ALLOWANCE_BY_WATER_SOURCE:
        raise ValueError(
            f"water source {water_source!r} is not one of {', '.join(ALLOWANCE_BY_WATER_SOURCE)}"
        )
    return ALLOWANCE_BY_WATER_SOURCE[water_source]


def imperial_to_si(resistance_h_ft2_degf_per_btu: Floats) -> Any:
    """Fouling resistance from the unit of American tables.

    Parameters
    ----------
    resistance_h_ft2_degf_per_btu : float or array
        Fouling resistance. [h ft2 degF/Btu]

    Returns
    -------
    float or array
        Fouling resistance. [m2 K/W]

    References
    ----------
    NIST SP 811 (2008), appendix B (from memory).

    Examples
    --------
    >>> round(imperial_to_si(0.00025), 8)
    4.403e-05
    """
    return resistance_h_ft2_degf_per_btu * HOUR_SQUARE_FOOT_FAHRENHEIT_PER_BTU
