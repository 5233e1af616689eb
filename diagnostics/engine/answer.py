"""The answer put together: intervals, limit, verdict, warnings, what to do next."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine import (
    advice,
    earning,
    fouling,
    gathering,
    inference,
    limits,
    references,
    smallest_call,
    why_undecided,
    wording,
)
from diagnostics.engine.bench import power_of
from diagnostics.engine.gate import Gate
from diagnostics.engine.gathering import when
from diagnostics.engine.judged import Judged
from diagnostics.engine.observe import WaterSide
from diagnostics.engine.records import (
    Assessment,
    Interval,
    Limit,
    ReadingSet,
    Warning,
)
from diagnostics.engine.uncertainty import COVERAGE
from diagnostics.engine.version import ENGINE_VERSION

LINES = ("liquid_line", "suction_line", "head_pressure", "suction_pressure")
"""What tells subcooling and superheat: while one of them is suspected no charge is called moved."""


@dataclass(frozen=True, slots=True)
class Intervals:
    """95 % intervals of the outcome."""

    mass_flow: Interval
    heat: Interval
    zones: Interval
    excess: Interval
    cleanliness: Interval
    fouling_k_per_w: Interval
    lumped: Interval | None


def intervals(out: inference.Outcome) -> Intervals:
    """All intervals by one partial sort."""
    rows = (
        out.mass_flow_kg_per_s,
        out.heat_w,
        out.zones_w_per_k,
        out.excess_approach_k,
        out.cleanliness,
        out.fouling_k_per_w,
    )
    count = rows[0].size
    places = [round((count - 1) * share) for share in (COVERAGE[0], 0.5, COVERAGE[1])]
    ordered = np.partition(np.stack(rows), places, axis=1)[:, places]
    flow, heat, zones, excess, clean, foul = (
        Interval(float(middle), float(low), float(high)) for low, middle, high in ordered
    )
    finite = out.lumped_w_per_k[np.isfinite(out.lumped_w_per_k)]
    lumped = None
    if finite.size >= 0.5 * count:
        low, middle, high = np.quantile(finite, (COVERAGE[0], 0.5, COVERAGE[1]))
        lumped = Interval(float(middle), float(low), float(high))
    return Intervals(flow, heat, zones, excess, clean, foul, lumped)


def result(judged: Judged, digest: str) -> Assessment:
    """The assessment of a reading set that could be judged."""
    reading, out, area = judged.reading, judged.out, judged.area_m2
    told = intervals(out)
    known = bool(judged.used)
    chosen = _limit(judged)
    limit = chosen.limit
    moved = None
    if judged.gate.suspect not in LINES:
        moved = advice.charge_moved(reading, judged.seen, judged.reference)
    probability, word = _verdict(judged, told, limit, moved is not None) if known else (None, "undecided")
    decides = advice.decides_next(judged.linear) if word == "undecided" else None
    situation = _situation(judged, told, limit, word, decides, moved)
    if word == "undecided":
        contradict = _visits_contradict(judged, told, limit, probability)
        unread = earning.read_first(judged, probability)
        situation = replace(situation, visits_contradict=contradict, read_first=unread)
        decides = wording.asked_for(situation)
    return Assessment(
        unit=reading.unit,
        taken_at=when(reading),
        mode=reading.mode,
        line=reading.line,
        water_flow_kg_per_s=told.mass_flow,
        heat_w=told.heat,
        ua_w_per_k=told.lumped or told.zones,
        excess_approach_k=told.excess if known else None,
        cleanliness=told.cleanliness if known else None,
        fouling_resistance_m2k_per_w=_times(told.fouling_k_per_w, area) if known and area else None,
        fouling_resistance_k_per_w=told.fouling_k_per_w if known else None,
        probability_over_limit=probability,
        limit=limit if known or limit.unit == "m2K/W" else None,
        verdict=word,
        reference=judged.used,
        decides_next=decides,
        do_next=wording.do_next(situation),
        warnings=(
            *_warnings(judged, moved, word),
            *chosen.warnings,
            *_of_verdict(judged, told, limit, moved, probability, word),
        ),
        more=_more(judged, told, chosen),
        engine_version=ENGINE_VERSION,
        inputs_digest=digest,
    )


def _limit(judged: Judged) -> limits.LimitChoice:
    kind = references.kind_prior(judged.bench.facts.exchanger)
    clean = gathering.clean_resistance(judged.reference, judged.reading.mode)
    if clean is None:
        clean = math.exp(judged.belief_ln_resistance)
    return limits.limit_of(
        judged.bench.facts, judged.reading.mode, judged.area_m2, kind.usual_u_w_per_m2k, clean
    )


def _visits_contradict(judged: Judged, told: Intervals, limit: Limit, probability: float | None) -> bool:
    """Two clean visits that contradict each other are all that keeps a surface from being called fouled."""
    if probability is None or not judged.reference.seen or not earning.reference_doubted(judged):
        return False
    span = _times(told.fouling_k_per_w, judged.area_m2 or 1.0)
    return fouling.verdict(probability, span.low, span.high, limit.value) == "fouled"


def _verdict(judged: Judged, told: Intervals, limit: Limit, moved: bool) -> tuple[float, str]:
    """Probability beyond the limit and the word. Where the charge moved all of the interval must lie beyond;
    a doubted reference sends nobody with acid."""
    scale = judged.area_m2 or 1.0
    probability = fouling.probability_over(judged.out.fouling_k_per_w * scale, limit.value)
    span = told.fouling_k_per_w
    word: str = fouling.verdict(probability, span.low * scale, span.high * scale, limit.value)
    doubtful = (moved and span.low * scale <= limit.value) or earning.why_not_fouled(judged) is not None
    hidden = earning.why_not_clean(judged, probability) is not None
    if (word == "fouled" and doubtful) or (word == "clean" and hidden):
        word = "undecided"
    return probability, "undecided" if judged.gate.undecided else word


def _of_verdict(
    judged: Judged, told: Intervals, limit: Limit, moved: str | None, probability: float | None, word: str
) -> list[Warning]:
    """Why there is no limit, and why a telling probability is no verdict."""
    if not judged.used and limit.unit == "K/W":
        text = "no limit: without the area it needs the clean resistance, and no reference tells that"
        return [
            Warning("limit_unknown", f"{text}; enter the area, the operating table or the rated capacity")
        ]
    if word != "undecided":
        return []
    held = earning.why_not_fouled(judged)
    if moved is not None:
        held = f"{moved}, which moves the number as well: all of the interval would have to lie beyond"
    held = earning.why_not_clean(judged, probability) or held
    span = _times(told.fouling_k_per_w, judged.area_m2 or 1.0)
    said = why_undecided.why(probability, span, limit, held, judged.gate.undecided)
    return [] if said is None else [said]


def _situation(
    judged: Judged, told: Intervals, limit: Limit, word: str, decides: str | None, moved: str | None
) -> wording.Situation:
    design = judged.bench.facts.design_flow_m3_per_s
    over_design = None
    if design and "design" not in judged.seen.flow.used:
        over_design = told.mass_flow.value / (design * references.WATER_DENSITY_KG_PER_M3)
    scale, unit = (judged.area_m2, "m2K/W") if judged.area_m2 else (1.0, "K/W")
    span = told.fouling_k_per_w
    half_width = f"+-{(span.high - span.low) / 2 * scale:.2g} {unit}"
    return wording.Situation(
        reading=judged.reading,
        verdict=word,
        withheld=not judged.used,
        suspect=judged.gate.suspect,
        decides_next=decides,
        reference_advice=(
            advice.reference_advice(judged.linear, judged.used, half_width, scale, unit)
            if word == "undecided"
            else None
        ),
        flow_over_design=over_design,
        charge_moved=moved,
        air=judged.gate.air,
        takes_heat=judged.gate.takes_heat,
        valve_leaks=judged.gate.valve_leaks,
        was_read=decides is not None and _was_read(judged, decides),
        gauges_advice=(
            advice.gauges_advice(judged.linear, judged.seen, span.value * scale, limit.value, scale)
            if word == "undecided" and judged.used
            else None
        ),
    )


def _was_read(judged: Judged, column: str) -> bool:
    if column == "water_flow":
        return judged.seen.flow.used[:1] == ("meter",)
    return column not in judged.seen.observation.assumed


def _times(one: Interval, factor: float) -> Interval:
    return Interval(one.value * factor, one.low * factor, one.high * factor)


def _warnings(judged: Judged, moved: str | None, word: str) -> list[Warning]:
    said = [*judged.gate.warnings, *judged.reference.warnings, *_of_flow(judged)]
    if not judged.used:
        said.append(
            Warning(
                "no_reference",
                "no clean visit, operating table, rated data or area is known: fouling can't be told "
                "from these "
                "readings; the operating table from the unit's manual would help most",
            )
        )
    for column in judged.seen.observation.assumed:
        said.append(
            Warning(
                f"{column}_missing",
                f"{column} was not read: what such machines show is assumed in its place, which widens "
                "the answer" + _no_balance(judged, column),
            )
        )
    if judged.area_m2 is None:
        said.append(
            Warning(
                "area_unknown",
                "the wetted area is not known, so fouling is told in K/W: enter area, or bore, length "
                "and count",
            )
        )
    seen = judged.reference.seen
    stage = judged.reading.stage
    if seen and not any(one.observation.stage == stage for one in seen):
        said.append(
            Warning(
                "stage_without_reference", f"no clean visit at stage {stage}: another stage's is used, wider"
            )
        )
    if judged.out.cleaner and judged.used:
        said.append(
            Warning(
                "cleaner_than_reference",
                "the surface seems much cleaner than the clean reference, or than area and rating allow: the "
                "reference was not clean, an entry of the register is wrong, or a reading is",
            )
        )
    if word == "fouled" and judged.reading.mode == "cooling" and judged.gate.air == "not_tested":
        said.append(
            Warning(
                "air_not_ruled_out",
                "air in the refrigerant looks the same on these readings: the verdict holds on condition "
                "that the "
                "static test (machine off, settled) rules it out",
            )
        )
    if moved is not None and not (judged.gate.valve_leaks and moved.startswith("superheat")):
        what = "the charge" if moved.startswith("subcooling") else "the expansion device or the charge"
        said.append(Warning("charge_moved", f"{moved}: put {what} right, then judge the surface"))
    return said


def _no_balance(judged: Judged, column: str) -> str:
    """Without the suction line the compressor's heat is not told, whatever power was read."""
    if column != "suction_line" or power_of(judged.reading) is None:
        return ""
    return "; nor can the refrigerant's heat be held against the water's without it, though power was read"


def _of_flow(judged: Judged) -> list[Warning]:
    """What was said of the flow; a suspect reading that was named goes before a suspect source, and a coil
    that took hot gas before both."""
    left_out: tuple[str, ...] = ()
    if any(warning.code == "reading_suspect" for warning in judged.gate.warnings):
        left_out = ("flow_source_suspect",)
    if judged.gate.takes_heat is not None:
        left_out = ("flow_source_suspect", "flow_sources_pattern")
    return [one for one in judged.seen.flow.warnings if one.code not in left_out]


def _excess_at_limit(judged: Judged, told: Intervals, limit: Limit) -> float | None:
    reading = judged.reading
    change = abs((reading.leaving_water_k or 0.0) - (reading.entering_water_k or 0.0))
    clean = told.zones.value / told.cleanliness.value
    return (
        limits.excess_at(limit, judged.area_m2, change, abs(told.heat.value), clean) if judged.used else None
    )


def _more(judged: Judged, told: Intervals, chosen: limits.LimitChoice) -> dict[str, object]:
    reading, seen, linear = judged.reading, judged.seen, judged.linear
    cooling = reading.mode == "cooling"
    leaving = reading.leaving_water_k or 0.0
    smallest = smallest_call.smallest_called(linear, chosen.limit.value, judged.area_m2 or 1.0, seen.flow)
    return {
        "approach_k": (seen.bubble_k - leaving) if cooling else (leaving - seen.dew_k),
        "approach_is_to": "bubble temperature" if cooling else "dew temperature",
        "bubble_temperature_k": seen.bubble_k,
        "dew_temperature_k": seen.dew_k,
        "superheat_k": seen.suction_superheat_k,
        "subcooling_k": seen.subcooling_k,
        "excess_at_limit_k": _excess_at_limit(judged, told, chosen.limit),
        "zones_ua_w_per_k": _listed(told.zones),
        "lumped_ua_w_per_k": _listed(told.lumped),
        "ua_is": "lumped" if told.lumped else "zones",
        "flow_by_source_kg_per_s": dict(seen.flow.by_source),
        "flow_sources_used": list(seen.flow.used),
        "refrigerant_side_heat_w": seen.refrigerant_heat_w,
        "heat_closure_z": seen.flow.closure_z,
        "first_order_fouling_resistance_k_per_w": linear.value_k_per_w,
        "first_order_standard_uncertainty_k_per_w": linear.spread_k_per_w,
        "variance_shares": {name: round(share, 4) for name, share in linear.shares.items()},
        "interval_left_with_one_more": {
            name: round(spread / linear.spread_k_per_w, 3) for name, spread in linear.spread_with.items()
        },
        "smallest_called_fouled_in_limit_unit": smallest,
        "detectability": (
            smallest_call.sentence(
                smallest, chosen.limit, smallest_call.enter_next(smallest, chosen.limit.value, judged.used)
            )
            if judged.used
            else None
        ),
        "limit_set_by": chosen.set_by,
        "limit_by_consequence_m2k_per_w": chosen.reached,
        "static_test_of_air": judged.gate.air,
        "possible_share_of_draws": judged.out.possible_share,
    }


def _listed(one: Interval | None) -> list[float] | None:
    return None if one is None else [one.value, one.low, one.high]


def withheld(
    reading: ReadingSet,
    gate: Gate,
    digest: str,
    side: WaterSide | None = None,
    gauges_would: str | None = None,
) -> Assessment:
    """The assessment of a reading set that can't be judged: the reasons, what the water alone tells, and
    whether gauges would decide."""
    no_gauges = any(warning.code == "no_gauges" for warning in gate.warnings)
    not_read = (f"{gate.suspect}_missing", "no_flow")
    missing = any(warning.code in not_read for warning in gate.warnings)
    situation = wording.Situation(
        reading,
        "undecided",
        True,
        gate.suspect,
        None,
        None,
        None,
        None,
        no_gauges=no_gauges,
        not_read=missing,
        gauges_would=gauges_would,
        trips_too_early=gate.trips_too_early,
    )
    nothing_read = gate.suspect in ("antifreeze", "antifreeze_entry") or gate.trips_too_early
    column = None if nothing_read else gate.suspect
    return Assessment(
        unit=reading.unit,
        taken_at=when(reading),
        mode=reading.mode,
        line=reading.line,
        water_flow_kg_per_s=None
        if side is None
        else _by_spread(math.exp(side.flow.ln_mass_flow), side.flow_spread),
        heat_w=None if side is None else _by_spread(side.heat_w, side.heat_spread),
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
        warnings=(*gate.warnings, *(side.flow.warnings if side is not None else ())),
        more={} if side is None else {"flow_by_source_kg_per_s": dict(side.flow.by_source)},
        engine_version=ENGINE_VERSION,
        inputs_digest=digest,
    )


def _by_spread(value: float, ln_spread: float) -> Interval:
    """95 % interval of a value whose logarithm is normal."""
    reach = math.exp(1.96 * ln_spread)
    return Interval(value, value / reach, value * reach)
