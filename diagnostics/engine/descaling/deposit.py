"""How much deposit there is: from fouling resistance, area, conductivity and density, with their ranges."""

from __future__ import annotations

import numpy as np

from diagnostics.engine.errors import FloatArray, OutOfRange
from diagnostics.engine.records import Interval
from diagnostics.engine.uncertainty import interval

CONDUCTIVITY_W_PER_M_K = (0.8, 2.9)
"""Carbonate scale, porous to dense: Bott (1995), Fouling of Heat Exchangers, from memory."""
DENSITY_KG_PER_M3 = (1200.0, 2710.0)
"""Porous field scale (from memory) to calcite without pores (2710 kg/m3, mineral data)."""
AREA_M2_PER_KW = (0.02, 0.12)
"""Water-side area by heat rejected: 1/(U dT) for U 1.5 to 5 kW/(m2 K) and 5.5 to 10 K, common practice."""

DRAWS = 20_000
_SEED = 20_091


def deposit_mass_kg(
    resistance_m2k_per_w: float, area_m2: float, conductivity_w_per_m_k: float, density_kg_per_m3: float
) -> float:
    """Return the mass of an even layer on a flat surface, rho A k Rf.

    Parameters
    ----------
    resistance_m2k_per_w : float
        Fouling resistance [m2 K/W]; a negative one is no deposit.
    area_m2 : float
        Wetted area [m2].
    conductivity_w_per_m_k : float
        Thermal conductivity of the deposit [W/(m K)].
    density_kg_per_m3 : float
        Its density, pores included [kg/m3].

    Returns
    -------
    float
        Mass [kg], 0 or above.

    References
    ----------
    Bott (1995), Fouling of Heat Exchangers, ch. 2: thickness = k Rf.

    Examples
    --------
    >>> round(deposit_mass_kg(1.761e-4, 2.0, 2.2, 2710.0), 2)
    2.1
    """
    return max(resistance_m2k_per_w, 0.0) * area_m2 * conductivity_w_per_m_k * density_kg_per_m3


def deposit_mass_range(
    resistance: Interval, area_m2: float | None, heat_w: float | None = None, area_share: float = 0.1
) -> Interval:
    """Return the mass of deposit with the range that its unknown conductivity, density and area leave.

    Conductivity and density fall together with porosity, so one draw rules both: the wide choice. With no
    area the resistance is in [K/W], the area is drawn by heat rejected and enters squared; the range is then
    of an order of magnitude and titration decides.

    Parameters
    ----------
    resistance : Interval
        Fouling resistance with 95 % interval, [m2 K/W] with an area, [K/W] without.
    area_m2 : float or None
        Wetted area [m2]; None where it is not known.
    heat_w : float or None
        Heat rejected to the water at rating [W]; asked where the area is not known.
    area_share : float
        Standard uncertainty of a known area, as a share [-].

    Returns
    -------
    Interval
        Mass [kg]: median and 95 % interval, 0 or above.

    References
    ----------
    JCGM 101:2008 (propagation of distributions); priors as named at the constants.

    Examples
    --------
    >>> found = deposit_mass_range(Interval(2e-4, 1.5e-4, 2.5e-4), 2.0)
    >>> found.low < 1.3 < found.high
    True
    """
    generator = np.random.Generator(np.random.PCG64(_SEED))
    rf = _split_normal(generator, resistance)
    solid = generator.random(DRAWS)
    conductivity = np.interp(solid, (0.0, 1.0), CONDUCTIVITY_W_PER_M_K)
    density = np.interp(solid, (0.0, 1.0), DENSITY_KG_PER_M3)
    if area_m2 is not None:
        spread = generator.standard_normal(DRAWS)
        area: FloatArray = area_m2 * np.maximum(1.0 + area_share * spread, 0.0)
        return interval(np.maximum(rf, 0.0) * area * conductivity * density)
    if heat_w is None or not heat_w > 0:
        raise OutOfRange("heat rejected, asked where the area is not known,", "W", heat_w or 0.0, 1.0, np.inf)
    low, high = np.log(AREA_M2_PER_KW)
    area = np.exp(low + (high - low) * generator.random(DRAWS)) * heat_w / 1000.0
    return interval(np.maximum(rf, 0.0) * area**2 * conductivity * density)


def _split_normal(generator: np.random.Generator, given: Interval) -> FloatArray:
    """Draw from two half normals that meet at the median and have the interval's ends."""
    normal = generator.standard_normal(DRAWS)
    below, above = (given.value - given.low) / 1.96, (given.high - given.value) / 1.96
    return np.asarray(given.value + normal * np.where(normal < 0, below, above), dtype=float)
