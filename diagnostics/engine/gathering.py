"""The evidence of a unit's history, gathered, seen, and freed of what can't be believed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from diagnostics.engine import (
    amps,
    entries,
    flow,
    flow_sources,
    gates,
    habits,
    inference,
    references,
    surface,
    tables,
)
from diagnostics.engine.bench import Bench, NotObservable
from diagnostics.engine.clean_sets import CleanSet
from diagnostics.engine.observation import Channel, Coefficients, Observation
from diagnostics.engine.observe import Seen, observe
from diagnostics.engine.records import (
    ExchangerFacts,
    Gauges,
    InstrumentAccuracy,
    ReadingSet,
    TableRow,
    Warning,
)
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.waters import water

IMPLAUSIBLE = 3.5
"""A clean visit farther than this from all else, in standard uncertainties, is flagged and not believed."""
BETTER_THAN_USUAL = 2.5
"""The same of a surface too good to be true against geometry and rating alone: poor ones are made."""

SHOWN_SPREAD = 0.25
"""Standard uncertainty, as ln, of a resistance shown at another flow and load than the rating's (common
practice)."""

NO_OTHERS: Gauges = {}
NARROWED = (
    "its pressure drop tells more flow than was measured, beyond both errors: the passage was narrowed then "
    "already, or the curve on record is not this exchanger's (correct it); the curve is left out"
)


@dataclass(frozen=True, slots=True)
class Reference:
    """The evidence kept: clean visits as seen, table rows as observed, and what was flagged."""

    visits: tuple[ReadingSet, ...]
    seen: tuple[Seen, ...]
    rows: tuple[Observation, ...]
    warnings: tuple[Warning, ...]

    @property
    def sets(self) -> list[Observation]:
        """Everything as observations, clean visits first."""
        return [*(one.observation for one in self.seen), *self.rows]

    @property
    def narrowed(self) -> bool:
        """Whether clean visits are all there is, and each shows a pressure drop as of a narrowed passage."""
        if not self.seen or self.rows:
            return False
        return all(one.flow.narrowed for one in self.seen)


def bench_of(
    facts: ExchangerFacts, rows: list[TableRow], instruments: Mapping[str, InstrumentAccuracy]
) -> Bench:
    """The unit's fluids, instruments and pressure-drop curve."""
    plain = water("none", None)
    facts, odd = entries.usable_facts(facts)
    stop = entries.antifreeze_stop(facts)
    liquid = plain if stop is not None else water(facts.antifreeze, facts.antifreeze_fraction)
    curve = flow_sources.curve_of(facts) or tables.curve_from_table(rows, plain)
    return Bench(facts, refrigerant(facts.refrigerant), liquid, plain, instruments, curve, odd, stop)


def other_gauges(
    reading: ReadingSet, visits: Sequence[CleanSet], known: Gauges, table: Mapping[str, InstrumentAccuracy]
) -> Gauges:
    """Accuracies of the gauge sets that clean visits were read with, where they are other sets than today's
    and differ from today's."""
    names = {one.reading.gauge_set or "" for one in visits} - {reading.gauge_set}
    return {
        name: known[name] for name in sorted(names & known.keys()) if instrument_table(known[name]) != table
    }


def gather(
    bench: Bench, visits: Sequence[CleanSet], rows: Sequence[TableRow], others: Gauges = NO_OTHERS
) -> Reference:
    """See every clean visit, by the gauges it was read with, and every printed row; say which can't be used
    and why."""
    kept, seen, warnings = [], [], []
    for visit in visits:
        gauges = others.get(visit.reading.gauge_set or "")
        own = bench if gauges is None else replace(bench, instruments=instrument_table(gauges))
        told = _see(own, visit)
        if isinstance(told, Seen) and told.flow.narrowed:
            told = observe(replace(own, unsteady=visit.spreads), _cleaned(own, visit), maybe_scaled=True)
            warnings.append(_said(visit, "reference_narrowed", NARROWED))
        if isinstance(told, Seen):
            kept.append(visit.reading)
            seen.append(told)
        if visit.spreads is not None and isinstance(told, Seen):
            warnings.append(_said(visit, "reference_mean_of_three", "three sets swing: their mean is used"))
        if isinstance(told, str):
            warnings.append(_said(visit, "reference_not_usable", told))
    observed = tuple(one for one in (tables.observe_row(bench, row) for row in rows) if one is not None)
    return Reference(tuple(kept), tuple(seen), observed, tuple(warnings))


def _said(visit: CleanSet, code: str, text: str) -> Warning:
    return Warning(code, f"clean visit of {when(visit.reading)}: {text}")


def _see(bench: Bench, visit: CleanSet) -> Seen | str:
    """The visit as seen, or why it can't be used."""
    if visit.unsteady is not None:
        return visit.unsteady
    gate = gates.check(bench, visit.reading)
    if gate.withheld:
        return gate.warnings[0].text
    try:
        return observe(replace(bench, unsteady=visit.spreads), _cleaned(bench, visit), maybe_scaled=False)
    except NotObservable as problem:
        return problem.warning.text


def _cleaned(bench: Bench, visit: CleanSet) -> ReadingSet:
    return entries.cleaned(visit.reading, bench.facts)


def knowing_habits(bench: Bench, reference: Reference, mode: str) -> Bench:
    """The bench with superheat, subcooling and watts for each amp as the clean visits of this mode showed
    them."""
    pairs = zip(reference.visits, reference.seen, strict=True)
    kept = [(visit, one) for visit, one in pairs if visit.mode == mode]
    visits, same = [visit for visit, _ in kept], [one for _, one in kept]
    known = replace(
        bench,
        superheat=habits.on_a_judged_visit(bench.superheat, (one.suction_superheat_k for one in same)),
        subcooling=habits.on_a_judged_visit(bench.subcooling, (one.subcooling_k for one in same)),
    )
    return replace(known, watts_per_amp=amps.watts_per_amp(known, visits, same))


def when(reading: ReadingSet) -> str:
    """When the set was taken, as typed."""
    return reading.taken_at_as_typed or reading.taken_at.isoformat()


def clean_resistance(reference: Reference, mode: str) -> float | None:
    """Clean resistance [K/W] as the first reference shows it, this mode's first; None without."""
    for one in sorted(reference.sets, key=lambda seen: seen.mode != mode):
        numbers = Coefficients(*one.coefficients)
        true: list[surface.Floats] = list(one.values)
        seen = surface.transfer(one.mode, numbers, one.values[Channel.PRESSURE], true, one.counterflow)
        total = float(seen.total_w_per_k)
        if total > 0:  # not so for NaN
            return 1 / total
    return None


def set_up(
    bench: Bench, seen: Sequence[Seen], reference: Reference, belief: references.Belief, area: float | None
) -> tuple[Reference, inference.Problem]:
    """The problem with the evidence that can be believed."""
    kind = references.kind_prior(bench.facts.exchanger)
    design = bench.facts.design_flow_m3_per_s
    ln_design = None if design is None else math.log(design * references.WATER_DENSITY_KG_PER_M3)
    visits = [
        inference.Visit(one.observation, _narrowing(bench, one, area, kind.usual_u_w_per_m2k, belief))
        for one in seen
    ]
    while True:
        problem = inference.set_up(visits, reference.sets, belief, kind, ln_design)
        doubts = inference.doubtful(problem)
        alone = len(reference.sets) == 1
        if alone and reference.seen:
            worse = _worse_alone(reference, belief, visits[0].seen.mode)
            doubts |= {0: worse} if worse < -IMPLAUSIBLE else {}
        better = BETTER_THAN_USUAL if alone else IMPLAUSIBLE
        beyond = {
            place: z
            for place, z in doubts.items()
            if place < len(reference.seen) and (z > better or z < -IMPLAUSIBLE)
        }
        if not beyond:
            return reference, problem
        # Of two visits that contradict each other the one with the dirtier surface is the likelier mistake.
        worst = min(beyond, key=lambda place: beyond[place])
        if beyond[worst] > 0:
            worst = max(beyond, key=lambda place: beyond[place])
        reference = _without(reference, worst, beyond[worst])


def _worse_alone(reference: Reference, belief: references.Belief, mode: str) -> float:
    """How far the one set's resistance lies above what geometry and rating tell, as a z below zero.

    Counted from the resistance itself: so far from the belief the left-out z, taken along a straight line,
    stands still.
    """
    resistance = clean_resistance(reference, mode)
    if resistance is None or not belief.used:
        return 0.0
    own = 0.0 if reference.sets[0].mode == mode else references.OTHER_MODE_SPREAD
    spread = math.hypot(belief.spread, SHOWN_SPREAD, own)
    return (belief.ln_resistance - math.log(resistance)) / spread


def _without(reference: Reference, place: int, z: float) -> Reference:
    alone = len(reference.sets) == 1
    side, meaning = (
        ("below", "the surface was hardly clean then")
        if z < 0
        else ("above", "a reading or an entry of the register is wrong")
    )
    if alone and z < 0:
        meaning += (
            ", or area and capacity on record are not this exchanger's (a second clean visit would tell)"
        )
    allow = "geometry and rating allow" if alone else "the other references allow"
    text = (
        f"the clean visit of {when(reference.visits[place])} shows a conductance far {side} what "
        f"{allow} ({abs(z):.1f} standard uncertainties): {meaning}, so it is not believed"
    )
    return Reference(
        (*reference.visits[:place], *reference.visits[place + 1 :]),
        (*reference.seen[:place], *reference.seen[place + 1 :]),
        reference.rows,
        (*reference.warnings, Warning("reference_implausible", text)),
    )


def _narrowing(
    bench: Bench, seen: Seen, area: float | None, usual_u: float, belief: references.Belief
) -> tuple[float, float, float] | None:
    """Weight of the clean curve, and limits of how fast a deposit drives it ahead, for each K/W of
    fouling."""
    weight = seen.flow.curve_weight
    if weight == 0 or bench.curve is None:
        return None
    kind = bench.facts.exchanger
    wetted = area if area is not None else 1 / (usual_u * math.exp(belief.ln_resistance))
    gap = bench.facts.bore_m or flow_sources.USUAL_GAP_M[kind]
    plates = kind in ("brazed_plate", "plate_and_frame")
    low, high = (
        wetted * flow.narrowing(conductivity, gap, bench.curve.exponent, plates)
        for conductivity in flow_sources.DEPOSIT_CONDUCTIVITY
    )
    return weight, low, high
