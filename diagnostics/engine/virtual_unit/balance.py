"""The four equations of a running machine: both exchangers, the expansion device and the charge.

Unknowns are the two dew temperatures and the unbent superheat and subcooling. All else follows in closed
form.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.virtual_unit import water_exchanger
from diagnostics.engine.virtual_unit.air_coil import AirDuty, condensing_duty, evaporating_duty
from diagnostics.engine.virtual_unit.batch import Batch
from diagnostics.engine.virtual_unit.charge import air_film_factor
from diagnostics.engine.virtual_unit.cycle import Cycle, charge_held_kg, charge_put_in_kg, cycle_at
from diagnostics.engine.virtual_unit.expansion import flow_kg_per_s, opening
from diagnostics.engine.virtual_unit.slices import Slices, condensing_slices, evaporating_slices
from diagnostics.engine.virtual_unit.streams import Stream, WaterStream, streams_of
from diagnostics.engine.virtual_unit.vapour import Array
from diagnostics.engine.virtual_unit.water_exchanger import WaterDuty

BULB_SHIFT_K, FIXED_SHARE = 3.0, 0.3
CHARGE_WEIGHT = 3.0
HELD_K = 10.0


@dataclass(frozen=True, slots=True)
class Balance:
    """One evaluation: residuals (machine, equation) [-] and every state behind them, in SI."""

    residuals: Array
    cycle: Cycle
    charge_kg: Array
    condenser: WaterDuty | AirDuty
    evaporator: WaterDuty | AirDuty


def evaluate(batch: Batch, unknowns: Array, streams: tuple[Stream, Stream] | None = None) -> Balance:
    """Residuals of the four equations at trial unknowns.

    Logarithms of area needed over area had (condenser, evaporator) and of valve flow over compressor
    flow; the charge's relative error. All vanish at the machine's state.

    Parameters
    ----------
    batch : Batch
        The machines.
    unknowns : array
        Evaporating dew, condensing dew, unbent superheat and subcooling; one row a machine. [K]
    streams : tuple, optional
        The batch's streams where they are at hand.

    Returns
    -------
    Balance
        Residuals [-] and all states.

    References
    ----------
    Component models joined as in Rice & Jackson (1994), heat pump design model (from memory).

    Examples
    --------
    See `solver.solve_many`.
    """
    streams = streams or streams_of(batch)
    cycle = cycle_at(batch, unknowns, streams)
    tilt = _tilts(batch)
    way_down = condensing_slices(
        cycle.high,
        cycle.compression.discharge_superheat_k,
        cycle.compression.h_discharge,
        cycle.subcooling_k,
        cycle.h_liquid,
        tilt[0],
    )
    way_up = evaporating_slices(cycle.low, cycle.h_liquid, cycle.superheat_k, cycle.h_outlet, tilt[1])
    film = air_film_factor(cycle.air_pa, cycle.high.pressure_pa)
    condenser = _condenser(streams[0], way_down, cycle.refrigerant_kg_per_s, film)
    evaporator = _evaporator(streams[1], way_up, cycle.refrigerant_kg_per_s)
    sizes = _sizes(batch)
    needs = (_needs(condenser, cycle.idle[0], sizes[0]), _needs(evaporator, cycle.idle[1], sizes[1]))
    charge = charge_held_kg(batch, needs, (way_down, way_up), cycle)
    valve = _valve_flow(batch, cycle)
    residuals = np.stack(
        [
            np.log(needs[0].sum(axis=1) / sizes[0]),
            np.log(needs[1].sum(axis=1) / sizes[1]),
            _held(np.log(valve / cycle.refrigerant_kg_per_s), cycle.superheat_k, batch.fixed_superheat_k),
            _held(
                CHARGE_WEIGHT * (charge / charge_put_in_kg(batch) - 1.0),
                cycle.subcooling_k,
                batch.fixed_subcooling_k,
            ),
        ],
        axis=1,
    )
    return Balance(residuals, cycle, charge, condenser, evaporator)


def _held(residual: Array, value: Array, target: Array) -> Array:
    """The equation, or, where a target is given, the distance from it."""
    return np.where(np.isnan(target), residual, (value - np.nan_to_num(target)) / HELD_K)


def _sizes(batch: Batch) -> tuple[Array, Array]:
    """Area [m2] of a water exchanger, 1 of a coil: condenser, evaporator."""
    area = np.asarray(batch.unit.exchanger.area_m2)
    other = np.asarray(batch.unit.evaporator.area_m2) if batch.unit.evaporator else np.ones(batch.size)
    return (area, other) if batch.cooling else (other, area)


def _tilts(batch: Batch) -> tuple[Array, Array]:
    """Tilt of the two-phase films: condenser, evaporator. [-]"""
    tilt = np.asarray(batch.unit.exchanger.quality_slope)
    other = np.asarray(batch.unit.evaporator.quality_slope) if batch.unit.evaporator else np.zeros(batch.size)
    return (tilt, other) if batch.cooling else (other, tilt)


def _needs(duty: WaterDuty | AirDuty, idle: Array, size: Array) -> Array:
    """Surface by slice as in `_sizes`; idle surface lies at the refrigerant's outlet."""
    needed = duty.areas_m2 if isinstance(duty, WaterDuty) else duty.shares
    return np.concatenate([needed[:, :-1], needed[:, -1:] + (idle * size)[:, None]], axis=1)


def _condenser(stream: Stream, way: Slices, flow: Array, film: Array) -> WaterDuty | AirDuty:
    if isinstance(stream, WaterStream):
        return _water_duty(stream, way, flow, True, film)
    coil = replace(stream.coil, refrigerant_side_w_per_k=stream.coil.refrigerant_side_w_per_k * film)
    return condensing_duty(coil, way, flow, stream.entering_k, stream.flow_kg_per_s)


def _evaporator(stream: Stream, way: Slices, flow: Array) -> WaterDuty | AirDuty:
    if isinstance(stream, WaterStream):
        return _water_duty(stream, way, flow, False, 1.0)
    return evaporating_duty(
        stream.coil, way, flow, stream.entering_k, stream.wet_bulb_k, stream.flow_kg_per_s
    )


def _water_duty(
    stream: WaterStream, way: Slices, flow: Array, cooling: bool, film: Array | float
) -> WaterDuty:
    return water_exchanger.duty(
        stream.exchanger,
        stream.fluid,
        way,
        cooling=cooling,
        refrigerant_kg_per_s=flow,
        entering_k=stream.entering_k,
        water_kg_per_s=stream.flow_kg_per_s,
        fouling_m2k_per_w=stream.fouling_m2k_per_w,
        counterflow=stream.counterflow,
        film_factor=film,
        water_factor=stream.film_factor,
    )


def _valve_flow(batch: Batch, cycle: Cycle) -> Array:
    """Flow [kg/s] through the expansion device of the mode."""
    device = batch.unit.cooling_expansion if batch.cooling else batch.unit.heating_expansion
    faults, high = batch.faults, cycle.high
    area = device.full_area_m2 * opening(
        device, cycle.superheat_k, BULB_SHIFT_K * faults.metering_overfeeding
    )
    wider = 1.0 + faults.metering_overfeeding * np.where(device.fixed > 0.5, FIXED_SHARE, 1.0)
    return np.asarray(
        flow_kg_per_s(
            area * (1.0 - faults.metering_restricted) * wider,
            cycle.head_pa,
            cycle.suction_pa,
            cycle.rho_liquid_line,
            high.rho_vapour,
            (cycle.h_liquid - high.h_liquid) / (high.h_vapour - high.h_liquid),
            cycle.subcooling_k,
            device.fixed,
        )
    )
