"""Gates before any number: contradictions that withhold it, and findings that qualify it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from diagnostics.engine.air import AirState, air_state
from diagnostics.engine.bench import Bench
from diagnostics.engine.channels import BELOW_ENTERING_K
from diagnostics.engine.entries import usable_reading
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.records import ReadingSet, Warning

LEAST_MINUTES = 10.0
SECOND_SET_WITHIN_S = 480.0
DRIFT_K, DRIFT_SHARE = 0.3, 0.02
CELSIUS = 273.15
FLOODBACK_K = -3.0
PASSES_SATURATION_K = 2.0
LIQUID_WATER_K = (243.0, 373.0)
"""Outside it a water temperature is a typing error, whatever the antifreeze."""
LEAST_SUBCOOLING_K = -2.0


@dataclass(slots=True)
class Gate:
    """What the gates found: `withheld` stops the number, `undecided` stops the verdict, `warnings` say
    why."""

    warnings: list[Warning] = field(default_factory=list)
    withheld: bool = False
    undecided: bool = False
    suspect: str | None = None
    air: AirState = "not_tested"

    def stop(self, code: str, text: str, suspect: str | None = None) -> None:
        """Withhold the number for this reason; `suspect` is the column to read again."""
        self.warnings.append(Warning(code, text))
        self.withheld = True
        self.suspect = self.suspect or suspect

    def hold(self, code: str, text: str) -> None:
        """Let the number stand but not a verdict."""
        self.warnings.append(Warning(code, text))
        self.undecided = True

    def note(self, code: str, text: str) -> None:
        """Say it, no more."""
        self.warnings.append(Warning(code, text))


def suspect_of_crossing(reading: ReadingSet) -> str:
    """The reading that most often lies where temperatures of water and refrigerant cross."""
    column = "head_pressure" if reading.mode == "cooling" else "suction_pressure"
    return column if getattr(reading, f"{column}_pa") is not None else "leaving_water"


def celsius(kelvin: float) -> str:
    """Temperature in words."""
    return f"{kelvin - CELSIUS:.1f} degC"


def check(bench: Bench, reading: ReadingSet) -> Gate:
    """All gates that need nothing but this reading set and the unit's facts."""
    gate = Gate()
    _entries(gate, bench, reading)
    _steady(gate, reading)
    _water(gate, bench, reading)
    _pressures(gate, bench, reading)
    if not gate.withheld:
        _saturation(gate, bench, reading)
        _lines(gate, bench, reading)
    _machine(gate, bench, reading)
    _air(gate, bench, reading)
    return gate


def _entries(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    """Entries of the register and readings that can't be."""
    _, said, stops = usable_reading(reading, bench.facts)
    gate.warnings += [*bench.odd, *said]
    for one in (*([bench.stop] if bench.stop else []), *stops):
        gate.stop(one.code, one.text, one.suspect)


def second_sets(reading: ReadingSet, others: Iterable[ReadingSet]) -> list[ReadingSet]:
    """Sets of the same unit, mode and stage read minutes before."""
    return [
        other
        for other in others
        if (other.unit, other.mode, other.stage) == (reading.unit, reading.mode, reading.stage)
        and 0 < (reading.taken_at - other.taken_at).total_seconds() <= SECOND_SET_WITHIN_S
    ]


def check_drift(gate: Gate, reading: ReadingSet, seconds: Iterable[ReadingSet]) -> None:
    """A second set minutes before must agree; where it does not, the number is withheld."""
    for other in seconds:
        minutes = (reading.taken_at - other.taken_at).total_seconds() / 60
        for column, now, before, allowed in _drifting(reading, other):
            if now is None or before is None or abs(now - before) <= allowed:
                continue
            water = column.endswith("water")
            if water and not _liquid(before):
                continue  # a typing error of its own set, no drift
            told = [celsius(one) if water else f"{one / 1000:.0f} kPa" for one in (before, now)]
            gate.stop(
                "not_steady",
                f"{column} went from {told[0]} to {told[1]} within {minutes:.0f} minutes: right would be "
                "within 0.3 K of water and 2 % of pressure; wait until it stands, or take the mean of three",
                "minutes_running",
            )
            return


def _drifting(
    reading: ReadingSet, other: ReadingSet
) -> Iterator[tuple[str, float | None, float | None, float]]:
    yield "entering_water", reading.entering_water_k, other.entering_water_k, DRIFT_K
    yield "leaving_water", reading.leaving_water_k, other.leaving_water_k, DRIFT_K
    for column in ("head_pressure", "suction_pressure"):
        now, before = getattr(reading, f"{column}_pa"), getattr(other, f"{column}_pa")
        yield column, now, before, DRIFT_SHARE * (now or 0.0)


def _steady(gate: Gate, reading: ReadingSet) -> None:
    minutes = reading.minutes_running
    lockout = reading.fault_lockout not in (None, "none")
    if minutes is not None and minutes < LEAST_MINUTES:
        text = (
            f"minutes_running is {minutes:g}: readings count from {LEAST_MINUTES:g} minutes of steady running"
        )
        if lockout:
            text += (
                f"; the fault lockout ({reading.fault_lockout}) before that is evidence but not a "
                "measurement: "
                "try the other mode or the low stage"
            )
        gate.stop("not_steady", text, "minutes_running")
    elif lockout:
        gate.note(
            "fault_lockout",
            f"fault_lockout shows {reading.fault_lockout}: what the machine did before the trip counts as "
            "evidence",
        )
    if minutes is None:
        gate.note(
            "minutes_running_missing",
            f"minutes_running was not read: the answer supposes at least {LEAST_MINUTES:g} minutes of "
            "steady running",
        )


def _water(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    entering, leaving = reading.entering_water_k, reading.leaving_water_k
    for column, value in (("entering_water", entering), ("leaving_water", leaving)):
        if value is None:
            gate.stop(f"{column}_missing", f"{column} was not read: without it no heat can be told", column)
        elif not _liquid(value):
            gate.stop(
                f"{column}_out_of_range",
                f"{column} {celsius(value)} is no temperature of water in a loop; right would be -30 to 100 "
                "degC: check the typing and the unit",
                column,
            )
    if entering is None or leaving is None or not _liquid(entering) or not _liquid(leaving):
        return
    cooling = reading.mode == "cooling"
    if (leaving - entering) * (1 if cooling else -1) <= 0:
        gate.stop(
            "water_change_wrong_sign",
            f"leaving_water {celsius(leaving)} against entering_water {celsius(entering)}: in "
            f"{reading.mode} the "
            f"leaving water must be {'warmer' if cooling else 'colder'}; check the mode and whether ports "
            "are swapped",
            "leaving_water",
        )
    freezing = bench.liquid.freezing_point_k
    if min(entering, leaving) <= freezing:
        colder = "entering_water" if entering <= leaving else "leaving_water"
        plain = bench.facts.antifreeze == "none" or not bench.facts.antifreeze_fraction
        gate.stop(
            "water_would_freeze",
            f"water of {celsius(min(entering, leaving))} would be frozen: with "
            f"{_fluid_words(bench)} it freezes at {celsius(freezing)}; check the antifreeze strength and "
            "the reading",
            colder if plain else "antifreeze",
        )


def _liquid(water_k: float) -> bool:
    return LIQUID_WATER_K[0] < water_k < LIQUID_WATER_K[1]


def _fluid_words(bench: Bench) -> str:
    facts = bench.facts
    if facts.antifreeze == "none" or not facts.antifreeze_fraction:
        return "no antifreeze"
    return f"{facts.antifreeze_fraction:.0%} {facts.antifreeze.replace('_', ' ')}"


def _pressures(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    head, suction = reading.head_pressure_pa, reading.suction_pressure_pa
    for column, value in (("head_pressure", head), ("suction_pressure", suction)):
        if value is None:
            continue
        try:
            bench.fluid.bubble_temperature_k(value)
            bench.fluid.dew_temperature_k(value)
        except OutOfRange as problem:
            gate.stop(
                f"{column}_out_of_range",
                f"{column} {value / 1000:.0f} kPa absolute is no saturation pressure of "
                f"{bench.fluid.name} in its range: {problem}; check the unit, and gauge against absolute",
                column,
            )
    if head is not None and suction is not None and head <= suction:
        gate.stop(
            "head_below_suction",
            f"head_pressure {head / 1000:.0f} kPa absolute is not above suction_pressure "
            f"{suction / 1000:.0f} kPa absolute: check which gauge is which, and that the compressor runs",
            "head_pressure",
        )


def _saturation(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    if reading.mode == "cooling":
        _condensing(gate, bench, reading)
    else:
        _evaporating(gate, bench, reading)


def _condensing(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    head, entering, leaving = reading.head_pressure_pa, reading.entering_water_k, reading.leaving_water_k
    discharge = reading.discharge_line_k
    if entering is None or leaving is None:
        return
    if discharge is not None and leaving >= discharge:
        gate.stop(
            "leaving_water_beyond_discharge",
            f"leaving_water {celsius(leaving)} is above the discharge line at {celsius(discharge)}: water "
            "can't leave "
            f"warmer than the hottest refrigerant; right would be below {celsius(discharge)}",
            "leaving_water",
        )
    if head is None:
        return
    dew = float(bench.fluid.dew_temperature_k(head))
    if dew <= entering:
        gate.stop(
            "condensing_below_entering_water",
            f"head_pressure {head / 1000:.0f} kPa absolute condenses at {celsius(dew)}, not above "
            "entering_water "
            f"{celsius(entering)}: no heat could pass; check the gauge, the refrigerant and the thermometer",
            "head_pressure",
        )
    elif discharge is None and leaving > dew + PASSES_SATURATION_K:
        gate.stop(
            "leaving_water_beyond_saturation",
            f"leaving_water {celsius(leaving)} is more than {PASSES_SATURATION_K:g} K above condensing at "
            f"{celsius(dew)}: right would be below that, or read the discharge line to show what the gas "
            "could give",
            "leaving_water",
        )
    elif leaving > dew:
        gate.note(
            "leaving_water_passes_saturation",
            f"leaving_water {celsius(leaving)} passes condensing at {celsius(dew)}: the hot gas can do "
            "that at low "
            "flow, so only the zones can tell",
        )


def _evaporating(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    suction, entering, leaving = (
        reading.suction_pressure_pa,
        reading.entering_water_k,
        reading.leaving_water_k,
    )
    if suction is None or entering is None or leaving is None:
        return
    dew = float(bench.fluid.dew_temperature_k(suction))
    bubble = float(bench.fluid.bubble_temperature_k(suction))
    coldest = min(bubble + 0.35 * (dew - bubble), dew)
    if leaving <= coldest:
        gate.stop(
            "leaving_water_beyond_saturation",
            f"leaving_water {celsius(leaving)} is not above evaporating at {celsius(coldest)}: the "
            "refrigerant can't "
            "cool water below itself; check the suction gauge, the refrigerant and the thermometer",
            "suction_pressure",
        )
        return
    freezing = bench.liquid.freezing_point_k
    warm, cold = (coldest + share * (leaving - coldest) for share in (0.8, 0.4))
    if warm < freezing - 0.5:
        gate.stop(
            "wall_would_freeze",
            f"evaporating at {celsius(coldest)} the wall would be near {celsius(warm)} or colder, but "
            f"{_fluid_words(bench)} freezes at {celsius(freezing)}: check the antifreeze strength and "
            "suction_pressure",
            "antifreeze",
        )
    elif cold < freezing:
        gate.note(
            "wall_near_freezing",
            f"evaporating at {celsius(coldest)} the wall may be near {celsius(cold)} and "
            f"{_fluid_words(bench)} "
            f"freezes at {celsius(freezing)}: ice insulates like fouling and can burst the exchanger",
        )


def _lines(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    suction, suction_line = reading.suction_pressure_pa, reading.suction_line_k
    if suction is not None and suction_line is not None:
        superheat = suction_line - float(bench.fluid.dew_temperature_k(suction))
        if superheat < FLOODBACK_K:
            gate.stop(
                "superheat_impossible",
                f"superheat is {superheat:.1f} K (suction_line {celsius(suction_line)}): below "
                f"{FLOODBACK_K:g} K it is "
                "a reading error; right would be 3 to 12 K",
                "suction_line",
            )
        elif superheat < 0:
            gate.note(
                "floodback",
                f"superheat is {superheat:.1f} K: liquid is coming back to the compressor; a finding of "
                "its own",
            )
    head, liquid = reading.head_pressure_pa, reading.liquid_line_k
    if head is None or liquid is None:
        return
    subcooling = float(bench.fluid.bubble_temperature_k(head)) - liquid
    if subcooling < LEAST_SUBCOOLING_K:
        text = (
            f"liquid_line {celsius(liquid)} is {-subcooling:.1f} K above bubble at the head pressure: gas "
            "in the "
            "liquid line or a reading error; right would be 2 to 12 K below"
        )
        if reading.mode == "cooling":
            gate.stop("subcooling_impossible", text, "liquid_line")
        else:
            gate.note("subcooling_negative", text)
    elif subcooling < 0:
        gate.note("subcooling_negative", f"subcooling is {subcooling:.1f} K: the charge may be low")
    entering = reading.entering_water_k
    if reading.mode == "cooling" and entering is not None and liquid < entering - BELOW_ENTERING_K:
        gate.note(
            "liquid_line_below_entering_water",
            f"liquid_line {celsius(liquid)} is below entering_water {celsius(entering)}: it was cooled "
            "after the "
            "exchanger, so it is not used; clamp it right at the exchanger's outlet",
        )


def _machine(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    measured = reading.water_flow_kg_per_s or reading.water_flow_m3_per_s
    if bench.facts.head_pressure_valve and reading.mode == "cooling":
        text = (
            "a head-pressure valve changes the water flow to hold the head, which hides fouling behind flow: "
            "judge by measured flow only"
        )
        if measured is None:
            gate.hold("head_pressure_valve", text + "; water_flow was not read")
        else:
            gate.note("head_pressure_valve", text)


def _air(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    try:
        gate.air, excess, allowance = air_state(bench.fluid, reading, bench.instruments)
    except OutOfRange as problem:
        gate.note("static_pressure_out_of_range", f"static_pressure: {problem}; check the unit")
        return
    if gate.air == "found":
        text = (
            f"with the machine off the pressure stands {excess:.1f} K above the coldest place's "
            "saturation, more "
            f"than the {allowance:.1f} K that the instruments allow: air in the refrigerant, which looks "
            "like fouling"
        )
        if reading.mode == "cooling":
            gate.hold("air_found", text)
        else:
            gate.note("air_found", text)
    elif gate.air == "no_liquid":
        gate.note(
            "static_test_without_liquid",
            "with the machine off the pressure stands below the coldest place's saturation: no liquid "
            "lies there, so "
            "the static test says nothing about air; take the coldest place that holds liquid",
        )
