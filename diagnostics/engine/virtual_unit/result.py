"""From solved unknowns to the states that people read."""

from __future__ import annotations

from typing import Any

import numpy as np

from diagnostics.engine.virtual_unit.air_coil import AirDuty, leaving_air_k
from diagnostics.engine.virtual_unit.balance import Balance
from diagnostics.engine.virtual_unit.batch import Batch
from diagnostics.engine.virtual_unit.cycle import Cycle
from diagnostics.engine.virtual_unit.loop_water import pressure_drop
from diagnostics.engine.virtual_unit.streams import (
    AirStream,
    WaterStream,
    narrowing_of,
    read_stream,
    streams_of,
)
from diagnostics.engine.virtual_unit.unit import State
from diagnostics.engine.virtual_unit.vapour import Array, superheat_from
from diagnostics.engine.virtual_unit.water_exchanger import WaterDuty

CONVERGED, NEAR = 1e-5, 0.1
ABSENT = ("entering_air_k", "air_wet_bulb_k", "leaving_air_k", "other_leaving_water_k")


def states_of(batch: Batch, unknowns: Array, balance: Balance, share: Array) -> list[State]:
    """One state a machine.

    Parameters
    ----------
    batch : Batch
        The machines.
    unknowns : array
        Solved unknowns. [K]
    balance : Balance
        Evaluated there.
    share : array
        Share of the way that could be gone; below 1 the machine trips. [-]

    Returns
    -------
    list of State
        In the batch's order, in SI.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    See `solver.solve_many`.
    """
    columns = _columns(batch, unknowns, balance)
    columns["converged"] = columns["converged"] & (share >= 1.0)
    names = list(columns)
    rows = zip(*(np.broadcast_to(columns[name], batch.size).tolist() for name in names), strict=True)
    modes = np.where(batch.reads_condenser > 0.5, "cooling", "heating").tolist()
    beyond = _beyond(batch, columns, share)
    return [
        State(
            mode=mode,
            beyond=too_far,
            lockout=_lockout(row, too_far),
            **_known(row),
        )
        for mode, too_far, row in zip(
            modes, beyond, (dict(zip(names, values, strict=True)) for values in rows), strict=True
        )
    ]


def _known(row: dict[str, Any]) -> dict[str, Any]:
    """A state's fields without the helpers; what the machine does not have is None."""
    return {
        name: None if name in ABSENT and np.isnan(value) else value
        for name, value in row.items()
        if not name.startswith("_")
    }


def _columns(batch: Batch, unknowns: Array, balance: Balance) -> dict[str, Array]:
    read, other = _read_duty(batch, balance)
    side, cycle = read_stream(batch), balance.cycle
    power = cycle.compression.flow_kg_per_s * cycle.compression.work_j_per_kg
    factor = _power_factor(batch, power)
    residual = np.abs(balance.residuals).max(axis=1)
    air = other if isinstance(other, AirDuty) else None
    water = other if isinstance(other, WaterDuty) else None
    conditions, nothing = batch.conditions, np.full(batch.size, np.nan)
    return {
        "converged": residual < CONVERGED,
        "evaporating_dew_k": unknowns[:, 0],
        "condensing_dew_k": unknowns[:, 1],
        "condensing_bubble_k": cycle.high.bubble_k,
        "suction_pa": cycle.suction_pa,
        "head_pa": cycle.head_pa,
        "superheat_k": cycle.superheat_k,
        "subcooling_k": cycle.subcooling_k,
        "suction_line_k": _suction_line(cycle),
        "discharge_line_k": cycle.high.dew_k + np.maximum(cycle.compression.discharge_superheat_k, 0.0),
        "liquid_line_k": cycle.liquid_k,
        "refrigerant_kg_per_s": cycle.refrigerant_kg_per_s,
        "entering_water_k": side.entering_k,
        "leaving_water_k": read.leaving_k,
        "water_kg_per_s": side.flow_kg_per_s,
        "water_drop_pa": _drop(batch, side, 0.5 * (side.entering_k + read.leaving_k)),
        "heat_w": read.heat_w,
        "condenser_heat_w": balance.condenser.heat_w,
        "evaporator_heat_w": balance.evaporator.heat_w,
        "power_w": power,
        "amps_a": power / (batch.unit.volts_v * np.where(batch.unit.phases > 2.0, 3.0**0.5, 1.0) * factor),
        "power_factor": factor,
        "entering_air_k": conditions.air_k if air else nothing,
        "air_wet_bulb_k": conditions.air_wet_bulb_k if air else nothing,
        "leaving_air_k": _leaving_air(batch, air) if air else nothing,
        "other_leaving_water_k": water.leaving_k if water else nothing,
        "air_pa": cycle.air_pa,
        "charge_kg": balance.charge_kg,
        "residual": residual,
        "_high_head": cycle.head_pa - batch.unit.cutouts.high_head_pa,
        "_low_suction": batch.unit.cutouts.low_suction_pa - cycle.suction_pa,
        "_freeze": batch.unit.cutouts.freeze_k - read.leaving_k,
    }


def _read_duty(batch: Batch, balance: Balance) -> tuple[WaterDuty, WaterDuty | AirDuty]:
    """Duty of the exchanger read, and of the other one."""
    if not batch.chiller:
        water, air = balance.condenser, balance.evaporator
        if not batch.cooling:
            water, air = air, water
        assert isinstance(water, WaterDuty)
        return water, air
    assert isinstance(balance.condenser, WaterDuty) and isinstance(balance.evaporator, WaterDuty)
    read = batch.reads_condenser > 0.5
    pairs = [
        (getattr(balance.condenser, name), getattr(balance.evaporator, name))
        for name in ("heat_w", "leaving_k")
    ]
    first = [np.where(read, a, b) for a, b in pairs]
    last = [np.where(read, b, a) for a, b in pairs]
    empty = np.empty((batch.size, 0))
    return WaterDuty(empty, first[0], first[1]), WaterDuty(empty, last[0], last[1])


def _leaving_air(batch: Batch, duty: AirDuty) -> Array:
    air = next(stream for stream in streams_of(batch) if isinstance(stream, AirStream))
    return np.asarray(
        leaving_air_k(
            air.coil, duty.heat_w, air.entering_k, air.wet_bulb_k, air.flow_kg_per_s, cooled=batch.cooling
        )
    )


def _drop(batch: Batch, stream: WaterStream, temperature: Array) -> Array:
    """Pressure drop [Pa] between the ports of the exchanger read."""
    exchanger = stream.exchanger
    ratio = stream.flow_kg_per_s / exchanger.design_flow_kg_per_s
    narrowed = narrowing_of(batch, exchanger)
    drop, exponent = exchanger.design_drop_pa, exchanger.drop_exponent
    return np.asarray(pressure_drop(stream.fluid, drop, exponent, ratio, temperature, narrowed))


def _suction_line(cycle: Cycle) -> Array:
    """Suction line [K] at the compressor: a leaking reversing valve warms it; wet vapour shows saturation."""
    low = cycle.low
    superheat = superheat_from(cycle.compression.h_suction, low.h_vapour, low.enthalpy_terms, low.dew_k)
    return np.asarray(low.dew_k + np.maximum(superheat, 0.0))


def _power_factor(batch: Batch, power: Array) -> Array:
    """Power factor of the motor: 0.88 near full load, falling as the load falls (common practice)."""
    rated = batch.unit.exchanger.area_m2 * batch.unit.exchanger.rating_flux_w_per_m2 * 0.2
    load = np.clip(power / rated, 0.2, 1.4)
    return np.asarray(0.88 - 0.12 * np.maximum(1.0 - load, 0.0))


def _beyond(batch: Batch, columns: dict[str, Array], share: Array) -> list[str]:
    """What stopped a machine on the way to its conditions: head, suction, or nothing.

    It is named only where the last state that could run stood within a tenth of that cut-out or beyond
    it: past that point there is no steady state, as when an overcharged condenser floods faster than its
    head can rise.
    """
    stopped, cutouts = share < 1.0, batch.unit.cutouts
    head = stopped & (columns["head_pa"] > (1.0 - NEAR) * cutouts.high_head_pa)
    suction = stopped & (columns["suction_pa"] < (1.0 + NEAR) * cutouts.low_suction_pa)
    return ["head" if a else "suction" if b else "" for a, b in zip(head, suction, strict=True)]


def _lockout(row: dict[str, Any], beyond: str) -> str:
    """The cut-out that trips first, in the words of the records."""
    if beyond == "head" or row["_high_head"] > 0.0:
        return "high_head"
    if beyond == "suction" or row["_low_suction"] > 0.0:
        return "low_suction"
    if row["_freeze"] > 0.0:
        return "low_water_temperature"
    return "none"
