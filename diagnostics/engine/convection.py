"""Heat transfer between a wall and the water beside it, and how the refrigerant's film depends on load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import OnRange, UnknownName, like, within

Values = npt.ArrayLike

LAMINAR_NUSSELT = 3.66
"""Developed laminar flow in a round tube at constant wall temperature (Incropera & DeWitt, eq. 8.55)."""
_LAMINAR_BELOW_RE = 2300.0
_TURBULENT_FROM_RE = 4000.0


@dataclass(frozen=True, slots=True)
class WaterFilmPrior:
    """What is believed of a kind of exchanger's water side before it has been measured.

    Nu grows with Re to a power between `exponent_low` and `exponent_high` [-]; its size is between
    `enhancement_low` and `enhancement_high` times [-] a smooth tube's (Gnielinski) or, for plates,
    `plate_nusselt`'s; turbulence may set in from `turbulent_from_re` [-].
    """

    kind: str
    exponent_low: float
    exponent_high: float
    enhancement_low: float
    enhancement_high: float
    turbulent_from_re: float
    source: str


WATER_FILM_PRIORS: Mapping[str, WaterFilmPrior] = MappingProxyType(
    {
        prior.kind: prior
        for prior in (
            WaterFilmPrior(
                "coaxial", 0.70, 0.90, 1.5, 3.0, 1000.0, "fluted tubes, common practice, from memory"
            ),
            WaterFilmPrior(
                "brazed_plate", 0.65, 0.78, 0.8, 1.3, 100.0, "chevron plates, Kumar (1984), from memory"
            ),
            WaterFilmPrior(
                "plate_and_frame", 0.65, 0.78, 0.8, 1.3, 100.0, "chevron plates, as brazed plates"
            ),
            WaterFilmPrior(
                "shell_and_tube", 0.78, 0.85, 1.0, 2.5, 2300.0, "enhanced bundles, common practice"
            ),
        )
    }
)


def water_film_prior(kind: str) -> WaterFilmPrior:
    """Return what is believed of a kind of exchanger's water side before it has been measured.

    Parameters
    ----------
    kind : str
        coaxial, brazed_plate, plate_and_frame or shell_and_tube.

    Returns
    -------
    WaterFilmPrior
        Ranges of exponent and size [-].

    References
    ----------
    Kumar (1984), as Ayub (2003), Heat Transfer Engineering 24(5), 3; the other kinds are common practice.

    Examples
    --------
    >>> water_film_prior("brazed_plate").exponent_low
    0.65
    """
    if kind not in WATER_FILM_PRIORS:
        raise UnknownName("kind of exchanger", kind, WATER_FILM_PRIORS)
    return WATER_FILM_PRIORS[kind]


def petukhov_friction_factor(reynolds: Values, errors: OnRange = "raise") -> Any:
    """Return the Darcy friction factor of a smooth tube, (0.790 ln Re - 1.64)^-2.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], 3000 to 5e6.
    errors : {"raise", "nan"}
        What a value out of range does.

    Returns
    -------
    float or array
        Darcy friction factor [-].

    References
    ----------
    Petukhov (1970), as Incropera & DeWitt (2002), Fundamentals of Heat and Mass Transfer, 5th ed., eq. 8.21.

    Examples
    --------
    >>> round(petukhov_friction_factor(1e4), 5)
    0.03148
    """
    re = within("Reynolds number", "-", reynolds, 3000.0, 5e6, errors)
    return like((0.790 * np.log(re) - 1.64) ** -2, reynolds)


def dittus_boelter(reynolds: Values, prandtl: Values, wall_heats: bool, errors: OnRange = "raise") -> Any:
    """Return the Nusselt number of turbulent flow in a smooth tube, 0.023 Re^0.8 Pr^n.

    Off Gnielinski's by 12 % at Pr 0.7 and 10 % at Pr 4 to 6: one correlation serves clean and dirty.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], 1e4 to 5e6.
    prandtl : float or array
        Prandtl number [-], 0.6 to 160.
    wall_heats : bool
        True where the wall warms the water (n = 0.4), False where it cools it (n = 0.3).
    errors : {"raise", "nan"}
        What a value out of range does.

    Returns
    -------
    float or array
        Nusselt number [-].

    References
    ----------
    Winterton (1998), Int. J. Heat Mass Transfer 41, 809; Incropera & DeWitt (2002), 5th ed., eq. 8.60.

    Examples
    --------
    >>> round(dittus_boelter(1e4, 5.0, wall_heats=True), 2)
    69.39
    """
    re = within("Reynolds number", "-", reynolds, 1e4, 5e6, errors)
    pr = within("Prandtl number", "-", prandtl, 0.6, 160.0, errors)
    return like(0.023 * re**0.8 * pr ** (0.4 if wall_heats else 0.3), reynolds, prandtl)


def gnielinski(reynolds: Values, prandtl: Values, errors: OnRange = "raise") -> Any:
    """Return the Nusselt number of turbulent flow in a smooth tube.

    Nu = (f/8)(Re - 1000) Pr / [1 + 12.7 (f/8)^0.5 (Pr^(2/3) - 1)] with Petukhov's friction factor.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], 3000 to 5e6.
    prandtl : float or array
        Prandtl number [-], 0.5 to 2000.
    errors : {"raise", "nan"}
        What a value out of range does.

    Returns
    -------
    float or array
        Nusselt number [-].

    References
    ----------
    Gnielinski (1976), Int. Chem. Eng. 16, 359, as Incropera & DeWitt (2002), 5th ed., eq. 8.62.

    Examples
    --------
    >>> round(gnielinski(1e4, 5.0), 2)
    69.91
    """
    friction = petukhov_friction_factor(reynolds, errors) / 8.0
    pr = within("Prandtl number", "-", prandtl, 0.5, 2000.0, errors)
    nusselt = friction * (np.asarray(reynolds, float) - 1000.0) * pr
    return like(nusselt / (1.0 + 12.7 * np.sqrt(friction) * (pr ** (2 / 3) - 1.0)), reynolds, prandtl)


def tube_nusselt(reynolds: Values, prandtl: Values, errors: OnRange = "raise") -> Any:
    """Return the Nusselt number of a long smooth tube in any regime, without a jump between them.

    Laminar 3.66 up to Re 2300, Gnielinski from 4000, between them linear in Re from one to the other.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], above 0 to 5e6.
    prandtl : float or array
        Prandtl number [-], 0.6 to 1000.
    errors : {"raise", "nan"}
        What a value out of range does.

    Returns
    -------
    float or array
        Nusselt number [-].

    References
    ----------
    Gnielinski (2013), Int. J. Heat Mass Transfer 63, 134, eqs. 7 and 8, without the entrance's share.

    Examples
    --------
    >>> tube_nusselt(1000.0, 7.0)
    3.66
    """
    re = within("Reynolds number", "-", reynolds, 1e-9, 5e6, errors)
    pr = within("Prandtl number", "-", prandtl, 0.6, 1000.0, errors)
    turbulent = gnielinski(np.maximum(re, _TURBULENT_FROM_RE), pr, errors)
    share = np.clip((re - _LAMINAR_BELOW_RE) / (_TURBULENT_FROM_RE - _LAMINAR_BELOW_RE), 0.0, 1.0)
    return like((1.0 - share) * LAMINAR_NUSSELT + share * turbulent, reynolds, prandtl)


def plate_nusselt(
    reynolds: Values,
    prandtl: Values,
    coefficient: Values = 0.300,
    exponent: Values = 0.663,
    errors: OnRange = "raise",
) -> Any:
    """Return the Nusselt number between chevron plates, C Re^m Pr^(1/3), on twice the gap as diameter.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-] on the hydraulic diameter, 100 to 1e5.
    prandtl : float or array
        Prandtl number [-], 0.5 to 200.
    coefficient : float or array
        C [-]; the default is that of 45 degree chevrons above Re 100.
    exponent : float or array
        m [-]; the same.
    errors : {"raise", "nan"}
        What a value out of range does.

    Returns
    -------
    float or array
        Nusselt number [-], without the correction for the viscosity at the wall.

    References
    ----------
    Kumar (1984), as Ayub (2003), Heat Transfer Engineering 24(5), 3, table 1.

    Examples
    --------
    >>> round(plate_nusselt(2000.0, 6.0), 1)
    84.2
    """
    re = within("Reynolds number", "-", reynolds, 100.0, 1e5, errors)
    pr = within("Prandtl number", "-", prandtl, 0.5, 200.0, errors)
    nusselt = np.asarray(coefficient, float) * re ** np.asarray(exponent, float) * np.cbrt(pr)
    return like(nusselt, reynolds, prandtl, coefficient, exponent)


def film_coefficient_w_per_m2k(nusselt: Values, conductivity_w_per_m_k: Values, diameter_m: Values) -> Any:
    """Return the heat transfer coefficient, Nu k / D.

    Parameters
    ----------
    nusselt : float or array
        Nusselt number [-].
    conductivity_w_per_m_k : float or array
        Conductivity of the water [W/(m K)].
    diameter_m : float or array
        Inner or hydraulic diameter [m].

    Returns
    -------
    float or array
        Heat transfer coefficient [W/(m2 K)].

    References
    ----------
    Incropera & DeWitt (2002), 5th ed., eq. 6.46.

    Examples
    --------
    >>> film_coefficient_w_per_m2k(90.0, 0.625, 0.025)
    2250.0
    """
    film = (
        np.asarray(nusselt, float) * np.asarray(conductivity_w_per_m_k, float) / np.asarray(diameter_m, float)
    )
    return like(film, nusselt, conductivity_w_per_m_k, diameter_m)


def tube_wall_resistance_m2k_per_w(
    inner_diameter_m: Values, outer_diameter_m: Values, conductivity_w_per_m_k: Values
) -> Any:
    """Return the resistance of a tube's wall on its inner area, (Di/2k) ln(Do/Di).

    Parameters
    ----------
    inner_diameter_m : float or array
        Inner diameter [m].
    outer_diameter_m : float or array
        Outer diameter [m], not below the inner.
    conductivity_w_per_m_k : float or array
        Conductivity of the metal [W/(m K)].

    Returns
    -------
    float or array
        Resistance [m2 K/W] on the inner area.

    References
    ----------
    Incropera & DeWitt (2002), 5th ed., eq. 3.28.

    Examples
    --------
    >>> round(tube_wall_resistance_m2k_per_w(0.016, 0.018, 50.0) * 1e5, 3)
    1.885
    """
    inner = np.asarray(inner_diameter_m, float)
    outer = within("outer diameter", "m", outer_diameter_m, inner, np.inf)
    resistance = 0.5 * inner / np.asarray(conductivity_w_per_m_k, float) * np.log(outer / inner)
    return like(resistance, inner_diameter_m, outer_diameter_m, conductivity_w_per_m_k)


def film_flow_ratio(flow_ratio: Values, exponent: Values = 0.8) -> Any:
    """Return by what factor the water's film coefficient changes with flow, (V/V0)^m.

    Parameters
    ----------
    flow_ratio : float or array
        Flow over the reference flow [-], 0 or above, both turbulent.
    exponent : float or array
        m [-], 0.3 to 1; 0.8 in smooth tubes, 0.65 to 0.72 between plates.

    Returns
    -------
    float or array
        Film coefficient over the reference's [-].

    References
    ----------
    Wilson (1915), Trans. ASME 37, 47; Fernandez-Seara et al. (2007), Appl. Therm. Eng. 27, 2745.

    Examples
    --------
    >>> round(film_flow_ratio(0.8), 5)
    0.83651
    """
    ratio = within("flow ratio", "-", flow_ratio, 0.0, np.inf)
    return like(ratio ** within("exponent", "-", exponent, 0.3, 1.0), flow_ratio, exponent)


def film_condensation_w_per_m2k(
    liquid_density_kg_per_m3: Values,
    vapour_density_kg_per_m3: Values,
    latent_heat_j_per_kg: Values,
    conductivity_w_per_m_k: Values,
    viscosity_pa_s: Values,
    diameter_m: Values,
    temperature_difference_k: Values,
) -> Any:
    """Return the coefficient of laminar film condensation on a horizontal tube.

    h = 0.729 [g rho_l (rho_l - rho_v) h_fg k^3 / (mu D dT)]^(1/4). With q = h dT it falls as q^(-1/3); a film
    driven by the vapour's shear (in coils and plates) rises with load instead.

    Parameters
    ----------
    liquid_density_kg_per_m3 : float or array
        Density of the liquid [kg/m3].
    vapour_density_kg_per_m3 : float or array
        Density of the vapour [kg/m3].
    latent_heat_j_per_kg : float or array
        Latent heat [J/kg].
    conductivity_w_per_m_k : float or array
        Conductivity of the liquid [W/(m K)].
    viscosity_pa_s : float or array
        Viscosity of the liquid [Pa s].
    diameter_m : float or array
        Outer diameter of the tube [m].
    temperature_difference_k : float or array
        Saturation less wall temperature [K], above 0.

    Returns
    -------
    float or array
        Heat transfer coefficient [W/(m2 K)].

    References
    ----------
    Nusselt (1916); Dhir & Lienhard (1971), as Incropera & DeWitt (2002), 5th ed., eq. 10.40.

    Examples
    --------
    >>> round(film_condensation_w_per_m2k(1147.0, 50.1, 163e3, 0.0747, 1.61e-4, 0.019, 5.0), -1)
    1980.0
    """
    inputs = (
        liquid_density_kg_per_m3,
        vapour_density_kg_per_m3,
        latent_heat_j_per_kg,
        conductivity_w_per_m_k,
        viscosity_pa_s,
        diameter_m,
    )
    liquid, vapour, latent, conductivity, viscosity, diameter = (np.asarray(value, float) for value in inputs)
    difference = within("temperature difference", "K", temperature_difference_k, 1e-9, np.inf)
    driving = 9.80665 * liquid * (liquid - vapour) * latent * conductivity**3
    film = 0.729 * (driving / (viscosity * diameter * difference)) ** 0.25
    return like(film, *inputs, temperature_difference_k)


def condensing_film_ratio(heat_flux_ratio: Values, exponent: Values) -> Any:
    """Return by what factor the condensing film coefficient changes with heat flux, (q/q0)^e.

    Its sign is not known beforehand: -1/3 for a film under gravity, up to about +0.8 where shear drives it
    (there the coefficient follows mass flux, and mass flux the load). So `exponent` is drawn, never fixed.

    Parameters
    ----------
    heat_flux_ratio : float or array
        Heat flux over the reference's [-], above 0.
    exponent : float or array
        e [-], -1/3 to 0.8.

    Returns
    -------
    float or array
        Film coefficient over the reference's [-].

    References
    ----------
    Nusselt (1916) for -1/3; Shah (1979), Int. J. Heat Mass Transfer 22, 547, for 0.8.

    Examples
    --------
    >>> round(condensing_film_ratio(0.5, -1 / 3), 3)
    1.26
    """
    ratio = within("heat flux ratio", "-", heat_flux_ratio, 1e-9, np.inf)
    return like(ratio ** within("exponent", "-", exponent, -1 / 3, 0.8), heat_flux_ratio, exponent)
