"""The expansion device: thermostatic, electronic or a fixed orifice."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.vapour import Number

SUBCOOLING_GAIN_PER_K = 0.012
LEAST_OPENING = 0.02


@dataclass(frozen=True, slots=True)
class Expansion:
    """One expansion device.

    `full_area_m2` [m2] is the effective flow area wide open; `static_superheat_k` [K] is where it begins
    to open and `range_k` [K] the superheat it needs beyond that to open fully; `fixed` is 1 for an
    orifice without control.
    """

    full_area_m2: Number
    static_superheat_k: Number = 3.5
    range_k: Number = 5.0
    fixed: Number = 0.0


def opening(device: Expansion, superheat_k: Number, bulb_shift_k: Number = 0.0) -> Number:
    """Share of the full area that is open.

    A smooth ramp from shut to open across the range; an orifice is always open.

    Parameters
    ----------
    device : Expansion
        The device.
    superheat_k : array
        Superheat at the bulb. [K]
    bulb_shift_k : array
        Superheat by which a loose or overcharged bulb opens early. [K]

    Returns
    -------
    array
        Opening, 0.02 to 1. [-]

    References
    ----------
    Static and opening superheat: ASHRAE Refrigeration, Refrigerant-Control Devices (from memory).

    Examples
    --------
    >>> round(float(opening(Expansion(1e-6), 6.0)), 2)
    0.51
    """
    place = (superheat_k + bulb_shift_k - device.static_superheat_k) / device.range_k
    ramp = 0.5 * (1.0 + np.tanh(2.0 * (place - 0.5)))
    moving = LEAST_OPENING + (1.0 - LEAST_OPENING) * ramp
    return np.where(np.asarray(device.fixed) > 0.5, 1.0, moving)


def flow_kg_per_s(
    area_m2: Number,
    head_pa: Number,
    suction_pa: Number,
    rho_liquid: Number,
    rho_vapour: Number,
    quality: Number,
    subcooling_k: Number,
    fixed: Number,
) -> Number:
    """Refrigerant flow through an opening.

    m = A sqrt(2 rho dp); vapour at the inlet chokes it by the homogeneous density; through a short orifice
    subcooling adds 1.2 % a kelvin.

    Parameters
    ----------
    area_m2 : array
        Effective area. [m2]
    head_pa, suction_pa : array
        Pressures before and behind. [Pa]
    rho_liquid, rho_vapour : array
        Densities at the inlet. [kg/m3]
    quality : array
        Vapour quality at the inlet. [-]
    subcooling_k : array
        Subcooling at the inlet. [K]
    fixed : array
        1 for an orifice. [-]

    Returns
    -------
    array
        Flow. [kg/s]

    References
    ----------
    Orifice equation; vapour: homogeneous two-phase multiplier; orifice: Aaron & Domanski (1990), ASHRAE
    Transactions 96(1), subcooling effect (from memory).

    Examples
    --------
    >>> round(float(flow_kg_per_s(2e-6, 2.4e6, 0.9e6, 1000.0, 90.0, 0.0, 0.0, 0.0)), 4)
    0.1095
    """
    drop = head_pa - suction_pa
    drop = 0.5 * (drop + np.sqrt(drop**2 + 2e4**2))
    thinned = 1.0 + np.clip(quality, 0.0, 1.0) * (rho_liquid / rho_vapour - 1.0)
    gain = 1.0 + SUBCOOLING_GAIN_PER_K * np.maximum(subcooling_k, 0.0) * fixed
    return area_m2 * gain * np.sqrt(2.0 * rho_liquid * drop / thinned)
