"""One assessment: facts, a reading set and the unit's history in; fouling with its uncertainty out."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC

import numpy as np

from diagnostics.engine import (
    advice,
    answer,
    both_modes,
    clean_sets,
    entries,
    fan,
    gates,
    gathering,
    inference,
    per_cent,
    power_gate,
    references,
    refrigerant_gates,
    suspects,
)
from diagnostics.engine.bench import Bench, NotObservable
from diagnostics.engine.flow_combining import DISAGREEING, WATERS_OWN
from diagnostics.engine.gate import Gate, celsius
from diagnostics.engine.judged import Judged
from diagnostics.engine.observe import Seen, observe, water_side
from diagnostics.engine.records import (
    Assessment,
    ExchangerFacts,
    Gauges,
    History,
    InstrumentAccuracy,
    ReadingSet,
    TableRow,
    machine_told,
)
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.version import ENGINE_VERSION

DRAWS = 20_000
LEAST_POSSIBLE_SHARE, USUAL_POSSIBLE_SHARE = 0.03, 0.3
MOST_DRAWS = 200_000
ABSURD_CLEANLINESS = 0.005
"""A conductance two hundred times below the clean one is no deposit but a slip in a reading or an entry."""
FALLBACK_W_PER_K_FOR_EACH_KG_PER_S = 2000.0


def assess(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    instruments: Iterable[InstrumentAccuracy] | Mapping[str, InstrumentAccuracy] | None = None,
    draws: int = DRAWS,
) -> Assessment:
    """Fouling of one exchanger from one reading set, with 95 % intervals, a verdict and what to do next.

    The same inputs give the same answer: the draws are seeded by a digest of all that the answer rests on.

    Parameters
    ----------
    facts : ExchangerFacts
        The exchanger as the register knows it.
    reading : ReadingSet
        The set to judge.
    history : History
        Everything else known of the unit; only earlier or equal clean visits, tables and events are used.
    instruments : iterable or mapping of InstrumentAccuracy, optional
        Accuracies that replace the defaults.
    draws : int
        Monte Carlo draws. [-]

    Returns
    -------
    Assessment
        Intervals, probability, verdict, reasons; None where withheld, with the reason in `warnings`.

    References
    ----------
    JCGM 101:2008 (propagation by draws); JCGM 100:2008 (first-order cross-check and shares).
    """
    given = instruments.values() if isinstance(instruments, Mapping) else instruments
    table = instrument_table(given)
    visits = clean_sets.steadied(references.clean_visits(reading, history))
    rows = [row for row in history.tables if row.unit == facts.unit]
    bench = gathering.bench_of(facts, rows, table)
    gate = gates.check(bench, reading)
    mean = gates.check_drift(gate, reading, history.readings)
    within_s = gates.THREE_SETS_WITHIN_S if mean is not None else gates.SECOND_SET_WITHIN_S
    seconds = gates.second_sets(reading, history.readings, within_s)
    if not gate.withheld and mean is None:
        seconds = []
    voided = references.voided_words(reading, history)
    others = gathering.other_gauges(reading, visits, history.instruments, table)
    digest = _digest(facts, reading, visits, seconds, rows, table, draws, voided, others)
    if gate.withheld:
        return answer.withheld(reading, gate, digest)
    if voided is not None:
        gate.note("reference_voided", voided)
    other = both_modes.other_mode(reading, history)
    if mean is not None:
        reading, bench = mean.reading, replace(bench, unsteady=mean.spreads)
    reading = entries.cleaned(reading, bench.facts)
    try:
        # Draws and nodes that no exchanger could show become NaN on purpose and are left out.
        with np.errstate(all="ignore"):
            gathered = gathering.gather(replace(bench, unsteady=None), visits, rows, others)
            return _judge(bench, reading, gathered, gate, draws, digest, other)
    except NotObservable as problem:
        gate.stop(problem.warning.code, problem.warning.text, problem.suspect)
        would = None
        if problem.warning.code == "no_gauges":
            known = _known_of_the_clean(bench.facts, bool(visits), bool(rows))
            text, would = advice.without_gauges(known), advice.gauges_would(known)
            if text is not None:
                gate.note("enter_next", text)
        return answer.withheld(reading, gate, digest, water_side(bench, reading), would)


def _heat_balance(seen: Seen) -> suspects.HeatBalance | None:
    """Both sides' heat over the same temperature change, where both are told."""
    by_source, heat = seen.flow.by_source, seen.refrigerant_heat_w
    best = next((by_source[kind] for kind in WATERS_OWN if kind in by_source), None)
    if heat is None or best is None or seen.flow.closure_z is None:
        return None
    return suspects.HeatBalance(heat, heat * best / by_source["refrigerant_heat"], seen.flow.closure_z)


def _known_of_the_clean(facts: ExchangerFacts, visits: bool, rows: bool) -> set[str]:
    """What is known of the clean surface while the refrigerant side is not read at all."""
    known = {
        "clean_reference": visits,
        "operating_table": rows,
        "rated_data": facts.capacity_w is not None,
        "geometry": references.area_of(facts) is not None,
    }
    return {name for name, there in known.items() if there}


def _believable(out: inference.Outcome) -> None:
    """Refuse a result of absurd size."""
    cleanliness = float(np.median(out.cleanliness))
    if ABSURD_CLEANLINESS <= cleanliness <= 1 / ABSURD_CLEANLINESS:
        return
    raise NotObservable(
        "result_absurd",
        f"the conductance comes out at {cleanliness:.2g} of a clean surface's: no deposit does that; a "
        "reading, its unit or an entry of the register (flow, area, design flow) is off by a large factor",
    )


MOST_COOLER_K, MOST_HALF_WIDTH_K, MOST_CLEANLINESS = -12.0, 20.0, 3.0
"""Beyond these an excess approach or a cleanliness tells of a slip in a reading, not of the surface."""


def _plausible(
    out: inference.Outcome, gate: Gate, bench: Bench, reading: ReadingSet, visits: Sequence[ReadingSet]
) -> None:
    """Refuse a result that no surface shows, with the reading that makes the others agree by its absence."""
    low, middle, high = np.quantile(out.excess_approach_k, (0.025, 0.5, 0.975))
    cleanliness = float(np.median(out.cleanliness))
    odd = 0.5 * (high - low) > MOST_HALF_WIDTH_K or (out.cleaner and _passes_saturation(gate))
    if not odd and middle >= MOST_COOLER_K and cleanliness <= MOST_CLEANLINESS:
        return
    told, suspect = _suspect(gate, bench, reading, visits)
    raise NotObservable(
        "result_absurd",
        f"the excess approach comes out at {middle:.0f} K ({low:.0f} to {high:.0f}) and the conductance at "
        f"{cleanliness:.2g} of a clean surface's, right would be an excess approach of 0 to 15 K known "
        f"within {MOST_HALF_WIDTH_K:.0f} K: {told}",
        suspect,
    )


def _passes_saturation(gate: Gate) -> bool:
    return any(one.code == "leaving_water_passes_saturation" for one in gate.warnings)


def _suspect(
    gate: Gate, bench: Bench, reading: ReadingSet, visits: Sequence[ReadingSet]
) -> tuple[str, str | None]:
    """In words, and by column: leaving water above condensing first, else what the suspects say."""
    head, leaving = reading.head_pressure_pa, reading.leaving_water_k
    if not _passes_saturation(gate) or head is None or leaving is None:
        return suspects.first(bench, reading, visits)
    dew = celsius(float(bench.fluid.dew_temperature_k(head)))
    return f"leaving_water was read {celsius(leaving)}, below condensing at {dew} would fit", "leaving_water"


def _rarely_possible(
    problem: inference.Problem,
    out: inference.Outcome,
    reading: ReadingSet,
    gate: Gate,
    draws: int,
    generator: np.random.Generator,
) -> inference.Outcome:
    """More draws where few are possible: a pinched end is no contradiction as long as noise explains it."""
    entering, leaving = (celsius(k or 0.0) for k in (reading.entering_water_k, reading.leaving_water_k))
    told = (
        f"of what the readings may mean {per_cent.chance(out.possible_share)} is physically possible: "
        f"water of {entering} to {leaving} and the refrigerant's temperatures cross"
    )
    if out.possible_share < LEAST_POSSIBLE_SHARE:
        text = f"{told}; check the thermometers, the gauge and the refrigerant"
        raise NotObservable("readings_contradict", text, refrigerant_gates.suspect_of_crossing(reading))
    gate.hold("temperatures_nearly_cross", f"{told} unless they err by as much as they may: read them again")
    more = int(min(draws / out.possible_share, MOST_DRAWS))
    return inference.outcome(problem, inference.draw_unknowns(problem, more, generator))


def _unechoed(reading: ReadingSet) -> ReadingSet:
    """The set by what was read; its moment in one zone, so that a file and a database say the same."""
    at = reading.taken_at
    return replace(
        reading, line=None, taken_at_as_typed=None, taken_at=at if at.tzinfo is None else at.astimezone(UTC)
    )


def _digest(
    facts: ExchangerFacts,
    reading: ReadingSet,
    visits: Sequence[clean_sets.CleanSet],
    seconds: Sequence[ReadingSet],
    rows: Sequence[TableRow],
    instruments: Mapping[str, InstrumentAccuracy],
    draws: int,
    voided: str | None,
    others: Gauges,
) -> str:
    """Digest of everything the answer rests on; where a set came from and how its time was typed is echoed
    only."""
    reading, *seconds = (_unechoed(one) for one in (reading, *seconds))
    visits = [replace(one, reading=_unechoed(one.reading)) for one in visits]
    rests_on = (ENGINE_VERSION, draws, facts, reading, visits, seconds, tuple(rows))
    machine = machine_told(facts) or fan.machine_told(facts, reading, *(one.reading for one in visits))
    told = repr((*rests_on, tuple(instruments.values()), *filter(None, [machine, voided, *others.items()])))
    return hashlib.sha256(told.encode()).hexdigest()


def _judge(
    bench: Bench,
    reading: ReadingSet,
    gathered: gathering.Reference,
    gate: Gate,
    draws: int,
    digest: str,
    other: ReadingSet | None,
) -> Assessment:
    known = gathering.knowing_habits(bench, gathered, reading.mode)
    seen = observe(known, reading, maybe_scaled=True)
    power_gate.check(bench, reading, seen.flow.by_source)
    disagree = any(warning.code == "flow_sources_disagree" for warning in seen.flow.warnings)
    gates.check_heat_elsewhere(gate, bench, seen.flow.by_source, disagree)
    if gate.takes_heat is None and abs(seen.flow.closure_z or 0.0) >= DISAGREEING:
        suspects.check(gate, known, reading, gathered.visits, _heat_balance(seen))
    area = references.area_of(bench.facts)
    fallback = -math.log(math.exp(seen.observation.values[2]) * FALLBACK_W_PER_K_FOR_EACH_KG_PER_S)
    belief = references.belief_before(bench.facts, area, reading.mode, fallback)
    reference, problem = gathering.set_up(bench, [seen], gathered, belief, area)
    seed = int(digest[:16], 16)
    generator = np.random.Generator(np.random.PCG64(seed))
    out = inference.outcome(problem, inference.draw_unknowns(problem, draws, generator))
    if out.possible_share < USUAL_POSSIBLE_SHARE:
        out = _rarely_possible(problem, out, reading, gate, draws, generator)
    _believable(out)
    used = references.reference_kinds(reference.visits, bool(reference.rows), belief)
    # A reference that is itself doubted says why the result is odd; no reading is to blame.
    if used and not any(one.code == "reference_implausible" for one in reference.warnings):
        _plausible(out, gate, known, reading, gathered.visits)
    if other is not None:
        # Another routine row moves no number, so it is not in the seed; but the answer rests on it.
        steady = replace(bench, unsteady=None)
        gate.warnings += both_modes.compare(steady, (reading, seen), other, gathered, belief, seed)
        digest = hashlib.sha256(f"{digest}{_unechoed(other)!r}".encode()).hexdigest()
    judged = Judged(
        bench,
        reading,
        reference,
        seen,
        gate,
        out,
        inference.first_order(problem),
        used,
        area,
        belief.ln_resistance,
    )
    return answer.result(judged, digest)
