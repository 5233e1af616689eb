"""Size a plausible machine from a design or from a register's row, and charge it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from diagnostics.engine.records import ExchangerFacts
from diagnostics.engine.virtual_unit.balance import evaluate
from diagnostics.engine.virtual_unit.batch import Batch, batch_of
from diagnostics.engine.virtual_unit.design import Design, design_from_facts
from diagnostics.engine.virtual_unit.faults import NO_FAULTS
from diagnostics.engine.virtual_unit.newton import newton
from diagnostics.engine.virtual_unit.sizing import Sizing, expansion_for
from diagnostics.engine.virtual_unit.solver import first_guess
from diagnostics.engine.virtual_unit.unit import (
    HEAT_PUMP,
    Conditions,
    VirtualUnit,
)
from diagnostics.engine.virtual_unit.vapour import Array


def rated_unit(design: Design | ExchangerFacts | None = None, **choices: object) -> VirtualUnit:
    """Size a machine that does what its design asks at the rating, in both modes.

    Parameters
    ----------
    design : Design or ExchangerFacts, optional
        The design, or a register's row (see `design_from_facts`).
    **choices
        Fields of `Design` that replace those of the design given; without one, `capacity_w` is compulsory.

    Returns
    -------
    VirtualUnit
        A machine, clean and rightly charged.

    References
    ----------
    Rating points of ISO 13256-1:1998 (water loop 30 and 20 degC) and AHRI 550/590 (12/7 degC chilled),
    from memory.

    Examples
    --------
    >>> unit = rated_unit(refrigerant="R454B", kind="brazed_plate", capacity_w=12e3)
    >>> 0.3 < unit.exchanger.area_m2 < 3.0
    True
    """
    if isinstance(design, ExchangerFacts):
        design = design_from_facts(design)
    plan = replace(design, **choices) if design else Design(**choices)  # type: ignore[arg-type]
    return _sized(plan)


@lru_cache(maxsize=256)
def _sized(plan: Design) -> VirtualUnit:
    sizing = Sizing(plan)
    unit, plan = sizing.unit(), sizing.plan
    if plan.machine == HEAT_PUMP:
        return _with_charge(_with_heating_valve(unit, plan), plan)
    return _charged(unit, plan, *_rated_batch(unit, plan, "cooling"))


def _rated_batch(unit: VirtualUnit, plan: Design, mode: str) -> tuple[Batch, Array]:
    """The unit at its rating, solved."""
    batch = _batch(unit, plan, mode)
    return batch, newton(batch, first_guess(batch))[0]


def _batch(unit: VirtualUnit, plan: Design, mode: str) -> Batch:
    """The unit at its rating with superheat and subcooling held as designed."""
    cooling = mode == "cooling"
    conditions = Conditions(
        mode,
        plan.entering_water_k if cooling else 293.15,
        air_k=300.15 if cooling else 293.15,
        air_wet_bulb_k=292.15 if cooling else 288.15,
        other_water_k=plan.chilled_water_k,
    )
    return batch_of([unit], [conditions], [NO_FAULTS], plan.superheat_k, plan.subcooling_k)


def _with_heating_valve(unit: VirtualUnit, plan: Design) -> VirtualUnit:
    batch, unknowns = _rated_batch(unit, plan, "heating")
    found = evaluate(batch, unknowns)
    cycle = found.cycle
    device = expansion_for(
        plan,
        float(cycle.refrigerant_kg_per_s[0]),
        float(cycle.head_pa[0]),
        float(cycle.suction_pa[0]),
        float(cycle.rho_liquid_line[0]),
        plan.subcooling_k,
    )
    dews = (float(unknowns[0, 0]), float(unknowns[0, 1]))
    return replace(unit, heating_expansion=device, rated_dew_heating_k=dews)


def _with_charge(unit: VirtualUnit, plan: Design) -> VirtualUnit:
    """Choose the coil's volume so that one charge gives the designed subcooling in both modes, then
    charge.
    """
    assert unit.coil is not None
    trials = [replace(unit, coil=replace(unit.coil, refrigerant_volume_m3=volume)) for volume in (1e-3, 2e-3)]
    base, solved = [], {}
    for mode in ("cooling", "heating"):
        # With superheat and subcooling held the coil's volume moves the charge and nothing else.
        one, solved[mode] = _rated_batch(trials[0], plan, mode)
        held = [
            float(evaluate(batch, solved[mode]).charge_kg[0])
            for batch in (one, _batch(trials[1], plan, mode))
        ]
        base.append((held[0], (held[1] - held[0]) / 1e-3))
    (cool, cool_slope), (heat, heat_slope) = base
    volume = 1e-3 + (cool - heat) / (heat_slope - cool_slope)
    size = unit.exchanger.refrigerant_volume_m3
    volume = float(np.clip(volume, 0.4 * size, 4.0 * size))
    sized = replace(unit, coil=replace(unit.coil, refrigerant_volume_m3=volume))
    return _charged(sized, plan, _batch(sized, plan, "cooling"), solved["cooling"])


def _charged(unit: VirtualUnit, plan: Design, batch: Batch, unknowns: Array) -> VirtualUnit:
    """Filled with what it holds at its cooling rating, and with its receiver's share."""
    held = float(evaluate(batch, unknowns).charge_kg[0])
    charge = replace(unit.charge, total_kg=held)
    if plan.expansion == "fixed" and plan.machine == HEAT_PUMP:
        charge = replace(charge, accumulator_volume_m3=0.6 * held / 1200.0)
    if plan.receiver:
        _, rho = batch.table.liquid(np.array([310.0]))
        volume = 0.35 * held / float(rho[0])
        gas = float(batch.table.saturation(unknowns[:, 1]).rho_vapour[0])
        charge = replace(
            charge, receiver_volume_m3=volume, total_kg=held + volume * 0.5 * (float(rho[0]) + gas)
        )
    return replace(unit, charge=charge)
