"""Deposit, solution, strength, acid, product and batches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from contractor.descales.planning.facts import PlanFacts
from diagnostics.engine.descaling.acids import deposit_per_acid
from diagnostics.engine.descaling.choice import share_used
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.descaling.deposit import deposit_mass_range
from diagnostics.engine.descaling.doses import (
    Batches,
    acid_in_solution_kg,
    batches,
    portions,
    product_mass_kg,
    product_volume_m3,
)
from diagnostics.engine.descaling.rig import FOAM_SHARE, Hose, solution_volume_m3
from diagnostics.engine.fouling import deposit_thickness
from diagnostics.engine.records import Interval

WORKING_SHARE = 0.4
"""Share of the tank that holds solution while the pump runs, where nobody said: common practice."""
HEAT_OVER_CAPACITY = 1.25
USUAL_CONDUCTIVITY_W_PER_M_K = 1.5
"""Of carbonate scale between porous and dense (0.8 to 2.9, Bott 1995): common practice."""
RISE_OF_DENSITY = 0.48
"""Rise of density over water's by strength: 10 % hydrochloric is 1048 kg/m3, from memory."""


@dataclass(frozen=True, slots=True)
class Bath:
    """One batch: solution [m3], strength [-], density [kg/m3], acid and product [kg], of liquids [m3] too."""

    solution_m3: float
    strength: float
    density_kg_per_m3: float
    acid_kg: float
    used_share: float
    product_kg: float
    product_m3: float | None
    portions_kg: tuple[float, ...]
    water_m3: float


def hoses_of(facts: PlanFacts) -> tuple[Hose, ...]:
    length, bore = facts.rig.hose_length_m, facts.rig.hose_bore_m
    return () if length is None or bore is None else (Hose(length, bore),)


def strength_of(facts: PlanFacts, sheet: CleanerSheet) -> float:
    """As asked, else the label's usual."""
    return sheet.strengths[1] if facts.asked.strength is None else facts.asked.strength


def most_solution_m3(facts: PlanFacts) -> float:
    return (facts.rig.tank_m3 or 0.0) * (1.0 - FOAM_SHARE)


def solution_of(facts: PlanFacts) -> float | None:
    hoses = hoses_of(facts)
    if facts.content_m3 is None or facts.rig.tank_m3 is None or not hoses:
        return None
    level = facts.asked.working_level_m3
    return solution_volume_m3(
        facts.content_m3, hoses, WORKING_SHARE * facts.rig.tank_m3 if level is None else level
    )


def deposit_of(facts: PlanFacts) -> Interval | None:
    """Mass of deposit [kg] with its range; None where no assessment tells a fouling."""
    capacity = facts.exchanger.capacity_w
    if facts.fouling is None or (facts.area_m2 is None and capacity is None):
        return None
    heat = None if capacity is None else HEAT_OVER_CAPACITY * capacity
    return deposit_mass_range(facts.fouling, facts.area_m2, heat)


def bath_of(facts: PlanFacts, sheet: CleanerSheet) -> Bath | None:
    solution = solution_of(facts)
    if solution is None:
        return None
    strength = strength_of(facts, sheet)
    density = 1000.0 * (1.0 + RISE_OF_DENSITY * strength)
    acid_kg = acid_in_solution_kg(solution, strength, density)
    product = product_mass_kg(acid_kg, sheet.product_strength)
    liquid = sheet.product_density_kg_per_m3
    return Bath(
        solution_m3=solution,
        strength=strength,
        density_kg_per_m3=density,
        acid_kg=acid_kg,
        used_share=share_used(sheet, strength, facts.asked.supply_k),
        product_kg=product,
        product_m3=None if liquid is None else product_volume_m3(acid_kg, sheet.product_strength, liquid),
        portions_kg=portions(product),
        water_m3=max(solution * density - product, 0.0) / 1000.0,
    )


def dissolved_per_acid(sheet: CleanerSheet, bath: Bath, mineral: str) -> float:
    """Deposit that a kilogram of the sheet's acids dissolves before renewal [kg/kg]."""
    pairs = zip(sheet.acids, sheet.acid_shares, strict=True)
    return bath.used_share * sum(share * deposit_per_acid(name, mineral) for name, share in pairs)


def thickness_of(facts: PlanFacts) -> float | None:
    """Likely thickness of the deposit [m]; None where no area or no fouling is known."""
    if facts.fouling is None or facts.area_m2 is None:
        return None
    return float(deposit_thickness(max(facts.fouling.value, 0.0), USUAL_CONDUCTIVITY_W_PER_M_K))


def batches_of(facts: PlanFacts, sheet: CleanerSheet, bath: Bath, deposit: Interval | None) -> Batches | None:
    if deposit is None:
        return None
    takes = 1.0 / dissolved_per_acid(sheet, bath, facts.deposit)
    demand = Interval(deposit.value * takes, deposit.low * takes, deposit.high * takes)
    return batches(demand, bath.acid_kg)


def as_json(value: Interval | None) -> dict[str, Any] | None:
    return None if value is None else {"value": value.value, "low": value.low, "high": value.high}
