"""A reading set or a table row as the model sees it: six channels, their errors, and local property
coefficients.

The channels are entering water, leaving water, logarithm of the water flow, logarithm of the pressure on the
water side's refrigerant, liquid line, and the third refrigerant temperature (discharge while cooling, suction
line while heating). What was not read is given the value such machines usually show, with the width of what
they may show: a habit of the machine that repeats, and a part that is new every time. So the lumped solution
is not another method but the zone solution without the line temperatures' evidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine.refrigerants import Refrigerant
from diagnostics.engine.unknowns import Key
from diagnostics.engine.waters import Water

Array = NDArray[np.float64]

REFERENCE_WATER_K = 298.15


class Channel(IntEnum):
    """Places of the six channels."""

    ENTERING = 0
    LEAVING = 1
    FLOW = 2
    PRESSURE = 3
    LIQUID = 4
    THIRD = 5


CHANNELS = len(Channel)


class Error(NamedTuple):
    """One source of error of a channel: weight times a quantity of standard uncertainty `spread`.

    The `key` tells which errors are one and the same quantity: it repeats from set to set, unless its first
    word is NEW, which makes it this set's own. `group` is the column of readings it belongs to.
    """

    channel: Channel
    weight: float
    spread: float
    group: str
    key: Key
    rectangular: bool = True
    mean: float = 0.0


NEW = "new"


@dataclass(frozen=True, slots=True)
class Observation:
    """Nominal values of the channels with their errors, and coefficients that make draws cheap.

    `values` by channel; `coefficients` in the order of `Coefficients`: polynomials of bubble and dew
    temperature [K] in the departure of ln p, the fall of the temperature at the inlet quality below dew [K],
    latent heat [J/kg] (heating: dew above the liquid before the valve) with its slope in ln p, specific heats
    [J/(kg K)] of vapour and liquid, the liquid line [K], the water's specific heat [J/(kg K)], ln(mu/mu0),
    the part of ln(water film) that does not depend on the exponent, and the room [K] that an assumed liquid
    line keeps above the entering water. `allowance_k_per_w` [K/W] is a
    fouling allowance that a maker's table holds.
    """

    mode: str
    stage: str
    values: tuple[float, ...]
    errors: tuple[Error, ...]
    coefficients: tuple[float, ...]
    counterflow: bool = True
    assumed: tuple[str, ...] = ()
    is_table: bool = False
    allowance_k_per_w: float = 0.0


class Coefficients(NamedTuple):
    """Names of the numbers in `Observation.coefficients`, each an array when several sets are stacked."""

    bubble0: Array | float
    bubble1: Array | float
    bubble2: Array | float
    dew0: Array | float
    dew1: Array | float
    dew2: Array | float
    glide: Array | float
    latent0: Array | float
    latent1: Array | float
    vapour_cp: Array | float
    liquid_cp: Array | float
    liquid_k: Array | float
    specific_heat: Array | float
    viscosity: Array | float
    film: Array | float
    liquid_room_k: Array | float


ASSUMED_LIQUID_ROOM_K = 1.0
"""A subcooling that was not read brings the liquid no nearer to the entering water than about this."""


def coefficients(
    fluid: Refrigerant, liquid: Water, mode: str, values: tuple[float, ...], assumed: Sequence[str] = ()
) -> tuple[float, ...]:
    """Local property coefficients around the nominal values of the channels."""
    ln_p = values[Channel.PRESSURE]
    step = 0.02
    p = np.exp(np.array([ln_p - step, ln_p, ln_p + step]))
    bubble, dew = fluid.bubble_temperature_k(p), fluid.dew_temperature_k(p)
    middle = float(p[1])
    if mode == "cooling":
        heats = _condensing_heats(fluid, p, float(bubble[1]), float(dew[1]), values)
        glide = 0.0
    else:
        heats = _evaporating_heats(fluid, p, float(dew[1]), values)
        enthalpy = float(fluid.liquid_enthalpy_j_per_kg(values[Channel.LIQUID]))
        glide = float(dew[1] - fluid.evaporating_inlet_temperature_k(middle, enthalpy))
    mean_water = 0.5 * (values[Channel.ENTERING] + values[Channel.LEAVING])
    return (
        *_parabola(bubble, step),
        *_parabola(dew, step),
        glide,
        *heats,
        float(liquid.specific_heat_j_per_kg_k(mean_water)),
        *film_terms(liquid, mean_water),
        ASSUMED_LIQUID_ROOM_K if mode == "cooling" and "liquid_line" in assumed else 0.0,
    )


def _parabola(at: Array, step: float) -> tuple[float, float, float]:
    low, middle, high = (float(value) for value in at)
    return middle, (high - low) / (2 * step), (high - 2 * middle + low) / (2 * step * step)


def _condensing_heats(
    fluid: Refrigerant, p: Array, bubble: float, dew: float, values: tuple[float, ...]
) -> tuple[float, float, float, float, float]:
    gas = fluid.saturated_vapour_enthalpy_j_per_kg(p)
    latent = gas - fluid.saturated_liquid_enthalpy_j_per_kg(p)
    superheat = max(values[Channel.THIRD] - dew, 5.0)
    hot = float(fluid.vapour_enthalpy_j_per_kg(float(p[1]), dew + superheat))
    subcool = max(bubble - values[Channel.LIQUID], 3.0)
    boiling, cold = fluid.liquid_enthalpy_j_per_kg(np.array([bubble, bubble - subcool]))
    return (
        float(latent[1]),
        float(latent[2] - latent[0]) / 0.04,
        (hot - float(gas[1])) / superheat,
        float(boiling - cold) / subcool,
        values[Channel.LIQUID],
    )


def _evaporating_heats(
    fluid: Refrigerant, p: Array, dew: float, values: tuple[float, ...]
) -> tuple[float, float, float, float, float]:
    gas = fluid.saturated_vapour_enthalpy_j_per_kg(p)
    superheat = max(values[Channel.THIRD] - dew, 3.0)
    warm = float(fluid.vapour_enthalpy_j_per_kg(float(p[1]), dew + superheat))
    before, colder = fluid.liquid_enthalpy_j_per_kg(
        np.array([values[Channel.LIQUID], values[Channel.LIQUID] - 3.0])
    )
    return (
        float(gas[1] - before),
        float(gas[2] - gas[0]) / 0.04,
        (warm - float(gas[1])) / superheat,
        float(before - colder) / 3.0,
        values[Channel.LIQUID],
    )


def film_terms(liquid: Water, temperature_k: float) -> tuple[float, float]:
    """ln of viscosity, and ln of k^0.6 cp^0.4 mu^0.4, both against plain water at 25 degC."""
    viscosity = float(np.log(liquid.viscosity_pa_s(temperature_k) / _PLAIN_VISCOSITY))
    film = (
        0.6 * np.log(liquid.conductivity_w_per_m_k(temperature_k) / _PLAIN_CONDUCTIVITY)
        + 0.4 * np.log(liquid.specific_heat_j_per_kg_k(temperature_k) / _PLAIN_SPECIFIC_HEAT)
        + 0.4 * viscosity
    )
    return viscosity, float(film)


_PLAIN_VISCOSITY = 0.8900e-3
_PLAIN_CONDUCTIVITY = 0.6065
_PLAIN_SPECIFIC_HEAT = 4181.0
"""Plain water at 25 degC (IAPWS values, from memory): only the point from which films are scaled."""


def nearest_end_k(seen: Observation) -> float:
    """Smallest single-phase end difference of a set as read: below a kelvin or two the model bends sharply.
    [K]"""
    entering, leaving = seen.values[Channel.ENTERING], seen.values[Channel.LEAVING]
    if seen.mode == "cooling":
        return seen.values[Channel.LIQUID] - entering
    return (entering if seen.counterflow else leaving) - seen.values[Channel.THIRD]
