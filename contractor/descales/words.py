"""The room's words: checks before acid in their order, end steps in theirs, what is seen in the tank."""

from __future__ import annotations

GASES_WITH_ACID = ("nitrite", "sulphite", "chlorine", "bromine", "other")
"""Treatments that give a poisonous gas with acid, or may: flushed until a test strip shows none."""

CHECKS: dict[str, str] = {
    "before_readings": "take the readings before, in the mode and with the instruments of afterwards",
    "locked_out": "stop the machine, lock out and tag out",
    "proven_dead": "prove it dead at the terminals",
    "valves_shut": "shut and tag both water valves",
    "balancing_noted": "note the balancing valve's position; it is not moved",
    "make_up_watched": "watch the loop's make-up: it dilutes antifreeze",
    "pressure_relieved": "relieve the pressure between the valves into a container",
    "valves_hold": "prove that both valves hold",
    "antifreeze_drained": "drain the antifreeze from between the valves only, and keep it",
    "strainer_out": "take the strainer's basket out if it stands inside the valves",
    "hoses_connected": "hoses to the labelled ports: feed at the bottom, filter on the return, vent high",
    "hold_test": "hold with water at loop pressure for 15 minutes; never air, never above the rating",
    "water_run": "run plain water and look for leaks and flow",
    "treatment_flushed": "flush until the test strip of the water's treatment shows none",
    "flush_caught": "catch the flush water and record it",
    "ventilation": "ventilate; meter and fan as the plan says",
    "forced_ventilation": "forced ventilation runs: air taken off low and led outdoors, fresh air let in",
    "second_person": "a second person within call",
    "sheets_at_hand": "label, safety data sheet, eyewash, spill neutraliser and emergency number at hand",
    "protection_on": "eye, face, hand and skin protection on, as the sheet says",
}
"""Checks before acid, in their order."""
FORCED_AIR = "forced_ventilation_or_no_work"
"""The engine's word for a room whose air the plan's gas takes above 3 %."""
NOT_NEEDED_MAY_BE = (
    "antifreeze_drained", "strainer_out", "make_up_watched", "treatment_flushed", "flush_caught",
)  # fmt: skip
"""Checks that a unit may have no need of, said so by name."""
COMES_AFTER: dict[str, tuple[str, ...]] = {
    "locked_out": ("before_readings",),
    "proven_dead": ("locked_out",),
    "valves_shut": ("locked_out", "proven_dead"),
    "pressure_relieved": ("valves_shut",),
    "valves_hold": ("valves_shut", "pressure_relieved"),
    "antifreeze_drained": ("valves_hold",),
    "strainer_out": ("pressure_relieved", "valves_hold"),
    "hoses_connected": ("pressure_relieved", "valves_hold"),
    "hold_test": ("hoses_connected",),
    "water_run": ("hold_test",),
    "treatment_flushed": ("water_run",),
}
"""What must have come before a check: a machine is read while it runs, nothing is opened under pressure,
nothing runs through hoses that were not held."""
PROVES_NOTHING_BEFORE: dict[str, tuple[str, ...]] = {
    "proven_dead": ("locked_out",),
    "valves_hold": ("valves_shut",),
    "hold_test": ("hoses_connected",),
    "treatment_flushed": ("hoses_connected",),
}
"""Checks that are done again where one of these came after them: it undid what they had proven."""
ASKS: dict[str, str] = {
    "proven_dead": "Tested with, and where",
    "valves_shut": "Which valves",
    "balancing_noted": "Position, as it stands",
    "pressure_relieved": "Into what",
    "forced_ventilation": "By what fan, and where its air goes",
    "second_person": "Who",
    "sheets_at_hand": "Where they lie",
    "drained": "Where the bath stands",
    "balancing_back": "Position, as it stands",
    "locks_off": "Who took them off",
}
"""What a check or a step asks in words, where that is more than a remark."""
REMARK = "Remark; if not done, who and why"
CHECK_OUTCOMES = ("passed", "failed", "not_needed")

END_STEPS: dict[str, str] = {
    "drained": "drain to the parked tank",
    "rinsed_at_once": "rinse at once",
    "first_rinse_caught": "catch the first rinse",
    "surface_neutralised": "bicarbonate or soda ash through the coil from a second, clean tank",
    "final_rinse": "final rinse: five minutes at least, and until pH and conductivity are the supply's",
    "strainer_in": "strainer's basket in",
    "refilled": "refill by cracking one valve",
    "vented": "vent until solid water comes",
    "valves_open": "open both water valves",
    "balancing_back": "see that the balancing valve stands as noted",
    "second_hold_test": "hold again at loop pressure for 15 minutes",
    "refrigerant_detector": "refrigerant detector at the vent, standing pressure against that before",
    "antifreeze_back": "antifreeze back: its strength and the freeze setting agree",
    "flow_proven": "prove the flow",
    "locks_off": "locks and tags off",
    "crankcase_heater": "crankcase heater on for its hours",
    "run": "run the machine",
    "strainer_after_a_day": "look at the strainer after a day",
}
"""End steps, in their order."""
NEVER_WAIVED = (
    "final_rinse", "valves_open", "second_hold_test", "antifreeze_back", "flow_proven", "locks_off",
)  # fmt: skip
AFTER_SERVICE = ("strainer_after_a_day",)
"""Done when the unit runs again: does not hold it up."""
STEP_OUTCOMES = ("done", "failed", "not_needed", "left_open")

COLOURS = ("clear", "as_fresh", "faint_blue", "blue", "deep_blue", "green", "brown", "black", "other")
BLUES = {"faint_blue": 1, "green": 1, "blue": 2, "deep_blue": 3}
AMOUNTS = ("none", "few", "many")
FUMES = ("none", "brown", "rotten_egg", "sharp")

COULD_NOT = ("no_access", "valve_does_not_hold", "no_hose_ports", "no_isolation", "unknown_metal", "other")
ROUTES = ("sewer", "licensed_haulage", "storm_drain", "ground", "well", "septic_tank")
WATERS = ("flush_water", "bath", "first_rinse", "surface_neutraliser", "final_rinse")
"""What of a descale may be let out or held."""

AMOUNT_CHOICES = [(name, name.replace("_", " ")) for name in AMOUNTS]
CHECK_CHOICES = [(name, name.replace("_", " ")) for name in CHECKS]
END_STEP_CHOICES = [(name, name.replace("_", " ")) for name in END_STEPS]
