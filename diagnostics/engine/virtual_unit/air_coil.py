"""The air coil of a water-to-air heat pump: what share of the coil each zone of the refrigerant asks for.

Air crosses the whole coil at its entering state, so a zone that takes the share f of the coil meets the
share f of the air, and the shares that the zones need follow in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.psychrometrics import (
    CP_DRY,
    CP_VAPOUR,
    enthalpy_j_per_kg,
    humidity_ratio,
    saturated_enthalpy_j_per_kg,
    saturated_humidity_ratio,
)
from diagnostics.engine.virtual_unit.slices import Slices
from diagnostics.engine.virtual_unit.vapour import Array, Number
from diagnostics.engine.virtual_unit.water_exchanger import crossing_factor, mean_difference

AIR_EXPONENT = 0.6
WET_STEP_K = 4.0


@dataclass(frozen=True, slots=True)
class AirCoil:
    """A finned coil: design air flow [kg/s dry], air-side conductance [W/K], two-phase refrigerant-side
    conductance

    [W/K], single-phase share of it [-], refrigerant volume [m3].
    """

    design_air_kg_per_s: Number
    air_side_w_per_k: Number
    refrigerant_side_w_per_k: Number
    refrigerant_volume_m3: Number
    single_phase_ratio: Number = 0.4


@dataclass(frozen=True, slots=True)
class AirDuty:
    """Share of the coil by slice [-] and heat [W]."""

    shares: Array
    heat_w: Number


def dry_effectiveness(air_side: Number, refrigerant_side: Number, air_rate: Number) -> Number:
    """Effectiveness of a zone whose refrigerant side is isothermal along the air's way.

    eps = 1 - exp(-NTU), NTU = 1/(1/UA_air + 1/UA_refrigerant)/C_air.

    Parameters
    ----------
    air_side, refrigerant_side : array
        Conductances of the whole coil. [W/K]
    air_rate : array
        Capacity rate of the air. [W/K]

    Returns
    -------
    array
        Effectiveness. [-]

    References
    ----------
    Incropera & DeWitt, ch. 11, table 11.3, C_r = 0.

    Examples
    --------
    >>> round(float(dry_effectiveness(2000.0, 2000.0, 1000.0)), 5)
    0.63212
    """
    return 1.0 - np.exp(-1.0 / (1.0 / air_side + 1.0 / refrigerant_side) / air_rate)


def wet_effectiveness(
    air_side: Number, refrigerant_side: Number, air_kg_per_s: Number, slope: Number
) -> Number:
    """Effectiveness on enthalpy of a coil that is wet all over.

    NTU* = 1/(cp/UA_air + b/UA_refrigerant)/m with b the slope of saturated enthalpy over temperature.

    Parameters
    ----------
    air_side, refrigerant_side : array
        Conductances of the whole coil. [W/K]
    air_kg_per_s : array
        Dry air flow. [kg/s]
    slope : array
        Slope b of saturated enthalpy. [J/(kg.K)]

    Returns
    -------
    array
        Effectiveness on enthalpy. [-]

    References
    ----------
    Braun, Klein & Mitchell (1989), ASHRAE Transactions 95(2), effectiveness of cooling coils (from memory).

    Examples
    --------
    >>> round(float(wet_effectiveness(2000.0, 2000.0, 1.0, 1006.0 * 1.0)), 3)
    0.627
    """
    moist = CP_DRY + 0.01 * CP_VAPOUR
    return 1.0 - np.exp(-1.0 / (moist / air_side + slope / refrigerant_side) / air_kg_per_s)


def condensing_duty(
    coil: AirCoil, slices: Slices, refrigerant_kg_per_s: Number, air_k: Number, air_kg_per_s: Number
) -> AirDuty:
    """Shares of the coil that desuperheat, condensation and subcooling need.

    Parameters
    ----------
    coil : AirCoil
        The coil.
    slices : Slices
        The refrigerant's way.
    refrigerant_kg_per_s, air_kg_per_s : array
        Flows. [kg/s]
    air_k : array
        Entering air. [K]

    Returns
    -------
    AirDuty
        Shares [-] and heat [W].

    References
    ----------
    Closed form of crossflow with air at its entering state along the refrigerant's way.

    Examples
    --------
    See the tests.
    """
    rate = air_kg_per_s * CP_DRY
    air_side = coil.air_side_w_per_k * (air_kg_per_s / coil.design_air_kg_per_s) ** AIR_EXPONENT
    heats = np.maximum(slices.heat, 0.0) * refrigerant_kg_per_s[:, None]
    inside = np.where(slices.two_phase > 0.5, 1.0, coil.single_phase_ratio[:, None])
    effectiveness = dry_effectiveness(
        air_side[:, None], coil.refrigerant_side_w_per_k[:, None] * inside, rate[:, None]
    )
    ends = slices.t_start - air_k[:, None], slices.t_end - air_k[:, None]
    mean = mean_difference(*ends)
    shares = crossing_factor(*ends) * heats / (rate[:, None] * effectiveness * mean)
    return AirDuty(shares, heats.sum(axis=1))


def evaporating_duty(
    coil: AirCoil,
    slices: Slices,
    refrigerant_kg_per_s: Number,
    air_k: Number,
    wet_bulb_k: Number,
    air_kg_per_s: Number,
) -> AirDuty:
    """Shares of the coil that evaporation (wet or dry, whichever gives more) and superheat need.

    Parameters
    ----------
    coil : AirCoil
        The coil.
    slices : Slices
        The refrigerant's way.
    refrigerant_kg_per_s, air_kg_per_s : array
        Flows. [kg/s]
    air_k, wet_bulb_k : array
        Entering air. [K]

    Returns
    -------
    AirDuty
        Shares [-] and heat [W].

    References
    ----------
    Braun, Klein & Mitchell (1989), ASHRAE Transactions 95(2): a partly wet coil lies near the larger of both.

    Examples
    --------
    See the tests.
    """
    ratio = humidity_ratio(air_k, wet_bulb_k)
    h_air = enthalpy_j_per_kg(air_k, ratio)
    rate = air_kg_per_s * (CP_DRY + ratio * CP_VAPOUR)
    air_side = coil.air_side_w_per_k * (air_kg_per_s / coil.design_air_kg_per_s) ** AIR_EXPONENT
    inside = coil.refrigerant_side_w_per_k
    heats = np.maximum(slices.heat, 0.0) * refrigerant_kg_per_s[:, None]
    middle = 0.5 * (slices.t_start + slices.t_end)
    full = dry_effectiveness(air_side, inside * coil.single_phase_ratio, rate)
    ends = air_k[:, None] - slices.t_start, air_k[:, None] - slices.t_end
    mean, crossed = mean_difference(*ends), crossing_factor(*ends)
    dry = dry_effectiveness(air_side, inside, rate)[:, None] * rate[:, None] * mean
    wet = _wet_flux(air_side, inside, air_kg_per_s, h_air, middle)
    two_phase = 0.5 * (dry + wet + np.sqrt((dry - wet) ** 2 + (0.01 * dry) ** 2))
    flux = np.where(slices.two_phase > 0.5, two_phase, full[:, None] * rate[:, None] * mean)
    return AirDuty(crossed * heats / flux, heats.sum(axis=1))


def _wet_flux(air_side: Array, inside: Array, air_kg_per_s: Array, h_air: Array, surface_k: Array) -> Array:
    """Heat [W] that the whole coil would take if wet and at each slice's temperature."""
    h_surface = saturated_enthalpy_j_per_kg(surface_k)
    slope = (saturated_enthalpy_j_per_kg(surface_k + WET_STEP_K) - h_surface) / WET_STEP_K
    effectiveness = wet_effectiveness(air_side[:, None], inside[:, None], air_kg_per_s[:, None], slope)
    potential = h_air[:, None] - h_surface
    potential = 0.5 * (potential + np.sqrt(potential**2 + 200.0**2))
    return np.asarray(air_kg_per_s[:, None] * effectiveness * potential)


def leaving_air_k(
    coil: AirCoil, heat_w: Number, air_k: Number, wet_bulb_k: Number, air_kg_per_s: Number, cooled: bool
) -> Number:
    """Dry bulb of the air that leaves the coil.

    Warmed air takes all heat as temperature. Cooled air goes from its entering state towards the
    surface's by the share 1 - exp(-NTU_air); a surface below the dew point is saturated.

    Parameters
    ----------
    coil : AirCoil
        The coil.
    heat_w : array
        Heat taken from or given to the air. [W]
    air_k, wet_bulb_k : array
        Entering air. [K]
    air_kg_per_s : array
        Dry air flow. [kg/s]
    cooled : bool
        Whether the air is cooled.

    Returns
    -------
    array
        Leaving dry bulb. [K]

    References
    ----------
    Apparatus dew point and bypass: ASHRAE Systems and Equipment, Air-Cooling Coils (from memory).

    Examples
    --------
    >>> coil = AirCoil(1.0, 1500.0, 3000.0, 1e-3)
    >>> round(float(leaving_air_k(coil, 10060.0, np.array(293.15), np.array(288.15), 1.0, False)) - 293.15, 1)
    9.8
    """
    ratio = humidity_ratio(air_k, wet_bulb_k)
    moist = CP_DRY + ratio * CP_VAPOUR
    if not cooled:
        return air_k + heat_w / (air_kg_per_s * moist)
    h_air = enthalpy_j_per_kg(air_k, ratio)
    air_side = coil.air_side_w_per_k * (air_kg_per_s / coil.design_air_kg_per_s) ** AIR_EXPONENT
    contact = 1.0 - np.exp(-air_side / (air_kg_per_s * moist))
    h_surface = h_air - heat_w / (air_kg_per_s * contact)
    surface = air_k - (h_air - h_surface) / moist
    wet = np.maximum(surface, 263.15)
    for _ in range(8):
        slope = (saturated_enthalpy_j_per_kg(wet + 0.1) - saturated_enthalpy_j_per_kg(wet)) / 0.1
        wet = np.clip(wet + (h_surface - saturated_enthalpy_j_per_kg(wet)) / slope, 253.15, 313.15)
    surface = np.where(saturated_humidity_ratio(wet) < ratio, wet, surface)
    return air_k - contact * (air_k - surface)
