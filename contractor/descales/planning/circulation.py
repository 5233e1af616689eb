"""Where the pump settles on hoses, fittings, lift and exchanger, and whether that will do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from contractor.descales.planning.bath import RISE_OF_DENSITY, hoses_of, strength_of
from contractor.descales.planning.facts import PlanFacts
from diagnostics.engine.descaling.rig import (
    Circuit,
    flow_wanted_m3_per_s,
    pump_word,
    settles_at,
    velocity_m_per_s,
)

USUAL_EXPONENT = 1.8


def circuit_of(facts: PlanFacts) -> Circuit | None:
    """The circuit; None where the exchanger's design point or the hoses are not known."""
    known, asked, sheet = facts.exchanger, facts.asked, facts.cleaner.sheet
    hoses = hoses_of(facts)
    if not hoses or known.design_flow_m3_per_s is None or known.design_pressure_drop_pa is None:
        return None
    strength = strength_of(facts, sheet) if sheet else 0.0
    return Circuit(
        hoses=hoses,
        fittings=asked.fittings,
        design_flow_m3_per_s=known.design_flow_m3_per_s,
        design_pressure_drop_pa=known.design_pressure_drop_pa,
        exponent=known.pressure_drop_exponent or USUAL_EXPONENT,
        return_height_m=asked.return_height_m,
        highest_point_m=asked.highest_point_m,
        solution_ratio=1.0 + RISE_OF_DENSITY * strength,
        temperature_k=asked.supply_k,
    )


def circulation_refuses(facts: PlanFacts) -> Iterator[tuple[str, str]]:
    circuit = circuit_of(facts)
    if circuit is None or facts.rig.pump is None:
        return
    try:
        settles_at(facts.rig.pump, circuit)
    except ValueError as error:
        yield "pump_does_not_lift", f"The rig's pump does not serve: {error}."


def circulation_of(facts: PlanFacts) -> dict[str, Any] | None:
    """Flow wanted and reached [m3/s], pressure [Pa], velocity in the exchanger [m/s], which pump serves."""
    circuit = circuit_of(facts)
    if circuit is None:
        return None
    known = facts.exchanger
    wanted = flow_wanted_m3_per_s(known.exchanger, circuit.design_flow_m3_per_s)
    found: dict[str, Any] = {"flow_wanted_m3_per_s": wanted, "pump": pump_word(circuit, wanted)}
    if facts.rig.pump is not None:
        duty = settles_at(facts.rig.pump, circuit)
        found |= {"flow_m3_per_s": duty.flow_m3_per_s, "pressure_pa": duty.pressure_pa}
        found["given_pump_serves"] = duty.flow_m3_per_s >= wanted
        if known.bore_m is not None:
            speed = velocity_m_per_s(duty.flow_m3_per_s, known.bore_m, known.count or 1)
            found["velocity_m_per_s"] = speed
    return found
