"""The plan put together; with anything against it, what could be worked out all the same."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

from contractor.descales.planning import bath as baths
from contractor.descales.planning import steps, surroundings
from contractor.descales.planning.circulation import circulation_of
from contractor.descales.planning.facts import PlanFacts
from contractor.descales.planning.refusing import Refusal, gates_of, refusals
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.descaling.dissolving import circulating_time_s
from diagnostics.engine.descaling.doses import Batches
from diagnostics.engine.records import Interval


@dataclass(frozen=True, slots=True)
class Composed:
    """What a plan's row holds: refusals, the columns that are queried, the sheet, and the rest."""

    refusals: tuple[Refusal, ...]
    columns: dict[str, Any]
    sheet: dict[str, Any]
    result: dict[str, Any]


def compose(facts: PlanFacts) -> Composed:
    found = tuple(refusals(facts))
    sheet = facts.cleaner.sheet
    if sheet is None:
        return Composed(found, {}, {}, {})
    kept = {**dataclasses.asdict(sheet), "strength_per_drop": facts.cleaner.strength_per_drop}
    bath = baths.bath_of(facts, sheet)
    if found or bath is None:
        return Composed(found, {}, kept, {})
    result = result_of(facts, sheet, bath)
    columns = {
        "strength": bath.strength,
        "solution_m3": bath.solution_m3,
        "cap_k": result["temperature_cap"]["temperature_k"],
        "batches": result["batches"]["likely"] if result["batches"] else None,
    }
    return Composed(found, columns, kept, result)


def result_of(facts: PlanFacts, sheet: CleanerSheet, bath: baths.Bath) -> dict[str, Any]:
    deposit = baths.deposit_of(facts)
    count = baths.batches_of(facts, sheet, bath, deposit)
    neutralising = surroundings.neutralising_of(facts, sheet, bath)
    rinsing = surroundings.rinsing_of(facts)
    likely = count.likely if count else 1
    most_kg = bath.acid_kg * baths.dissolved_per_acid(sheet, bath, facts.deposit)
    gas = surroundings.gas_of(facts, neutralising["agent"], neutralising["bath_at_most_kg"], deposit, most_kg)
    plan: dict[str, Any] = {
        "deposit": deposit_told(facts, deposit),
        "bath": dataclasses.asdict(bath),
        "batches": dataclasses.asdict(count) if count else None,
        "one_batch_dissolves_kg": most_kg,
        "enough": _enough(deposit, most_kg),
        "time_s": baths.as_json(_time_of(facts, sheet, count)),
        "gates": [dataclasses.asdict(gate) for gate in gates_of(facts)],
        "temperature_cap": dataclasses.asdict(surroundings.cap_of(facts, sheet)),
        "neutralising": neutralising,
        "gas": gas,
        "rinsing": rinsing,
        "waste": surroundings.waste_of(
            facts, sheet, bath, likely, rinsing["total_m3"], neutralising["target_ph"]
        ),
        "circulation": circulation_of(facts),
        "clock": steps.clock_of(sheet.longest_time_s),
        "noise": surroundings.noise_of(facts),
        "visit_lacks": list(facts.visit.lacks),
        "missing_papers": list(facts.cleaner.missing_papers),
        "flush_until_none": steps.needs_flushing(facts),
        "steps": steps.steps_of(facts, gas["room"]),
    }
    return {**plan, "kit": steps.kit_of(facts, plan)}


def deposit_told(facts: PlanFacts, mass_kg: Interval | None) -> dict[str, Any]:
    """What acid is reckoned for, how much [kg], and what it is likely to be, with what that rests on."""
    expected = facts.expected
    return {
        "kind": facts.deposit,
        "named_by_the_crew": bool(facts.asked.deposit),
        "mass_kg": baths.as_json(mass_kg),
        "expected": dict(expected.kinds),
        "signs": list(expected.words),
        "share_by_acid": expected.by_acid,
    }


def _time_of(facts: PlanFacts, sheet: CleanerSheet, count: Batches | None) -> Interval:
    """Circulating in all [s]: of the likely batches, or of one where the deposit is not known."""
    of = (count.fewest, count.likely, count.most) if count else (1, 1, 1)
    return circulating_time_s(sheet.acids, facts.asked.supply_k, of)


def _enough(deposit: Interval | None, most_kg: float) -> str:
    """Whether one batch is enough, with the deposit's range in mind."""
    if deposit is None:
        return "titration_decides"
    if deposit.high <= most_kg:
        return "one_batch"
    return "more_than_one" if deposit.low > most_kg else "one_or_more"
