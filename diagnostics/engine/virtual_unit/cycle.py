"""The refrigerant around the circuit at trial unknowns, and how much of it that holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.batch import Batch
from diagnostics.engine.virtual_unit.charge import (
    accumulator_mass_kg,
    air_pressure_pa,
    exchanger_mass_kg,
    receiver_mass_kg,
)
from diagnostics.engine.virtual_unit.compressor import Compression, compress, volumetric_efficiency
from diagnostics.engine.virtual_unit.properties import Saturation
from diagnostics.engine.virtual_unit.room import bent, subcooling_room_k, superheat_room_k
from diagnostics.engine.virtual_unit.slices import Slices, liquid_side_enthalpy
from diagnostics.engine.virtual_unit.streams import Stream
from diagnostics.engine.virtual_unit.vapour import Array, vapour_value


@dataclass(frozen=True, slots=True)
class Cycle:
    """The refrigerant's states at trial unknowns, in SI; `idle` surface [-] of condenser and evaporator."""

    superheat_k: Array
    subcooling_k: Array
    idle: tuple[Array, Array]
    low: Saturation
    high: Saturation
    head_pa: Array
    suction_pa: Array
    air_pa: Array
    compression: Compression
    refrigerant_kg_per_s: Array
    liquid_k: Array
    rho_liquid_line: Array
    h_liquid: Array
    h_outlet: Array


def cycle_at(batch: Batch, unknowns: Array, streams: tuple[Stream, Stream]) -> Cycle:
    """States around the circuit; superheat and subcooling kept within what the streams allow.

    Parameters
    ----------
    batch : Batch
        The machines.
    unknowns : array
        Evaporating dew, condensing dew, unbent superheat and subcooling. [K]
    streams : tuple
        The condenser's and the evaporator's stream.

    Returns
    -------
    Cycle
        All states, in SI.

    References
    ----------
    Vapour compression cycle (Moran & Shapiro, Engineering Thermodynamics, ch. 10, from memory).

    Examples
    --------
    See `solver.solve_many`.
    """
    faults = batch.faults
    low, high = batch.table.saturation(unknowns[:, 0]), batch.table.saturation(unknowns[:, 1])
    air = air_pressure_pa(faults.air_share * batch.rest_pressure_pa, gas_share(batch), high.dew_k)
    head, suction = _gauges(batch, low, high, air)
    against = subcooling_room_k(streams[0], high, high.h_vapour, 0.0 * high.dew_k)
    h_inlet = _liquid_line(batch, high, bent(unknowns[:, 3], against)[0])[2]
    room = superheat_room_k(streams[1], low, h_inlet, _flow_at_dew(batch, low, head, suction))
    superheat, idle_up = bent(unknowns[:, 2], room)
    pumped = compress(
        batch.unit.compressor,
        low,
        superheat,
        high,
        head,
        suction_pa=suction,
        share=batch.stage_share,
        wear=faults.compressor_wear,
        leak=faults.reversing_valve_leak,
    )
    flow = pumped.flow_kg_per_s * (1.0 - faults.reversing_valve_leak)
    room = subcooling_room_k(streams[0], high, pumped.h_discharge, flow)
    subcooling, idle_down = bent(unknowns[:, 3], room)
    liquid_k, rho_liquid, h_liquid = _liquid_line(batch, high, subcooling)
    return Cycle(
        superheat_k=superheat,
        subcooling_k=subcooling,
        idle=(idle_down, idle_up),
        low=low,
        high=high,
        head_pa=head,
        suction_pa=suction,
        air_pa=air,
        compression=pumped,
        refrigerant_kg_per_s=flow,
        liquid_k=liquid_k,
        rho_liquid_line=rho_liquid,
        h_liquid=h_liquid,
        h_outlet=vapour_value(low.h_vapour, low.enthalpy_terms, superheat),
    )


def charge_held_kg(
    batch: Batch, needs: tuple[Array, Array], ways: tuple[Slices, Slices], cycle: Cycle
) -> Array:
    """Refrigerant that a state holds: both exchangers, liquid line, receiver, accumulator.

    Parameters
    ----------
    batch : Batch
        The machines.
    needs : tuple of arrays
        Surface by slice, condenser's and evaporator's. [m2 or share]
    ways : tuple of Slices
        Their slices.
    cycle : Cycle
        The states.

    Returns
    -------
    array
        Mass. [kg]

    References
    ----------
    Rice (1987), ASHRAE Transactions 93(1), charge inventory by void fraction (from memory).

    Examples
    --------
    See `solver.solve_many`.
    """
    volumes, facts = volumes_m3(batch), batch.unit.charge
    line = facts.line_volume_m3 * cycle.rho_liquid_line
    return np.asarray(
        exchanger_mass_kg(volumes[0], needs[0], ways[0].density)
        + exchanger_mass_kg(volumes[1], needs[1], ways[1].density)
        + line
        + receiver_mass_kg(
            facts.receiver_volume_m3, cycle.subcooling_k, cycle.rho_liquid_line, cycle.high.rho_vapour
        )
        + accumulator_mass_kg(facts.accumulator_volume_m3, cycle.superheat_k, cycle.low.rho_liquid)
    )


def charge_put_in_kg(batch: Batch) -> Array:
    """Refrigerant in the circuit: the maker's charge with what is too much or too little.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    array
        Mass. [kg]

    References
    ----------
    None: a product.

    Examples
    --------
    See `solver.solve_many`.
    """
    faults = batch.faults
    return np.asarray(batch.unit.charge.total_kg * (1.0 + faults.overcharged - faults.undercharged))


def volumes_m3(batch: Batch) -> tuple[Array, Array]:
    """Refrigerant volumes of condenser and evaporator.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    tuple of arrays
        Volumes. [m3]

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    See `solver.solve_many`.
    """
    water = np.asarray(batch.unit.exchanger.refrigerant_volume_m3)
    other = batch.unit.evaporator if batch.chiller else batch.unit.coil
    assert other is not None
    other_volume = np.asarray(other.refrigerant_volume_m3)
    return (water, other_volume) if batch.cooling else (other_volume, water)


def gas_share(batch: Batch) -> Array:
    """Vapour space of the condenser over that of the whole circuit while running.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    array
        Share; seven tenths of a condenser and nine tenths of an evaporator are taken as vapour. [-]

    References
    ----------
    Common practice: typical void fractions.

    Examples
    --------
    See `solver.solve_many`.
    """
    condenser, evaporator = volumes_m3(batch)
    return np.asarray(0.7 * condenser / (0.7 * condenser + 0.9 * evaporator))


def _liquid_line(batch: Batch, high: Saturation, subcooling: Array) -> tuple[Array, Array, Array]:
    """Temperature [K], density [kg/m3] and enthalpy [J/kg] behind the condenser."""
    liquid_k = high.bubble_k - np.maximum(subcooling, 0.0)
    h_cold, rho_cold = batch.table.liquid(liquid_k)
    return liquid_k, rho_cold, np.asarray(liquid_side_enthalpy(high, subcooling, h_cold))


def _flow_at_dew(batch: Batch, low: Saturation, head: Array, suction: Array) -> Array:
    """Refrigerant flow [kg/s] were the suction at dew."""
    efficiency = volumetric_efficiency(batch.unit.compressor, head / suction, batch.faults.compressor_wear)
    dense = low.rho_vapour * suction / low.pressure_pa
    full = batch.unit.compressor.displacement_m3_per_s * batch.stage_share * dense * efficiency
    return np.asarray(full * (1.0 - batch.faults.reversing_valve_leak))


def _gauges(batch: Batch, low: Saturation, high: Saturation, air: Array) -> tuple[Array, Array]:
    """Pressures [Pa] at the compressor: head with air and line loss, suction less line loss."""
    unit = batch.unit
    moved = unit.compressor.displacement_m3_per_s * batch.stage_share * low.rho_vapour * 0.9
    loss = unit.line_loss_pa * (moved / unit.exchanger.rating_refrigerant_kg_per_s) ** 2
    head, suction = high.pressure_pa + air, low.pressure_pa
    if batch.cooling:
        return head + loss, suction
    return head, np.maximum(suction - loss, 0.5 * suction)
