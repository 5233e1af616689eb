"""One assessment: facts, a reading set and the unit's history in; fouling with its uncertainty out."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import flow, fouling, gates, inference, references, tables, wording
from diagnostics.engine.observation import Observation
from diagnostics.engine.observe import Bench, NotObservable, Seen, observe
from diagnostics.engine.records import (
    Assessment,
    ExchangerFacts,
    History,
    InstrumentAccuracy,
    Interval,
    Limit,
    ReadingSet,
    ReferenceUsed,
    TableRow,
    Warning,
)
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import COVERAGE, instrument_table
from diagnostics.engine.waters import water

ENGINE_VERSION = "0.1"
DRAWS = 20_000
LEAST_POSSIBLE_SHARE = 0.3
IMPLAUSIBLE = 3.0

Array = NDArray[np.float64]


def assess(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    instruments: Iterable[InstrumentAccuracy] | Mapping[str, InstrumentAccuracy] | None = None,
    draws: int = DRAWS,
) -> Assessment:
    """Fouling of one exchanger from one reading set, with 95 % intervals, a verdict and what to do next.

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
    visits = references.clean_visits(reading, history)
    rows = [row for row in history.tables if row.unit == facts.unit]
    digest = _digest(facts, reading, visits, rows, table, draws)
    bench = _bench(facts, rows, table)
    gate = gates.check(bench, reading)
    try:
        if gate.withheld:
            raise NotObservable("", "")
        return _judge(bench, reading, visits, rows, gate, draws, digest)
    except NotObservable as problem:
        if problem.warning.code:
            gate.stop(problem.warning.code, problem.warning.text)
        return _withheld(reading, gate, digest)


def _bench(
    facts: ExchangerFacts, rows: list[TableRow], instruments: Mapping[str, InstrumentAccuracy]
) -> Bench:
    plain = water("none", None)
    liquid = water(facts.antifreeze, facts.antifreeze_fraction)
    curve = flow.curve_of(facts) or tables.curve_from_table(rows, plain)
    return Bench(facts, refrigerant(facts.refrigerant), liquid, plain, instruments, curve)


def _digest(
    facts: ExchangerFacts,
    reading: ReadingSet,
    visits: Sequence[ReadingSet],
    rows: Sequence[TableRow],
    instruments: Mapping[str, InstrumentAccuracy],
    draws: int,
) -> str:
    told = repr(
        (ENGINE_VERSION, draws, facts, reading, tuple(visits), tuple(rows), tuple(instruments.values()))
    )
    return hashlib.sha256(told.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Reference:
    """The evidence kept: clean visits as seen, table rows as observed, and what was flagged."""

    visits: tuple[ReadingSet, ...]
    seen: tuple[Seen, ...]
    rows: tuple[Observation, ...]
    warnings: tuple[Warning, ...]

    @property
    def sets(self) -> list[Observation]:
        """Everything as observations."""
        return [*(one.observation for one in self.seen), *self.rows]


def _gather(bench: Bench, visits: Sequence[ReadingSet], rows: Sequence[TableRow]) -> Reference:
    kept, seen, warnings = [], [], []
    for visit in visits:
        when = visit.taken_at_as_typed or visit.taken_at.isoformat()
        gate = gates.check(bench, visit)
        if gate.withheld:
            warnings.append(
                Warning("reference_not_usable", f"clean visit of {when}: {gate.warnings[0].text}")
            )
            continue
        try:
            seen.append(observe(bench, visit, maybe_scaled=False))
            kept.append(visit)
        except NotObservable as problem:
            warnings.append(Warning("reference_not_usable", f"clean visit of {when}: {problem.warning.text}"))
    observed = tuple(one for one in (tables.observe_row(bench, row) for row in rows) if one is not None)
    return Reference(tuple(kept), tuple(seen), observed, tuple(warnings))


def _judge(
    bench: Bench,
    reading: ReadingSet,
    visits: Sequence[ReadingSet],
    rows: Sequence[TableRow],
    gate: gates.Gate,
    draws: int,
    digest: str,
) -> Assessment:
    reference = _gather(bench, visits, rows)
    seen = observe(bench, reading, maybe_scaled=True)
    facts = bench.facts
    area = references.area_of(facts)
    kind = references.kind_prior(facts.exchanger)
    fallback = -math.log(max(1.0, math.exp(seen.observation.values[2]) * 2000.0))
    belief = references.belief_before(facts, area, reading.mode, fallback)
    design = None
    if facts.design_flow_m3_per_s is not None:
        design = math.log(facts.design_flow_m3_per_s * 997.0)
    curve = _narrowing(bench, seen, area, kind.usual_u_w_per_m2k, belief)
    problem = inference.set_up(seen.observation, reference.sets, belief, kind, design, curve)
    generator = np.random.Generator(np.random.PCG64(int(digest[:16], 16)))
    out = inference.outcome(problem, inference.draw_unknowns(problem, draws, generator))
    if out.possible_share < LEAST_POSSIBLE_SHARE:
        raise NotObservable(
            "readings_contradict",
            f"only {out.possible_share:.0%} of what the readings may mean is physically possible: temperatures of "
            "water and refrigerant cross; check the thermometers, the gauge and the refrigerant",
        )
    linear = inference.first_order(problem)
    used = references.reference_kinds(reference.visits, bool(reference.rows), belief)
    return _result(bench, reading, reference, seen, gate, out, linear, used, area, kind, digest)


def _narrowing(
    bench: Bench, seen: Seen, area: float | None, usual_u: float, belief: references.Belief
) -> tuple[float, float, float] | None:
    """Weight of the clean curve, and limits of how fast a deposit drives it ahead, for each K/W of fouling."""
    weight = seen.flow.curve_weight
    if weight == 0 or bench.curve is None:
        return None
    kind = bench.facts.exchanger
    surface = area if area is not None else 1 / (usual_u * math.exp(belief.ln_resistance))
    gap = bench.facts.bore_m or flow.USUAL_GAP_M[kind]
    plates = kind in ("brazed_plate", "plate_and_frame")
    low, high = (
        surface * flow.narrowing(conductivity, gap, bench.curve.exponent, plates)
        for conductivity in flow.DEPOSIT_CONDUCTIVITY
    )
    return weight, low, high


def _intervals(out: inference.Outcome) -> list[Interval | None]:
    rows = [
        out.mass_flow_kg_per_s,
        out.heat_w,
        out.zones_w_per_k,
        out.excess_approach_k,
        out.cleanliness,
        out.fouling_k_per_w,
    ]
    count = rows[0].size
    places = [round((count - 1) * share) for share in (COVERAGE[0], 0.5, COVERAGE[1])]
    ordered = np.partition(np.stack(rows), places, axis=1)[:, places]
    return [Interval(float(middle), float(low), float(high)) for low, middle, high in ordered]


def _lumped(out: inference.Outcome) -> Interval | None:
    finite = out.lumped_w_per_k[np.isfinite(out.lumped_w_per_k)]
    if finite.size < 0.5 * out.lumped_w_per_k.size:
        return None
    low, middle, high = np.quantile(finite, (COVERAGE[0], 0.5, COVERAGE[1]))
    return Interval(float(middle), float(low), float(high))


def _limit(facts: ExchangerFacts, area: float | None, usual_u: float, clean_k_per_w: float) -> Limit:
    if facts.fouling_limit_m2k_per_w is not None:
        value, source = facts.fouling_limit_m2k_per_w, "as entered"
    else:
        published = fouling.allowance(facts.water_source)
        value, source = published.value_m2k_per_w, published.source
    if area is not None:
        return Limit(value, "m2K/W", source)
    return Limit(
        value * usual_u * clean_k_per_w,
        "K/W",
        f"{source}: {value:.3g} m2K/W on a usual clean surface of {usual_u:.0f} W/(m2K) is {value * usual_u:.0%} of "
        "the clean resistance, because the area is not known",
    )


def _result(
    bench: Bench,
    reading: ReadingSet,
    reference: Reference,
    seen: Seen,
    gate: gates.Gate,
    out: inference.Outcome,
    linear: inference.FirstOrder,
    used: tuple[ReferenceUsed, ...],
    area: float | None,
    kind: references.KindPrior,
    digest: str,
) -> Assessment:
    mass_flow, heat, zones, excess, cleanliness, resistance = _intervals(out)
    lumped = _lumped(out)
    known = bool(used)
    clean_k_per_w = float(np.median(out.cleanliness / out.zones_w_per_k))
    limit = _limit(bench.facts, area, kind.usual_u_w_per_m2k, clean_k_per_w)
    scale = area if area is not None else 1.0
    probability, word = None, "undecided"
    assert resistance is not None
    if known:
        probability = fouling.probability_over(out.fouling_k_per_w * scale, limit.value)
        word = fouling.verdict(probability, resistance.low * scale, resistance.high * scale, limit.value)
        if gate.undecided:
            word = "undecided"
    else:
        gate.note(
            "no_reference",
            "no clean visit, operating table, rated data or area is known: fouling can't be told from these readings; "
            "the operating table from the unit's manual would help most",
        )
    warnings = _warnings(gate, reference, seen, area, reading)
    moved = _charge_moved(reading, seen, reference)
    if moved is not None:
        warnings.append(Warning("charge_moved", f"{moved}: put the charge right, then judge the surface"))
    decides = None if word != "undecided" else _decides(linear)
    design = bench.facts.design_flow_m3_per_s
    assert mass_flow is not None
    over_design = mass_flow.value / (design * 997.0) if design and "design" not in seen.flow.used else None
    advice = _reference_advice(linear, reference, known) if word == "undecided" else None
    situation = wording.Situation(reading, word, not known, None, decides, advice, over_design, moved)
    return Assessment(
        unit=reading.unit,
        taken_at=reading.taken_at_as_typed or reading.taken_at.isoformat(),
        mode=reading.mode,
        line=reading.line,
        water_flow_kg_per_s=mass_flow,
        heat_w=heat,
        ua_w_per_k=lumped or zones,
        excess_approach_k=excess if known else None,
        cleanliness=cleanliness if known else None,
        fouling_resistance_m2k_per_w=_times(resistance, area) if known and area is not None else None,
        fouling_resistance_k_per_w=resistance if known else None,
        probability_over_limit=probability,
        limit=limit,
        verdict=word,
        reference=used,
        decides_next=decides,
        do_next=wording.do_next(situation),
        warnings=tuple(warnings),
        more=_more(reading, seen, out, linear, zones, lumped),
        engine_version=ENGINE_VERSION,
        inputs_digest=digest,
    )


def _times(one: Interval, factor: float) -> Interval:
    return Interval(one.value * factor, one.low * factor, one.high * factor)


def _warnings(
    gate: gates.Gate, reference: Reference, seen: Seen, area: float | None, reading: ReadingSet
) -> list[Warning]:
    said = [*gate.warnings, *reference.warnings, *seen.flow.warnings]
    for column in seen.observation.assumed:
        said.append(
            Warning(
                f"{column}_missing",
                f"{column} was not read: what such machines show is assumed, and widens the answer",
            )
        )
    if area is None:
        said.append(
            Warning(
                "area_unknown",
                "the wetted area is not known, so the answer is in K/W: enter area, or bore and length",
            )
        )
    same_stage = any(one.observation.stage == reading.stage for one in reference.seen)
    if reference.seen and not same_stage:
        said.append(
            Warning(
                "stage_without_reference",
                f"no clean visit at stage {reading.stage}: another stage's is used, wider",
            )
        )
    return said


def _charge_moved(reading: ReadingSet, seen: Seen, reference: Reference) -> str | None:
    for name, now, before in (
        ("subcooling", seen.subcooling_k, [one.subcooling_k for one in reference.seen]),
        ("superheat", seen.suction_superheat_k, [one.suction_superheat_k for one in reference.seen]),
    ):
        same = [
            value
            for value, one in zip(before, reference.seen, strict=True)
            if value is not None and one.observation.mode == reading.mode
        ]
        if now is None or not same:
            continue
        change = now - sum(same) / len(same)
        if abs(change) > wording.CHARGE_MOVED_K:
            return f"{name} is {abs(change):.0f} K {'above' if change > 0 else 'below'} the clean visits"
    return None


def _decides(linear: inference.FirstOrder) -> str | None:
    readings = {name: share for name, share in linear.shares.items() if name != "reference"}
    if not readings:
        return None
    name = max(readings, key=lambda one: readings[one])
    return name if readings[name] > 0.05 else None


def _reference_advice(linear: inference.FirstOrder, reference: Reference, known: bool) -> str | None:
    if not known:
        return "Enter the operating table from the unit's manual: without any clean reference fouling can't be told."
    if linear.clean_spread_share < 0.5:
        return None
    if not reference.rows and not reference.seen:
        return (
            "Enter the operating table from the unit's manual, or read a clean visit after cleaning: "
            f"{linear.clean_spread_share:.0%} of the doubt is about the clean surface."
        )
    return (
        "Read one more clean visit when the surface is next known to be clean: "
        f"{linear.clean_spread_share:.0%} of the doubt is about the clean surface."
    )


def _more(
    reading: ReadingSet,
    seen: Seen,
    out: inference.Outcome,
    linear: inference.FirstOrder,
    zones: Interval | None,
    lumped: Interval | None,
) -> dict[str, object]:
    cooling = reading.mode == "cooling"
    leaving = reading.leaving_water_k or 0.0
    end = seen.bubble_k if cooling else seen.dew_k
    return {
        "approach_k": (end - leaving) if cooling else (leaving - end),
        "approach_is_to": "bubble temperature" if cooling else "dew temperature",
        "bubble_temperature_k": seen.bubble_k,
        "dew_temperature_k": seen.dew_k,
        "superheat_k": seen.suction_superheat_k,
        "subcooling_k": seen.subcooling_k,
        "zones_ua_w_per_k": None if zones is None else [zones.value, zones.low, zones.high],
        "lumped_ua_w_per_k": None if lumped is None else [lumped.value, lumped.low, lumped.high],
        "flow_by_source_kg_per_s": dict(seen.flow.by_source),
        "flow_sources_used": list(seen.flow.used),
        "refrigerant_side_heat_w": seen.refrigerant_heat_w,
        "first_order_fouling_resistance_k_per_w": linear.value_k_per_w,
        "first_order_standard_uncertainty_k_per_w": linear.spread_k_per_w,
        "variance_shares": {name: round(share, 4) for name, share in linear.shares.items()},
        "possible_share_of_draws": out.possible_share,
    }


def _withheld(reading: ReadingSet, gate: gates.Gate, digest: str) -> Assessment:
    situation = wording.Situation(reading, "undecided", True, gate.suspect, None, None, None, None)
    column = gate.suspect if gate.suspect not in (None, "antifreeze") else None
    return Assessment(
        unit=reading.unit,
        taken_at=reading.taken_at_as_typed or reading.taken_at.isoformat(),
        mode=reading.mode,
        line=reading.line,
        water_flow_kg_per_s=None,
        heat_w=None,
        ua_w_per_k=None,
        excess_approach_k=None,
        cleanliness=None,
        fouling_resistance_m2k_per_w=None,
        fouling_resistance_k_per_w=None,
        probability_over_limit=None,
        limit=None,
        verdict="undecided",
        reference=(),
        decides_next=column,
        do_next=wording.do_next(situation),
        warnings=tuple(gate.warnings),
        more={},
        engine_version=ENGINE_VERSION,
        inputs_digest=digest,
    )
