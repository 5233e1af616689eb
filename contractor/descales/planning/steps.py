"""Kit and steps for one unit, from its facts."""

from __future__ import annotations

from typing import Any

from contractor.descales.planning.facts import PlanFacts
from contractor.descales.words import CHECKS, END_STEPS, FORCED_AIR, GASES_WITH_ACID, NEVER_WAIVED

FIRST_LOOKS_MIN = (0, 3, 6, 10)
LOOK_EVERY_MIN = 10
TITRATE_MIN = (10, 30)
FLAMMABLE = {"R32", "R452B", "R454B", "R1234ze(E)", "R1234yf", "R290", "R600a", "R1270"}


def kit_of(facts: PlanFacts, plan: dict[str, Any]) -> list[str]:
    """What goes into the van, one line each."""
    sheet, bath, neutraliser = facts.cleaner.sheet, plan["bath"], plan["neutralising"]
    assert sheet is not None
    batches = plan["batches"]["most"] if plan["batches"] else 2
    agent = neutraliser["agent"].replace("_", " ")
    kit = [
        *sheet.protection,
        f"{sheet.name}: {bath['product_kg'] * batches:.1f} kg for {batches} of the baths",
        f"{agent}: {neutraliser['bath_at_most_kg'] * batches:.1f} kg for the baths",
        "tank, pump, hoses, return filter, and a spare container of the bath's size",
        "second, clean tank for neutraliser and rinse",
        "pH and conductivity meter, thermometer, titration kit, copper strips",
        "eyewash, spill neutraliser, first aid, emergency number, label and safety data sheet",
        "locks and tags, ground-fault protected outlet",
    ]
    if neutraliser["surface_kg"]:
        kit.append(f"for the wetted surface: {neutraliser['surface_kg']:.2f} kg")
    if set(facts.treatments) & set(GASES_WITH_ACID):
        kit.append(f"test strips for {', '.join(sorted(set(facts.treatments) & set(GASES_WITH_ACID)))}")
    if plan["gas"]["room"] != "natural_ventilation":
        kit.append("carbon dioxide meter and a fan")
    if facts.exchanger.refrigerant in FLAMMABLE:
        kit.append("refrigerant detector; no ignition source near")
    return kit


def needs_flushing(facts: PlanFacts) -> bool:
    return bool(set(facts.treatments) & set(GASES_WITH_ACID))


def steps_of(facts: PlanFacts, room: str) -> list[dict[str, Any]]:
    """Checks before acid, the log and the end, in order, as this unit and its `room` ask for them."""
    without = set()
    if not needs_flushing(facts):
        without |= {"treatment_flushed", "flush_caught"}
    if facts.exchanger.antifreeze == "none":
        without |= {"antifreeze_drained", "make_up_watched"}
    if room != FORCED_AIR:
        without |= {"forced_ventilation"}
    before = [
        {"stage": "before acid", "kind": kind, "words": words, "never_waived": True}
        for kind, words in CHECKS.items()
        if kind not in without
    ]
    acid = {
        "stage": "acid",
        "kind": "portions",
        "words": "product into the running water, never the reverse, in portions",
        "never_waived": True,
    }
    after = [
        {"stage": "end", "kind": kind, "words": words, "never_waived": kind in NEVER_WAIVED}
        for kind, words in END_STEPS.items()
    ]
    return [*before, acid, *after]


def clock_of(longest_time_s: float) -> dict[str, Any]:
    """Minutes after acid: looks, titrations, and when the batch is out at the latest."""
    last = int(longest_time_s // 60)
    looks = [*FIRST_LOOKS_MIN, *range(FIRST_LOOKS_MIN[-1] + LOOK_EVERY_MIN, last + 1, LOOK_EVERY_MIN)]
    return {"looks_min": [at for at in looks if at <= last], "titrate_min": [*range(10, last + 1, 20)],
            "out_by_min": last}  # fmt: skip
