"""What flows on the other side of each exchanger: water with all that hinders it, or air."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.virtual_unit.air_coil import AirCoil
from diagnostics.engine.virtual_unit.batch import Batch
from diagnostics.engine.virtual_unit.loop_water import LoopWater, bore_narrowing, branch_flow
from diagnostics.engine.virtual_unit.vapour import Array
from diagnostics.engine.virtual_unit.water_exchanger import WaterExchanger


@dataclass(frozen=True, slots=True)
class WaterStream:
    """Water through one exchanger: entering [K], flow [kg/s], fouling [m2.K/W], counterflow and film
    factor [-].
    """

    exchanger: WaterExchanger
    fluid: LoopWater
    entering_k: Array
    flow_kg_per_s: Array
    fouling_m2k_per_w: Array
    counterflow: Array
    film_factor: Array


@dataclass(frozen=True, slots=True)
class AirStream:
    """Air over the coil: entering dry and wet bulb [K], dry air flow [kg/s], and the coil as fouled."""

    coil: AirCoil
    entering_k: Array
    wet_bulb_k: Array
    flow_kg_per_s: Array


Stream = WaterStream | AirStream


def streams_of(batch: Batch) -> tuple[Stream, Stream]:
    """The condenser's and the evaporator's stream.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    tuple of WaterStream or AirStream
        Condenser's, evaporator's; in SI.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    See `balance.evaluate`.
    """
    if batch.chiller:
        return _chiller_stream(batch, True), _chiller_stream(batch, False)
    water, air = read_stream(batch), _air(batch)
    return (water, air) if batch.cooling else (air, water)


def read_stream(batch: Batch) -> WaterStream:
    """The water through the exchanger that is read, with everything that hinders it.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    WaterStream
        Of chillers a mixture of condenser and evaporator water; in SI.

    References
    ----------
    Branch flow by series resistances, see `loop_water.branch_flow`.

    Examples
    --------
    See `balance.evaluate`.
    """
    unit, conditions, faults = batch.unit, batch.conditions, batch.faults
    exchanger, fluid = _read_exchanger(batch)
    strainer = unit.branch.strainer_share
    outside = 1.0 - strainer + strainer / np.maximum(1.0 - faults.strainer_blocked, 0.02) ** 2
    held = branch_flow(
        unit.branch.coil_share,
        narrowing_of(batch, exchanger),
        exchanger.drop_exponent,
        outside,
        unit.branch.authority,
    )
    lost = (1.0 - faults.low_flow) * (1.0 - faults.flow_control) * (1.0 - faults.air_in_water)
    normal = np.where(
        batch.reads_condenser > 0.5, exchanger.counterflow_cooling, exchanger.counterflow_heating
    )
    return WaterStream(
        exchanger=exchanger,
        fluid=fluid,
        entering_k=conditions.entering_water_k,
        flow_kg_per_s=np.maximum(exchanger.design_flow_kg_per_s * conditions.flow_ratio * held * lost, 1e-5),
        fouling_m2k_per_w=faults.scale_m2k_per_w,
        counterflow=np.abs(normal - faults.hoses_crossed),
        film_factor=1.0 - faults.air_in_water,
    )


def narrowing_of(batch: Batch, exchanger: WaterExchanger) -> Array:
    """Factor on the coil's pressure drop by its deposit.

    Parameters
    ----------
    batch : Batch
        The machines.
    exchanger : WaterExchanger
        The exchangers read.

    Returns
    -------
    array
        Factor. [-]

    References
    ----------
    See `loop_water.bore_narrowing`.

    Examples
    --------
    See `balance.evaluate`.
    """
    return np.asarray(
        bore_narrowing(
            batch.faults.scale_m2k_per_w,
            exchanger.scale_conductivity_w_per_mk,
            exchanger.bore_m,
            exchanger.drop_exponent,
            exchanger.plates,
        )
    )


def _read_exchanger(batch: Batch) -> tuple[WaterExchanger, LoopWater]:
    """The exchanger read and its water; of chillers a mixture of condensers and evaporators."""
    if not batch.chiller:
        return batch.unit.exchanger, batch.water
    assert batch.unit.evaporator is not None and batch.other_water is not None
    first = batch.reads_condenser > 0.5
    values = {}
    for name in WaterExchanger.__slots__:
        a, b = getattr(batch.unit.exchanger, name), getattr(batch.unit.evaporator, name)
        values[name] = a if isinstance(a, str) else np.where(first, a, b)
    a_water, b_water = batch.water, batch.other_water
    fluid = LoopWater(
        terms=np.where(first[:, None, None], a_water.terms, b_water.terms),
        low_k=np.where(first, a_water.low_k, b_water.low_k),
        high_k=np.where(first, a_water.high_k, b_water.high_k),
        freezing_k=np.where(first, a_water.freezing_k, b_water.freezing_k),
    )
    return WaterExchanger(**values), fluid


def _chiller_stream(batch: Batch, condenser: bool) -> WaterStream:
    """Water of a chiller's condenser or evaporator: with its branch where it is read, plain where it is
    not.
    """
    read, conditions, faults = read_stream(batch), batch.conditions, batch.faults
    exchanger = batch.unit.exchanger if condenser else batch.unit.evaporator
    fluid = batch.water if condenser else batch.other_water
    assert exchanger is not None and fluid is not None
    here = (batch.reads_condenser > 0.5) == condenser
    plain = exchanger.design_flow_kg_per_s * conditions.other_flow_ratio * (1.0 - faults.air_flow_lost)
    normal = exchanger.counterflow_cooling if condenser else exchanger.counterflow_heating
    return WaterStream(
        exchanger=exchanger,
        fluid=fluid,
        entering_k=np.where(here, read.entering_k, conditions.other_water_k),
        flow_kg_per_s=np.where(here, read.flow_kg_per_s, plain),
        fouling_m2k_per_w=np.where(here, read.fouling_m2k_per_w, 0.0),
        counterflow=np.where(here, read.counterflow, normal),
        film_factor=np.where(here, read.film_factor, 1.0 - faults.air_coil_fouled),
    )


def _air(batch: Batch) -> AirStream:
    coil, conditions, faults = batch.unit.coil, batch.conditions, batch.faults
    assert coil is not None
    return AirStream(
        coil=replace(coil, air_side_w_per_k=coil.air_side_w_per_k * (1.0 - faults.air_coil_fouled)),
        entering_k=conditions.air_k,
        wet_bulb_k=conditions.air_wet_bulb_k,
        flow_kg_per_s=coil.design_air_kg_per_s * conditions.air_flow_ratio * (1.0 - faults.air_flow_lost),
    )
