"""How far superheat and subcooling can go: to their stream's temperature and not beyond.

The solver's unknowns for superheat and subcooling are bent so that every trial lies within what the
streams allow. In counterflow and crossflow the stream meets the refrigerant's outlet as it enters; in
parallel flow it does so as it leaves, after taking or giving the very heat that the outlet's temperature
decides.
"""

from __future__ import annotations

import numpy as np

from diagnostics.engine.virtual_unit.properties import Saturation
from diagnostics.engine.virtual_unit.slices import LIQUID_HEAT
from diagnostics.engine.virtual_unit.streams import AirStream, Stream, WaterStream
from diagnostics.engine.virtual_unit.vapour import Array, Number, vapour_slope, vapour_value

LEAST_ROOM_K, MOST_UNITS, IDLE_A_UNIT = 0.5, 7.0, 0.05


def bent(unbent_k: Number, room_k: Number) -> tuple[Number, Number]:
    """Superheat or subcooling that can come near the stream's temperature but never pass it, and the idle
    surface.

    z -> D (1 - exp(-z/D)) above zero, D the room between saturation and stream; below zero unchanged.
    From z = 7 D on the outlet is at its stream's temperature but for a thousandth of D, and a longer way
    adds nothing but idle surface.

    Parameters
    ----------
    unbent_k : array
        The solver's unknown z. [K]
    room_k : array
        Room D. [K]

    Returns
    -------
    outlet : array
        Superheat or subcooling. [K]
    idle : array
        Idle surface over the whole surface. [-]

    References
    ----------
    Effectiveness of a stream against a constant temperature (Incropera & DeWitt, ch. 11).

    Examples
    --------
    >>> [round(float(part), 3) for part in bent(np.array(50.0), np.array(5.0))]
    [4.995, 0.15]
    """
    units = np.maximum(unbent_k, 0.0) / room_k
    idle = IDLE_A_UNIT * np.maximum(units - MOST_UNITS, 0.0)
    reached = -room_k * np.expm1(-np.minimum(units, MOST_UNITS))
    return np.where(unbent_k > 0.0, reached, unbent_k), idle


def superheat_room_k(stream: Stream, low: Saturation, h_inlet: Number, flow_at_dew: Number) -> Number:
    """Largest superheat that the evaporator's stream allows.

    Parameters
    ----------
    stream : WaterStream or AirStream
        The evaporator's stream.
    low : Saturation
        Saturation in the evaporator.
    h_inlet : array
        Enthalpy at the evaporator's inlet. [J/kg]
    flow_at_dew : array
        Refrigerant flow were the outlet at dew; it falls with the density as superheat rises. [kg/s]

    Returns
    -------
    array
        Room, at least half a kelvin. [K]

    References
    ----------
    Energy balance: leaving water = suction temperature at the limit.

    Examples
    --------
    See the tests.
    """
    against = stream.entering_k - low.dew_k
    if isinstance(stream, AirStream) or not (stream.counterflow < 0.5).any():
        return _at_least(against)
    room = np.maximum(0.5 * against, LEAST_ROOM_K)
    for _ in range(5):
        rate = _rate(stream, low.dew_k + room)
        thinner = np.exp(vapour_value(np.zeros_like(room), low.density_terms, room))
        moved = flow_at_dew * thinner / rate
        enthalpy = vapour_value(low.h_vapour, low.enthalpy_terms, room)
        error = against - moved * (enthalpy - h_inlet) - room
        slope = 1.0 + moved * vapour_slope(low.enthalpy_terms, room)
        slope = slope + moved * (enthalpy - h_inlet) * vapour_slope(low.density_terms, room)
        room = np.maximum(room + error / np.maximum(slope, 0.2), LEAST_ROOM_K)
    return _at_least(np.where(stream.counterflow < 0.5, room, against))


def subcooling_room_k(stream: Stream, high: Saturation, h_discharge: Number, flow: Number) -> Number:
    """Largest subcooling that the condenser's stream allows.

    Parameters
    ----------
    stream : WaterStream or AirStream
        The condenser's stream.
    high : Saturation
        Saturation in the condenser.
    h_discharge : array
        Enthalpy at the condenser's inlet. [J/kg]
    flow : array
        Refrigerant flow. [kg/s]

    Returns
    -------
    array
        Room, at least half a kelvin. [K]

    References
    ----------
    Energy balance: leaving water = liquid temperature at the limit.

    Examples
    --------
    See the tests.
    """
    against = high.bubble_k - stream.entering_k
    if isinstance(stream, AirStream) or not (stream.counterflow < 0.5).any():
        return _at_least(against)
    moved = flow / _rate(stream, high.bubble_k)
    room = (against - moved * (h_discharge - high.h_liquid)) / (1.0 + moved * LIQUID_HEAT)
    return _at_least(np.where(stream.counterflow < 0.5, room, against))


def _rate(stream: WaterStream, leaving_k: Array) -> Array:
    """Capacity rate [W/K] of the water with its specific heat at the mean temperature."""
    heat = stream.fluid.specific_heat_j_per_kg_k(0.5 * (stream.entering_k + leaving_k))
    return np.asarray(stream.flow_kg_per_s * heat)


def _at_least(room: Number) -> Array:
    """Smoothly above half a kelvin, so that a bad trial still has a way out."""
    return np.asarray(
        0.5 * (room + np.sqrt(room**2 + 4.0 * LEAST_ROOM_K**2 * np.exp(-np.maximum(room, 0.0))))
    )
