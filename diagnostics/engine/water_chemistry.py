"""What the water would do to the surface: the scaling and corrosion indices of a water test.

Temperatures are those of the wetted skin, the hottest place that the water touches in cooling, not of the
entering water. Every index is a hint: two of them can disagree about one water, and they are shown together.
Concentrations in mg/L, hardness and alkalinity as CaCO3.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import like, within
from diagnostics.engine.speciation import activity_exponent, pk_bicarbonate, pk_calcite, pk_water

Values = npt.ArrayLike

CACO3_G_PER_MOL = 100.087
CHLORIDE_G_PER_EQUIVALENT = 35.453
SULPHATE_G_PER_EQUIVALENT = 96.063 / 2
_MG_OF_DISSOLVED_SOLIDS_FOR_A_MOL_OF_IONIC_STRENGTH = 40_000.0


@dataclass(frozen=True, slots=True)
class WaterAnalysis:
    """A water test. Concentrations in mg/L, hardness and alkalinity as CaCO3; None where not tested."""

    ph: float
    dissolved_solids_mg_per_l: float
    calcium_mg_per_l_as_caco3: float
    alkalinity_mg_per_l_as_caco3: float
    chloride_mg_per_l: float | None = None
    sulphate_mg_per_l: float | None = None


@dataclass(frozen=True, slots=True)
class ScalingIndices:
    """All indices [-] of one water at one skin temperature [K]; `larson_skold` None if not tested."""

    skin_temperature_k: float
    langelier_by_formula: float
    langelier_by_equilibria: float
    ryznar: float
    puckorius: float
    larson_skold: float | None


def skin_temperature_k(
    water_temperature_k: Values, heat_flux_w_per_m2: Values, film_coefficient_w_per_m2k: Values
) -> Any:
    """Return the temperature of the wetted skin, T = T_water + q / h.

    Parameters
    ----------
    water_temperature_k : float or array
        Water temperature; the leaving one, for the hottest place [K].
    heat_flux_w_per_m2 : float or array
        Heat flux into the water, negative when the water gives up heat [W/m2].
    film_coefficient_w_per_m2k : float or array
        Water-side coefficient [W/(m2 K)], above 0.

    Returns
    -------
    float or array
        Skin temperature [K].

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 2 (interface temperature).

    Examples
    --------
    >>> skin_temperature_k(310.0, 20e3, 5000.0)
    314.0
    """
    film = within("film coefficient", "W/(m2 K)", film_coefficient_w_per_m2k, 1e-6, np.inf)
    skin = np.asarray(water_temperature_k, float) + np.asarray(heat_flux_w_per_m2, float) / film
    return like(skin, water_temperature_k, heat_flux_w_per_m2, film_coefficient_w_per_m2k)


def saturation_ph_by_formula(
    dissolved_solids_mg_per_l: Values,
    calcium_mg_per_l_as_caco3: Values,
    alkalinity_mg_per_l_as_caco3: Values,
    temperature_k: Values,
) -> Any:
    """Return the pH at which calcite neither forms nor dissolves, by the trade's closed form.

    pHs = 9.3 + A + B - C - D with A = (log TDS - 1)/10, B = -13.12 log(T_C + 273) + 34.55, C = log Ca - 0.4,
    D = log Alk. Its B stands up to 0.11 above the printed tables of B, so two tables' users differ by that.

    Parameters
    ----------
    dissolved_solids_mg_per_l : float or array
        Dissolved solids [mg/L], 1 to 20000.
    calcium_mg_per_l_as_caco3 : float or array
        Calcium hardness as CaCO3 [mg/L], above 0.1.
    alkalinity_mg_per_l_as_caco3 : float or array
        Total alkalinity as CaCO3 [mg/L], above 0.1.
    temperature_k : float or array
        Skin temperature [K], 273.15 to 363.15.

    Returns
    -------
    float or array
        Saturation pH [-].

    References
    ----------
    Langelier (1936), J. AWWA 28, 1500; factors as tabulated in UFC 3-240-13FN (2005), appendix B.

    Examples
    --------
    >>> round(saturation_ph_by_formula(1000.0, 500.0, 100.0, 322.04), 2)
    6.85
    """
    solids = within("dissolved solids", "mg/L", dissolved_solids_mg_per_l, 1.0, 2e4)
    calcium = within("calcium hardness", "mg/L", calcium_mg_per_l_as_caco3, 0.1, 2e4)
    alkalinity = within("alkalinity", "mg/L", alkalinity_mg_per_l_as_caco3, 0.1, 2e4)
    celsius = within("water temperature", "K", temperature_k, 273.15, 363.15) - 273.15
    a = (np.log10(solids) - 1.0) / 10.0
    b = -13.12 * np.log10(celsius + 273.0) + 34.55
    result = 9.3 + a + b - (np.log10(calcium) - 0.4) - np.log10(alkalinity)
    given = (dissolved_solids_mg_per_l, calcium_mg_per_l_as_caco3, alkalinity_mg_per_l_as_caco3)
    return like(result, *given, temperature_k)


def saturation_ph_by_equilibria(
    dissolved_solids_mg_per_l: Values,
    calcium_mg_per_l_as_caco3: Values,
    alkalinity_mg_per_l_as_caco3: Values,
    temperature_k: Values,
    ph: Values = 7.5,
) -> Any:
    """Return the pH at which calcite neither forms nor dissolves, from the equilibria themselves.

    pHs = pK2 - pKs + p[Ca] + p[HCO3] + 5 pfm; [HCO3] is the alkalinity less carbonate and hydroxide
    at the pH. Ion pairs are left out, so a water rich in sulphate or magnesium reads some 0.1 too low.

    Parameters
    ----------
    dissolved_solids_mg_per_l : float or array
        Dissolved solids [mg/L], 1 to 20000; ionic strength is taken as 1/40000 of it.
    calcium_mg_per_l_as_caco3 : float or array
        Calcium hardness as CaCO3 [mg/L], above 0.1.
    alkalinity_mg_per_l_as_caco3 : float or array
        Total alkalinity as CaCO3 [mg/L], above 0.1.
    temperature_k : float or array
        Skin temperature [K], 273.15 to 363.15.
    ph : float or array
        The water's pH [-], 4 to 10.5; matters above 9 only.

    Returns
    -------
    float or array
        Saturation pH [-].

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, 2330; Plummer & Busenberg (1982).

    Examples
    --------
    >>> round(saturation_ph_by_equilibria(500.0, 250.0, 200.0, 298.15), 2)
    7.1
    """
    solids = within("dissolved solids", "mg/L", dissolved_solids_mg_per_l, 1.0, 2e4)
    calcium = within("calcium hardness", "mg/L", calcium_mg_per_l_as_caco3, 0.1, 2e4) / CACO3_G_PER_MOL / 1e3
    charge = within("alkalinity", "mg/L", alkalinity_mg_per_l_as_caco3, 0.1, 2e4) / CACO3_G_PER_MOL / 500.0
    pfm = activity_exponent(solids / _MG_OF_DISSOLVED_SOLIDS_FOR_A_MOL_OF_IONIC_STRENGTH, temperature_k)
    value = within("pH", "-", ph, 4.0, 10.5)
    pk2 = pk_bicarbonate(temperature_k)
    hydroxide = 10.0 ** (value - pk_water(temperature_k) + pfm)
    bicarbonate = (charge + 10.0 ** (pfm - value) - hydroxide) / (1.0 + 2.0 * 10.0 ** (value - pk2 + 3 * pfm))
    bicarbonate = within("bicarbonate left of the alkalinity at this pH", "mol/L", bicarbonate, 1e-9, 1.0)
    result = pk2 - pk_calcite(temperature_k) - np.log10(calcium) - np.log10(bicarbonate) + 5.0 * pfm
    given = (dissolved_solids_mg_per_l, calcium_mg_per_l_as_caco3, alkalinity_mg_per_l_as_caco3)
    return like(result, *given, temperature_k, ph)


def langelier_index(ph: Values, saturation_ph: Values) -> Any:
    """Return the Langelier saturation index, pH - pHs: above 0 calcite can form, below 0 it dissolves.

    Parameters
    ----------
    ph : float or array
        The water's pH [-].
    saturation_ph : float or array
        Its saturation pH at the skin temperature [-].

    Returns
    -------
    float or array
        Index [-].

    References
    ----------
    Langelier (1936), J. AWWA 28, 1500.

    Examples
    --------
    >>> round(langelier_index(8.2, 6.77), 2)
    1.43
    """
    return like(np.asarray(ph, float) - np.asarray(saturation_ph, float), ph, saturation_ph)


def ryznar_index(ph: Values, saturation_ph: Values) -> Any:
    """Return the Ryznar stability index, 2 pHs - pH: below about 6 scaling, above about 7 corrosive.

    Parameters
    ----------
    ph : float or array
        The water's pH [-].
    saturation_ph : float or array
        Its saturation pH at the skin temperature [-].

    Returns
    -------
    float or array
        Index [-].

    References
    ----------
    Ryznar (1944), J. AWWA 36, 472.

    Examples
    --------
    >>> round(ryznar_index(8.2, 6.77), 2)
    5.34
    """
    return like(2.0 * np.asarray(saturation_ph, float) - np.asarray(ph, float), ph, saturation_ph)


def equilibrium_ph(alkalinity_mg_per_l_as_caco3: Values) -> Any:
    """Return the pH that tower water of this alkalinity settles at, 1.465 log Alk + 4.54.

    Parameters
    ----------
    alkalinity_mg_per_l_as_caco3 : float or array
        Total alkalinity as CaCO3 [mg/L], above 0.1.

    Returns
    -------
    float or array
        Equilibrium pH [-].

    References
    ----------
    Puckorius & Brooke (1991), Corrosion 47, 280. UFC 3-240-13FN prints 1.485 for 1.465; its own table B-7
    (7.47 at 100 mg/L) holds with 1.465.

    Examples
    --------
    >>> round(equilibrium_ph(100.0), 2)
    7.47
    """
    alkalinity = within("alkalinity", "mg/L", alkalinity_mg_per_l_as_caco3, 0.1, 2e4)
    return like(1.465 * np.log10(alkalinity) + 4.54, alkalinity_mg_per_l_as_caco3)


def puckorius_index(saturation_ph: Values, alkalinity_mg_per_l_as_caco3: Values) -> Any:
    """Return the Puckorius (practical) scaling index, 2 pHs - pHeq: below about 6 scaling.

    Parameters
    ----------
    saturation_ph : float or array
        Saturation pH at the skin temperature [-].
    alkalinity_mg_per_l_as_caco3 : float or array
        Total alkalinity as CaCO3 [mg/L], above 0.1.

    Returns
    -------
    float or array
        Index [-].

    References
    ----------
    Puckorius & Brooke (1991), Corrosion 47, 280.

    Examples
    --------
    >>> round(puckorius_index(6.77, 100.0), 2)
    6.07
    """
    settled = equilibrium_ph(alkalinity_mg_per_l_as_caco3)
    result = 2.0 * np.asarray(saturation_ph, float) - settled
    return like(result, saturation_ph, alkalinity_mg_per_l_as_caco3)


def larson_skold_index(
    chloride_mg_per_l: Values, sulphate_mg_per_l: Values, alkalinity_mg_per_l_as_caco3: Values
) -> Any:
    """Return the Larson-Skold index, (Cl + SO4) over alkalinity, in equivalents: corrosion of mild steel.

    Below 0.8 chloride and sulphate hardly hinder a protective film, to 1.2 they may, above 1.2 they attack.

    Parameters
    ----------
    chloride_mg_per_l : float or array
        Chloride, as the ion [mg/L].
    sulphate_mg_per_l : float or array
        Sulphate, as the ion [mg/L].
    alkalinity_mg_per_l_as_caco3 : float or array
        Bicarbonate and carbonate as CaCO3 [mg/L], above 0.1.

    Returns
    -------
    float or array
        Index [-].

    References
    ----------
    Larson & Skold (1958), Corrosion 14, 285t (bounds from memory).

    Examples
    --------
    >>> round(larson_skold_index(100.0, 150.0, 164.05), 2)
    1.81
    """
    chloride = within("chloride", "mg/L", chloride_mg_per_l, 0.0, 1e5) / CHLORIDE_G_PER_EQUIVALENT
    sulphate = within("sulphate", "mg/L", sulphate_mg_per_l, 0.0, 1e5) / SULPHATE_G_PER_EQUIVALENT
    alkalinity = within("alkalinity", "mg/L", alkalinity_mg_per_l_as_caco3, 0.1, 2e4) / (CACO3_G_PER_MOL / 2)
    result = (chloride + sulphate) / alkalinity
    return like(result, chloride_mg_per_l, sulphate_mg_per_l, alkalinity_mg_per_l_as_caco3)


def scaling_indices(analysis: WaterAnalysis, skin_temperature_k: float) -> ScalingIndices:
    """Return every index of one water test at the skin temperature.

    Ryznar's and Puckorius' are read on the closed form of pHs, as their bounds were drawn up with it.

    Parameters
    ----------
    analysis : WaterAnalysis
        The water test.
    skin_temperature_k : float
        Temperature of the wetted skin [K], 273.15 to 363.15.

    Returns
    -------
    ScalingIndices
        Every index [-].

    References
    ----------
    As the single indices.

    Examples
    --------
    >>> found = scaling_indices(WaterAnalysis(8.2, 1000.0, 500.0, 100.0), 322.04)
    >>> round(found.langelier_by_formula, 2), round(found.puckorius, 2), found.larson_skold
    (1.35, 6.23, None)
    """
    hard = analysis.calcium_mg_per_l_as_caco3
    alkalinity, solids = analysis.alkalinity_mg_per_l_as_caco3, analysis.dissolved_solids_mg_per_l
    formula = saturation_ph_by_formula(solids, hard, alkalinity, skin_temperature_k)
    exact = saturation_ph_by_equilibria(solids, hard, alkalinity, skin_temperature_k, analysis.ph)
    larson = None
    if analysis.chloride_mg_per_l is not None and analysis.sulphate_mg_per_l is not None:
        larson = larson_skold_index(analysis.chloride_mg_per_l, analysis.sulphate_mg_per_l, alkalinity)
    return ScalingIndices(
        skin_temperature_k,
        langelier_index(analysis.ph, formula),
        langelier_index(analysis.ph, exact),
        ryznar_index(analysis.ph, formula),
        puckorius_index(formula, alkalinity),
        larson,
    )
