"""Conductance zone by zone: desuperheat, two-phase and subcool, or two-phase and superheat.

An exchanger whose refrigerant changes from gas through a mixture to liquid is not one exchanger but two or
three in a row, each with its own temperature differences and its own refrigerant film. What the water and the
refrigerant show at their ends fixes the conductance q/LMTD of each. Sharing one surface, they obey

    sum over zones of K_z (r_refrigerant / ratio_z + r_wall + r_water + r_fouling) = 1

with K_z in W/K, resistances in K/W told on the whole surface, and ratio_z the zone's film over the two-phase
film.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = float | NDArray[np.float64]


class ZoneConductances(NamedTuple):
    """Conductance [W/K] of the two-phase zone, of the vapour zone and of the liquid zone (0 in
    evaporation)."""

    two_phase: Floats
    vapour: Floats
    liquid: Floats


def mean_difference(one_end_k: Floats, other_end_k: Floats) -> Floats:
    """Logarithmic mean without checks, for hot loops: NaN where the ends cross.

    Parameters
    ----------
    one_end_k, other_end_k : float or array
        Temperature differences at the two ends. [K]

    Returns
    -------
    float or array
        Logarithmic mean temperature difference. [K]

    References
    ----------
    Incropera, F. P., DeWitt, D. P. (2002), Fundamentals of Heat and Mass Transfer, 5th ed., eq. 11.15.

    Examples
    --------
    >>> round(float(mean_difference(59.8, 30.0)), 1)
    43.2
    """
    gap = one_end_k - other_end_k
    gap = np.where(np.abs(gap) < 1e-6, 1e-6, gap)
    return gap / np.log1p(gap / other_end_k)


def soften(difference_k: Floats, floor_k: float) -> Floats:
    r"""A temperature difference kept above zero without a kink: nearer to zero than `floor_k` it is bent up.

    .. math:: f \ln\left(1 + e^{d / f}\right)

    Where an end is pinched, reading errors are larger than the difference itself: half of what they may mean
    would be impossible, though the exchanger stands there. A surface with area to spare closes such an end
    exponentially, so below zero the difference is told on a logarithmic scale; the order is kept.

    Parameters
    ----------
    difference_k : float or array
        Temperature difference, perhaps below zero by reading error. [K]
    floor_k : float
        Scale of the bend; 0 leaves the difference alone. [K]

    Returns
    -------
    float or array
        Difference above zero. [K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2: the end difference of an
    exchanger falls as e^-NTU; the bend itself is a choice of this engine.

    Examples
    --------
    >>> round(float(soften(2.0, 0.15)), 4), round(float(soften(0.0, 0.15)), 4)
    (2.0, 0.104)
    """
    if floor_k <= 0:
        return difference_k
    ratio = difference_k / floor_k
    bent = np.log1p(np.exp(np.minimum(ratio, 30)))
    return floor_k * np.where(ratio > 30, ratio, bent)


def condensing_zones(
    heat_w: Floats,
    entering_k: Floats,
    change_k: Floats,
    vapour_k: Floats,
    dew_k: Floats,
    bubble_k: Floats,
    liquid_k: Floats,
    vapour_share: Floats,
    liquid_share: Floats,
    floor_k: float = 0.0,
) -> ZoneConductances:
    """Conductances of a counterflow condenser's three zones.

    The water meets the subcooled liquid first. A negative subcooling gives a negative liquid zone of the same
    small size, so that noise around zero stays unbiased.

    Parameters
    ----------
    heat_w : float or array
        Heat given to the water. [W]
    entering_k : float or array
        Entering water temperature. [K]
    change_k : float or array
        Water temperature change. [K]
    vapour_k, dew_k, bubble_k, liquid_k : float or array
        Refrigerant entering, at dew, at bubble and leaving. [K]
    vapour_share, liquid_share : float or array
        Shares of the heat given above dew and below bubble. [-]
    floor_k : float
        Pinched ends are softened below this. [K]

    Returns
    -------
    ZoneConductances
        Conductance of each zone. [W/K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2; zones in series, e.g. Stoecker
    and Jones (1982), Refrigeration and Air Conditioning, ch. 12.

    Examples
    --------
    >>> zones = condensing_zones(10e3, 300.0, 5.0, 340.0, 311.0, 311.0, 306.0, 0.15, 0.03)
    >>> [round(float(zone)) for zone in zones]
    [949, 87, 37]
    """
    after_liquid = entering_k + liquid_share * change_k
    before_vapour = entering_k + (1 - vapour_share) * change_k
    at_bubble = soften(bubble_k - after_liquid, floor_k)
    at_dew = soften(dew_k - before_vapour, floor_k)
    hot_end = soften(vapour_k - entering_k - change_k, floor_k)
    cold_end = soften(liquid_k - entering_k, floor_k)
    return ZoneConductances(
        (1 - vapour_share - liquid_share) * heat_w / mean_difference(at_dew, at_bubble),
        vapour_share * heat_w / mean_difference(hot_end, at_dew),
        liquid_share * heat_w / mean_difference(cold_end, at_bubble),
    )


def evaporating_zones(
    heat_w: Floats,
    entering_k: Floats,
    change_k: Floats,
    inlet_k: Floats,
    dew_k: Floats,
    vapour_k: Floats,
    vapour_share: Floats,
    counterflow: bool | NDArray[np.bool_],
    floor_k: float = 0.0,
) -> ZoneConductances:
    """Conductances of an evaporator's two zones, counterflow or parallel.

    Parameters
    ----------
    heat_w : float or array
        Heat taken from the water, positive. [W]
    entering_k : float or array
        Entering water temperature. [K]
    change_k : float or array
        Fall of the water temperature, positive. [K]
    inlet_k, dew_k, vapour_k : float or array
        Refrigerant at the inlet quality, at dew and leaving superheated. [K]
    vapour_share : float or array
        Share of the heat taken up above dew. [-]
    counterflow : bool or array
        True where the superheated end meets the entering water.
    floor_k : float
        Pinched ends are softened below this. [K]

    Returns
    -------
    ZoneConductances
        Conductance of each zone, the liquid zone being 0. [W/K]

    References
    ----------
    Kays, W. M., London, A. L. (1984), Compact Heat Exchangers, 3rd ed., ch. 2; zones in series, e.g. Stoecker
    and Jones (1982), Refrigeration and Air Conditioning, ch. 12.

    Examples
    --------
    >>> zones = evaporating_zones(8e3, 288.0, 4.0, 278.0, 278.0, 283.0, 0.04, True)
    >>> [round(float(zone)) for zone in zones]
    [989, 45, 0]
    """
    leaving = entering_k - change_k
    between = np.where(counterflow, entering_k - vapour_share * change_k, leaving + vapour_share * change_k)
    wet_end = np.where(counterflow, leaving, entering_k)
    dry_end = np.where(counterflow, entering_k, leaving)
    at_dew = soften(between - dew_k, floor_k)
    at_inlet = soften(wet_end - inlet_k, floor_k)
    return ZoneConductances(
        (1 - vapour_share) * heat_w / mean_difference(at_inlet, at_dew),
        vapour_share * heat_w / mean_difference(soften(dry_end - vapour_k, floor_k), at_dew),
        0.0 * heat_w,
    )
