"""What to do next, in one plain sentence: easy before intrusive, chemistry last and only when earned."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine import per_cent
from diagnostics.engine.records import ReadingSet

LOW_FLOW = 0.8
CHARGE_MOVED_K = 5.0

READ_WORDS = {
    "entering_water": "the entering water temperature (one probe moved from port to port errs alike in both)",
    "leaving_water": "the leaving water temperature (one probe moved from port to port errs alike in both)",
    "water_flow": "the water flow",
    "water_pressure_drop": "the water pressure drop",
    "balancing_valve_pressure_drop": "the pressure drop over the balancing valve",
    "head_pressure": "the head pressure",
    "suction_pressure": "the suction pressure",
    "liquid_line": "the liquid line temperature right at the exchanger",
    "suction_line": "the suction line temperature",
    "discharge_line": "the discharge line temperature",
    "compressor_power": "the compressor power",
    "amps": "the amps",
    "volts": "the volts",
    "power_factor": "the power factor",
    "minutes_running": "everything after at least ten minutes of steady running",
    "antifreeze": "the antifreeze strength (refractometer)",
}

PLAN_DESCALE = "Plan a chemical descale"
LOOK_AT_STRAINER, BACK_FLUSH = "Look at the strainer", "Back-flush"
TAKE_AIR_OUT, REPEAT_STATIC = "Have a certified person take the air out", "Repeat the static test"
CHECK_CHARGE = "Read lines and pressures once more"
SWITCH_OFF = "Switch off the "
TRIPS_TOO_EARLY = "Try the other mode or the low stage"
MEASURE_AT_VALVE = "Measure the suction line on both sides of the reversing valve"
RETIRE_ONE = "Retire one clean visit or read a third"
FIND_WHY_FLOW, LOOK_FOR_FLOW = "Find why water flow", "find why the water flow is low"
CHECKS_OF_STEPS = {
    LOOK_AT_STRAINER: "open_strainer",
    BACK_FLUSH: "back_flush",
    FIND_WHY_FLOW: "look_at_flow_control",
}
"""The check that a step below asks for, by how its sentence starts."""
BEFORE_THE_SURFACE = {
    TAKE_AIR_OUT: "there is air in the refrigerant, which looks the same",
    REPEAT_STATIC: "a little air in the refrigerant is not excluded, which looks the same",
    SWITCH_OFF: "a coil probably took hot gas, of whose heat the water sees nothing",
    MEASURE_AT_VALVE: "the reversing valve seems to let hot gas through, which moves the number as well",
    RETIRE_ONE: "two clean visits contradict each other",
    CHECK_CHARGE: "the refrigerant charge seems to have moved, which moves the number as well",
}
READ_FIRST = {
    "water_flow": "Read the water flow (meter or pressure drop): at the design flow taken in its place the "
    "surface looks clean, at less flow it need not be.",
    "suction_line": "Read the suction line temperature right at the exchanger: without superheat an "
    "evaporator short of refrigerant looks the same as a fouled one.",
}
"""What must be read before a telling probability is a verdict, with its reason."""


def column_words(column: str) -> str:
    """A column as people call it."""
    return READ_WORDS.get(column, f"the {column.replace('_', ' ')}")


def short_words(column: str) -> str:
    """A column as people call it, without how it is read."""
    return column_words(column).partition(" (")[0].removesuffix(" right at the exchanger")


def clause(sentence: str) -> str:
    """A step without its reason, to stand after another."""
    start = sentence.split(": ")[0].rstrip(".")
    return start[:1].lower() + start[1:]


def check_of(sentence: str) -> str | None:
    """The check that a step of the surface asks for; None where it asks for none."""
    if sentence.startswith("Read ") and " again: " in sentence:
        return "read_again"
    return next((check for start, check in CHECKS_OF_STEPS.items() if sentence.startswith(start)), None)


def comes_before_the_surface(sentence: str) -> str | None:
    """Why the surface can't be cleaned yet, where its own step asks for something that comes before it."""
    if check_of(sentence) == "read_again":
        return "the other readings contradict one of them"
    return next((why for start, why in BEFORE_THE_SURFACE.items() if sentence.startswith(start)), None)


@dataclass(frozen=True, slots=True)
class Situation:
    """What the sentence depends on."""

    reading: ReadingSet
    verdict: str
    withheld: bool
    suspect: str | None
    decides_next: str | None
    reference_advice: str | None
    flow_over_design: float | None
    charge_moved: str | None
    gauges_advice: str | None = None
    no_gauges: bool = False
    air: str = "not_tested"
    was_read: bool = False
    not_read: bool = False
    gauges_would: str | None = None
    takes_heat: str | None = None
    trips_too_early: bool = False
    valve_leaks: bool = False
    visits_contradict: bool = False
    read_first: str | None = None


def do_next(now: Situation) -> str:
    """One sentence: what to do next on this unit."""
    strainer = now.reading.strainer
    if strainer in ("dirty", "blocked"):
        return (
            f"Clean the strainer ({strainer}), then read again: nothing else is judged before the water "
            "flows freely."
        )
    if now.withheld:
        return _when_withheld(now)
    low_flow = now.flow_over_design is not None and now.flow_over_design < LOW_FLOW
    if low_flow and strainer is None:
        return (
            f"Look at the strainer first: water flow is {per_cent.share(now.flow_over_design or 0.0)} of "
            "design, and a blocked strainer is the easiest cause."
        )
    if now.air == "found" and now.reading.mode == "cooling":
        return "Have a certified person take the air out of the refrigerant, then judge the surface."
    if now.takes_heat is not None:
        return (
            f"{SWITCH_OFF}{now.takes_heat} and read again: it was probably on, and takes heat that the water "
            "never sees."
        )
    if now.suspect is not None:
        return f"Read {short_words(now.suspect)} again: the other readings contradict it."
    if now.valve_leaks:
        return (
            f"{MEASURE_AT_VALVE}: hot gas that leaks through it would explain why refrigerant and water do "
            "not close."
        )
    if now.charge_moved is not None:
        return (
            f"{CHECK_CHARGE}, then have a certified person put charge or expansion device right before the "
            f"surface is judged: {now.charge_moved}."
        )
    if now.verdict == "fouled":
        return _when_fouled(now, low_flow)
    if now.verdict == "clean":
        return _when_clean(low_flow)
    return _when_undecided(now)


def asked_for(now: Situation) -> str | None:
    """The column that the sentence of an undecided case asks for; None where it asks for no reading."""
    low_flow = now.flow_over_design is not None and now.flow_over_design < LOW_FLOW
    strainer = now.reading.strainer
    if strainer in ("dirty", "blocked") or (not now.withheld and low_flow and strainer is None):
        return "strainer"
    if now.withheld:
        return None if now.trips_too_early else now.suspect
    cooling = now.reading.mode == "cooling"
    if (now.air == "found" and cooling) or now.takes_heat is not None:
        return None
    if now.suspect is not None or now.valve_leaks or now.charge_moved is not None:
        return now.suspect
    if now.visits_contradict:
        return None
    if now.air == "in_doubt" and cooling:
        return "static_pressure"
    if now.read_first is not None:
        return now.read_first
    if now.gauges_advice is not None:
        return "head_pressure" if cooling else "suction_pressure"
    if now.reference_advice is not None:
        return None
    return now.decides_next or ("strainer" if strainer is None else None)


def _when_withheld(now: Situation) -> str:
    if now.trips_too_early:
        return (
            f"{TRIPS_TOO_EARLY}, where it may run for ten minutes, and read the set there: the fault lockout "
            f"({now.reading.fault_lockout}) is evidence, but before ten minutes of steady running nothing is "
            "a measurement."
        )
    if now.no_gauges:
        line = "liquid" if now.reading.mode == "cooling" else "suction"
        return (
            f"Connect gauges, or clamp a thermometer on the {line} line for a first and wider answer: water "
            "alone can't tell fouling from load" + (f"; {now.gauges_would}." if now.gauges_would else ".")
        )
    if now.suspect == "antifreeze_fraction":
        return (
            "Measure the antifreeze strength (refractometer) and enter antifreeze_fraction: it is not known."
        )
    if now.suspect == "antifreeze_entry":
        return "Check what was entered for antifreeze and its strength: as it stands it can't be."
    if now.suspect is not None:
        if now.not_read:
            what = column_words(now.suspect)
            return f"Read {what}: it was not read, and without it nothing can be judged."
        return f"Read {short_words(now.suspect)} again: the readings as they stand can't be judged."
    if now.reference_advice is not None:
        return now.reference_advice
    return "Read the set again: the readings as they stand can't be judged."


def _when_fouled(now: Situation, low_flow: bool) -> str:
    strainer, flushed = now.reading.strainer, now.reading.back_flush
    if strainer is None:
        return (
            "Look at the strainer, then back-flush: the surface is fouled, and the easy remedies come first."
        )
    if flushed is None:
        return (
            "Back-flush and read again: the surface is fouled, and water alone may bring loose deposit off."
        )
    if low_flow:
        return (
            f"Find why water flow is {per_cent.share(now.flow_over_design or 0.0)} of design before "
            "anything chemical: flow cartridge, motorised valve, hose kink."
        )
    air_open = now.reading.mode == "cooling" and now.air != "ruled_out"
    return (
        "Plan a chemical descale: the surface is fouled, the strainer is clean and back-flushing did not "
        "help; "
        + ("first let the static test rule out air in the refrigerant, and " if air_open else "")
        + "the cleaner's label and safety data sheet come first, local codes and licensed practice govern."
    )


def _when_clean(low_flow: bool) -> str:
    if low_flow:
        return "Leave the surface alone, it is within its fouling limit; find why the water flow is low."
    return "Nothing to do on the water side: the surface is within its fouling limit."


def _when_undecided(now: Situation) -> str:
    if now.visits_contradict:
        return (
            f"{RETIRE_ONE}: two clean visits contradict each other, and no verdict of fouled rests on either "
            "while both stand."
        )
    if now.air == "in_doubt" and now.reading.mode == "cooling":
        return (
            "Repeat the static test, longer settled and with a better gauge and thermometer: a little air in "
            "the refrigerant is not ruled out."
        )
    if now.read_first is not None:
        return READ_FIRST[now.read_first]
    if now.gauges_advice is not None:
        return now.gauges_advice
    if now.reference_advice is not None:
        return now.reference_advice
    if now.decides_next is not None:
        what = column_words(now.decides_next)
        if now.was_read:
            return f"Read again, with a better instrument, {what}: that would most help to decide."
        return f"Read {what}: that would most help to decide."
    if now.reading.strainer is None:
        return "Look at the strainer and read again on another day: these readings can't decide."
    return "Read again at full load: these readings can't decide."
