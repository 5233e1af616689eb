"""The surface model: what the zones' conductances add up to, against what a clean surface would give.

All resistances are told on the whole surface, in K/W. A set of true channel values gives the zones'
conductances K; a clean surface obeys r_water G + r_wall G + r_refrigerant sum(K / ratio) = 1 with G = sum K.
What is missing to 1 is the fouling's share: r_fouling = (1 - sum) / G, which is linear and needs no solving.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine.observation import Channel, Coefficients
from diagnostics.engine.zones import ZoneConductances, condensing_zones, evaporating_zones

Array = NDArray[np.float64]
Floats = Array | float

SINGLE_PHASE_LOAD_EXPONENT = 0.8
"""Single-phase films grow with mass flow, here heat, to this power (Dittus and Boelter 1930)."""


PINCH_K = 0.07
"""End differences are softened below this, far inside the clamps' errors."""


class Transfer(NamedTuple):
    """What a set's true channel values mean: heat [W], capacity rate [W/K], zones [W/K], temperatures [K]."""

    heat_w: Floats
    capacity_rate_w_per_k: Floats
    change_k: Floats
    ln_mass_flow: Floats
    zones: ZoneConductances
    saturation_k: Floats
    total_w_per_k: Floats


class CleanSurface(NamedTuple):
    """The clean surface's quantities: ln of total resistance at the reference point, shares, exponents,
    ratios."""

    ln_total: Floats
    water_share: Floats
    wall_share: Floats
    water_exponent: Floats
    ln_refrigerant_ratio: Floats
    load_exponent: Floats
    temperature_slope: Floats
    vapour_ratio: Floats
    liquid_ratio: Floats


def transfer(
    mode: str, c: Coefficients, nominal_ln_p: Floats, true: list[Floats], counterflow: Floats
) -> Transfer:
    """Heat and zone conductances from true channel values."""
    entering, leaving = true[Channel.ENTERING], true[Channel.LEAVING]
    departure = true[Channel.PRESSURE] - nominal_ln_p
    dew = c.dew0 + departure * (c.dew1 + departure * c.dew2)
    change = leaving - entering if mode == "cooling" else entering - leaving
    rate = np.exp(true[Channel.FLOW]) * c.specific_heat
    heat = rate * change
    vapour = c.vapour_cp * (true[Channel.THIRD] - dew)
    latent = c.latent0 + c.latent1 * departure
    if mode == "cooling":
        bubble = c.bubble0 + departure * (c.bubble1 + departure * c.bubble2)
        liquid_line = above_entering(true[Channel.LIQUID], entering, c.liquid_room_k)
        liquid = c.liquid_cp * (bubble - liquid_line)
        whole = latent + vapour + liquid
        zones = condensing_zones(
            heat,
            entering,
            change,
            true[Channel.THIRD],
            dew,
            bubble,
            liquid_line,
            vapour / whole,
            liquid / whole,
            PINCH_K,
        )
        saturation = 0.5 * (bubble + dew)
        total = zones.two_phase + zones.vapour + zones.liquid
    else:
        latent = latent + c.liquid_cp * (c.liquid_k - true[Channel.LIQUID])
        inlet = dew - c.glide
        share = vapour / (latent + vapour)
        zones = evaporating_zones(
            heat,
            entering,
            change,
            inlet,
            dew,
            true[Channel.THIRD],
            share,
            counterflow,  # type: ignore[arg-type]
            PINCH_K,
        )
        saturation = 0.5 * (inlet + dew)
        total = zones.two_phase + zones.vapour
    return Transfer(heat, rate, change, true[Channel.FLOW], zones, saturation, total)


def above_entering(liquid_k: Floats, entering_k: Floats, room_k: Floats) -> Floats:
    """Liquid line [K] kept above the entering water [K] where it is only assumed, over this room [K].

    A condenser can't subcool below its water: the usual subcooling is bent where the water leaves no
    room for it, alike on every visit, instead of pinching the end beyond belief. What was read stays.
    """
    room = np.maximum(room_k, 1e-9)
    ratio = (liquid_k - entering_k) / room
    bent = entering_k + room * np.logaddexp(0.0, ratio)
    return np.where(np.asarray(room_k) > 0, bent, liquid_k)


class Scale(NamedTuple):
    """The reference point: ln of mass flow [kg/s] on plain water at 25 degC, ln of heat [W], saturation
    [K]."""

    ln_mass_flow: float
    ln_heat: float
    saturation_k: float


def clean_sum(seen: Transfer, c: Coefficients, clean: CleanSurface, scale: Scale) -> tuple[Floats, Floats]:
    """Share of the driving difference that a clean surface would account for: 1 when clean, below when
    fouled.

    Beside it the part of that share which the single-phase films of vapour and liquid make.
    """
    total = np.exp(clean.ln_total)
    water = clean.water_share * np.exp(
        -clean.water_exponent * (seen.ln_mass_flow - c.viscosity - scale.ln_mass_flow) - c.film
    )
    ln_load = np.log(seen.heat_w) - scale.ln_heat
    refrigerant = (1 - clean.water_share - clean.wall_share) * np.exp(clean.ln_refrigerant_ratio)
    warmth = clean.temperature_slope * (seen.saturation_k - scale.saturation_k)
    two_phase = refrigerant * np.exp(clean.load_exponent * ln_load + warmth)
    single = refrigerant * np.exp(-SINGLE_PHASE_LOAD_EXPONENT * ln_load)
    zones = seen.zones
    gas_and_liquid = single * (zones.vapour / clean.vapour_ratio + zones.liquid / clean.liquid_ratio)
    shared = (water + clean.wall_share) * seen.total_w_per_k + two_phase * zones.two_phase
    whole = shared + gas_and_liquid
    return total * whole, gas_and_liquid / whole
