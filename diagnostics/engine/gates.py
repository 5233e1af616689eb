"""Gates before any number: contradictions that withhold it, and findings that qualify it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diagnostics.engine import fan, hunting, per_cent, ports, refrigerant_gates
from diagnostics.engine.air import air_state
from diagnostics.engine.bench import Bench
from diagnostics.engine.entries import usable_reading
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.gate import Gate, celsius, fluid_words, kilopascal
from diagnostics.engine.records import ReadingSet

LEAST_MINUTES = 10.0
SECOND_SET_WITHIN_S, THREE_SETS_WITHIN_S = 480.0, 900.0
DRIFT_K, DRIFT_SHARE = 0.3, 0.02
LIQUID_WATER_K = (243.0, 373.0)
"""Outside it a water temperature is a typing error, whatever the antifreeze."""
COILS = {"hot_gas_reheat": "hot-gas reheat", "desuperheater_coil": "desuperheater"}
TAKES_HEAT = {"hot_gas_reheat": "hot-gas reheat or bypass", "desuperheater_coil": "a desuperheater coil"}


def check(bench: Bench, reading: ReadingSet) -> Gate:
    """All gates that need nothing but this reading set and the unit's facts."""
    gate = Gate()
    _entries(gate, bench, reading)
    _steady(gate, reading)
    _water(gate, bench, reading)
    refrigerant_gates.check(gate, bench, reading)
    _machine(gate, bench, reading)
    _read_with_more(gate, bench, reading)
    _air(gate, bench, reading)
    return gate


def _entries(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    """Entries of the register and readings that can't be."""
    _, said, stops = usable_reading(reading, bench.facts)
    gate.warnings += [*bench.odd, *said]
    for one in (*([bench.stop] if bench.stop else []), *stops):
        gate.stop(one.code, one.text, one.suspect)


def second_sets(
    reading: ReadingSet, others: Iterable[ReadingSet], within_s: float = SECOND_SET_WITHIN_S
) -> list[ReadingSet]:
    """Sets of the same unit, mode and stage read minutes before."""
    return [
        other
        for other in others
        if (other.unit, other.mode, other.stage) == (reading.unit, reading.mode, reading.stage)
        and 0 < (reading.taken_at - other.taken_at).total_seconds() <= within_s
    ]


def check_drift(gate: Gate, reading: ReadingSet, others: Iterable[ReadingSet]) -> hunting.Mean | None:
    """A second set minutes before must agree, or the number is withheld; of three that swing the mean is
    returned."""
    rows = list(others)
    mean = hunting.mean_of_three(reading, second_sets(reading, rows, THREE_SETS_WITHIN_S), drifting)
    if mean is not None:
        gate.note(
            "mean_of_three",
            "three sets minutes apart swing to and fro, as with a hunting valve: their mean is judged, wider",
        )
        return mean
    for other in second_sets(reading, rows):
        moved = drifting(reading, other)
        if moved:
            minutes = (reading.taken_at - other.taken_at).total_seconds() / 60
            gate.stop("not_steady", _drift_words(reading, other, moved[0], minutes), "minutes_running")
            break
    return None


def _drift_words(reading: ReadingSet, other: ReadingSet, field: str, minutes: float) -> str:
    water = field.endswith("water_k")
    before, now = getattr(other, field), getattr(reading, field)
    told = [celsius(one) if water else kilopascal(one) for one in (before, now)]
    return (
        f"{field.rsplit('_', 1)[0]} went from {told[0]} to {told[1]} within {minutes:.0f} minutes: right "
        "would be within 0.3 K of water and 2 % of pressure; wait until it stands, or read three sets"
    )


def drifting(reading: ReadingSet, other: ReadingSet) -> list[str]:
    """Fields that moved by more than a steady machine's do."""
    found = []
    for field, now, before, allowed in _drifting(reading, other):
        if now is None or before is None or abs(now - before) <= allowed:
            continue
        if field.endswith("water_k") and not _liquid(before):
            continue  # a typing error of its own set, no drift
        found.append(field)
    return found


def _drifting(
    reading: ReadingSet, other: ReadingSet
) -> Iterator[tuple[str, float | None, float | None, float]]:
    for field in ("entering_water_k", "leaving_water_k"):
        yield field, getattr(reading, field), getattr(other, field), DRIFT_K
    for field in ("head_pressure_pa", "suction_pressure_pa"):
        now = getattr(reading, field)
        yield field, now, getattr(other, field), DRIFT_SHARE * (now or 0.0)


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
        gate.trips_too_early = lockout
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
        unknown = bench.facts.antifreeze != "none" and bench.facts.antifreeze_fraction is None
        if unknown:
            gate.stop(
                "water_would_freeze", _unknown_strength(bench, min(entering, leaving)), "antifreeze_fraction"
            )
            return
        plain = bench.facts.antifreeze == "none" or not bench.facts.antifreeze_fraction
        gate.stop(
            "water_would_freeze",
            f"water of {celsius(min(entering, leaving))} would be frozen: with "
            f"{fluid_words(bench)} it freezes at {celsius(freezing)}; check the antifreeze strength and "
            "the reading",
            colder if plain else "antifreeze",
        )


def _unknown_strength(bench: Bench, coldest_k: float) -> str:
    name = bench.facts.antifreeze.replace("_", " ")
    return (
        f"water of {celsius(coldest_k)}: the fraction of {name} is not known, and plain water would freeze "
        "there; measure it (refractometer or density) and enter antifreeze_fraction"
    )


def _liquid(water_k: float) -> bool:
    return LIQUID_WATER_K[0] < water_k < LIQUID_WATER_K[1]


def _machine(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    measured = reading.water_flow_kg_per_s or reading.water_flow_m3_per_s
    valve = bench.facts.balancing_valve_kv_m3_per_h and reading.balancing_valve_pressure_drop_pa
    if bench.facts.head_pressure_valve and reading.mode == "cooling":
        text = (
            "a head-pressure or water-regulating valve changes the water flow to hold the head, which hides "
            "fouling behind flow: judge by measured flow only"
        )
        if not measured and not valve:
            gate.hold("head_pressure_valve", text + "; water_flow was not read")
        else:
            gate.note("head_pressure_valve", text)
    if bench.facts.vapour_injection and reading.compressor_power_w is not None:
        text = "vapour is led into the compressor midway: its power and states tell no heat or flow"
        gate.note("vapour_injection", text)
    for name, words in TAKES_HEAT.items():
        if getattr(bench.facts, name):
            text = (
                f"the unit has {words}: the readings count only where it was off, as the answer supposes; "
                "on, it takes heat that the water never sees"
            )
            gate.note(name, text)


def _read_with_more(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    """A pressure drop that is not all the exchanger's, a power that is not all the compressor's."""
    gate.warnings += fan.said(bench.facts, reading)
    entering = reading.entering_water_k
    if bench.curve is None or entering is None or not _liquid(entering):
        return
    leaving = reading.leaving_water_k
    mean = 0.5 * (entering + leaving) if leaving is not None and _liquid(leaving) else entering
    try:
        density = float(bench.liquid.density_kg_per_m3(mean))
    except OutOfRange:
        return  # said where the water itself is judged
    gate.warnings += ports.said(bench.facts, reading, density)


def check_heat_elsewhere(gate: Gate, bench: Bench, by_source: Mapping[str, float], disagree: bool) -> None:
    """No verdict where a coil that takes hot gas seems to have been on: more heat than the water took."""
    has = [words for name, words in TAKES_HEAT.items() if getattr(bench.facts, name)]
    heat = by_source.get("refrigerant_heat")
    others = [flow for kind, flow in by_source.items() if kind in ("meter", "balancing_valve")]
    if not has or heat is None or not others or not disagree or heat <= max(others):
        return
    gate.takes_heat = " and the ".join(words for name, words in COILS.items() if getattr(bench.facts, name))
    gate.hold(
        "hot_gas_taken",
        f"the refrigerant gives {per_cent.share(heat / max(others) - 1)} more heat than the water takes "
        f"up, and the unit has {' and '.join(has)}: it was probably on; switch it off and read again",
    )


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
    elif gate.air == "in_doubt" and reading.mode == "cooling":
        gate.note(
            "air_in_doubt",
            f"with the machine off the pressure stands {excess:.1f} K above the coldest place's saturation: "
            f"within the {allowance:.1f} K that the instruments allow, yet a little air would show just so; "
            "let it settle longer and read again with a better gauge and thermometer",
        )
    elif gate.air == "no_liquid":
        gate.note(
            "static_test_without_liquid",
            "with the machine off the pressure stands below the coldest place's saturation: no liquid "
            "lies there, so "
            "the static test says nothing about air; take the coldest place that holds liquid",
        )
