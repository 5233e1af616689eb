"""Gathers what a document says from the records, in a few queries that do not grow with the history."""

from __future__ import annotations

from collections.abc import Sequence

from django.conf import settings

from contractor.register.models import Unit, UnitEvent
from contractor.visits.models import Finding, Reading
from contractor.visits.quantities import READING
from diagnostics.answers import answer_of, interval_of
from diagnostics.models import Assessment, LoopSurvey, Ranking
from diagnostics.selectors import stands_in_chilled_water
from reporting.documents import words
from reporting.documents.causes import RankingTold
from reporting.documents.facts import Done, EarlierResult, LoopTold, ReadingLine, VisitReport
from reporting.documents.si import si_words

WITH_EVERYTHING = (
    "reading__visit__site__customer", "reading__exchanger__unit", "reading__taken_by", "reading__gauge_set",
)  # fmt: skip
MOST_EARLIER = 60
WORTH_NAMING = (
    "entering_water", "leaving_water", "water_flow", "water_pressure_drop", "head_pressure",
    "suction_pressure", "liquid_line", "suction_line", "discharge_line", "compressor_power",
)  # fmt: skip
PLAIN = {"minutes_running": "min", "phases": ""}
LOOKED_AT = {
    "strainer": "Strainer",
    "back_flush": "Back-flush",
    "fault_lockout": "Lockout shown",
    "lockout": "Lockout shown",
    "strainer_cleaned": "Strainer cleaned",
    "cutout_setting": "Cut-out's setting",
    "freeze_sensor": "Freeze sensor",
    "static_test": "Static test, machine off",
    "flow_control": "Cartridge, motorised valve and hoses",
    "hoses": "Hoses traced",
    "loop_flow": "Flow of the loop",
    "water_vent": "High point vented",
    "air_side": "Filter, fan and air coil",  # of a machine with air there: see OTHER_SIDES
    "charge": "Charge weighed",
    "reversing_valve": "Reversing valve",
    "metering": "Expansion device and drier",
    "compressor": "Compressor",
    "read_again": "Read again",
    "data_plate": "Data plate against the record",
    "descale": "Descale",
    "could_not_do": "Could not do",
    "note": "Note",
}


OTHER_SIDES = {
    "water_to_water_heat_pump": "Other water, flow and temperatures",
    "water_cooled_chiller": "Other water, flow and temperatures",
    "water_cooled_condenser": "Evaporator, its fan and ice",
}


def visit_report_of(assessment: Assessment, ranking: Ranking | None = None) -> VisitReport:
    """The facts of the visit report that rests on this assessment. Load it with WITH_EVERYTHING."""
    reading = assessment.reading
    visit, exchanger = reading.visit, reading.exchanger
    site, unit = visit.site, exchanger.unit
    results = _other_results(assessment)
    same_visit = [one for one in results if one.reading.visit_id == visit.pk]
    earlier = [
        one for one in results if one.reading.visit_id != visit.pk and one.reading.taken_at < reading.taken_at
    ]
    return VisitReport(
        contractor=settings.CONTRACTOR_NAME,
        customer=site.customer.name,
        site=site.name,
        address=site.address,
        unit=unit.tag,
        place=unit.place,
        unit_kind=unit.kind,
        model=unit.model,
        serial=unit.serial,
        exchanger=exchanger.name if exchanger.name != "1" else "",
        exchanger_kind=exchanger.kind,
        metal=exchanger.metal,
        refrigerant=unit.refrigerant,
        water=_water_words(site.antifreeze, site.antifreeze_fraction),
        antifreeze=site.antifreeze,
        water_source="" if stands_in_chilled_water(exchanger) else site.water_source,
        taken_at=words.local(reading.taken_at, site.time_zone),
        taken_by=reading.taken_by.name,
        mode=reading.mode,
        purpose=reading.purpose,
        stage=reading.stage,
        visit_day=words.local(visit.window_start, site.time_zone),
        visit_reason=visit.reason,
        crew=tuple(sorted(person.name for person in visit.crew.all())),
        gauge_set=reading.gauge_set.name if reading.gauge_set else "",
        note=reading.note,
        correction_reason=reading.correction_reason,
        emergency_phone=site.emergency_number,
        answer=answer_of(assessment.result),
        readings=reading_lines(reading),
        not_read=_not_read(reading),
        looked_at=_looked_at(reading),
        earlier=tuple(_earlier(one, site.time_zone) for one in earlier),
        same_visit=tuple(_earlier(one, site.time_zone) for one in same_visit),
        done=_done(assessment, site.time_zone),
        ranking=ranking_told(ranking),
        loop=_loop_told(unit, site.time_zone),
    )


def _loop_told(unit: Unit, zone: str) -> LoopTold | None:
    """The newest survey of the loop that the unit hangs on."""
    surveys = LoopSurvey.objects.current().filter(visit__site=unit.site_id, loop=unit.loop)
    newest = surveys.select_related("visit").order_by("-visit__window_start", "-pk").first()
    if newest is None:
        return None
    read_on = words.local(newest.visit.window_start, zone)
    return LoopTold(read_on, newest.words, newest.probability, len(newest.result["left_out"]))


def ranking_of(reading: Reading) -> Ranking | None:
    """What stands of the causes of this reading; None where it was not ranked."""
    return Ranking.objects.filter(reading=reading, superseded_at=None).first()


def ranking_told(row: Ranking | None) -> RankingTold | None:
    if row is None:
        return None
    return RankingTold(
        row.do_next,
        row.why_not_chemical or None,
        row.reopened or None,
        row.result["causes"],
        row.result["next_check"],
        row.result["cannot_tell_apart"],
    )


def _other_results(assessment: Assessment) -> Sequence[Assessment]:
    """Newest first, of the same exchanger: what else stands."""
    others = Assessment.objects.current().of_exchanger(assessment.reading.exchanger_id)
    others = others.exclude(reading=assessment.reading_id).select_related("reading")
    return list(others.latest_taken_first()[:MOST_EARLIER])


def _earlier(row: Assessment, zone: str) -> EarlierResult:
    return EarlierResult(
        taken_at=words.local(row.reading.taken_at, zone),
        mode=row.reading.mode,
        purpose=row.reading.purpose,
        verdict=row.verdict,
        probability_over_limit=row.probability_over_limit,
        excess_approach_k=interval_of(row.result.get("excess_approach_k")),
        fouling_resistance_m2k_per_w=interval_of(row.result.get("fouling_resistance_m2k_per_w")),
        fouling_resistance_k_per_w=interval_of(row.result.get("fouling_resistance_k_per_w")),
        excess_at_limit_k=row.result.get("excess_at_limit_k"),
    )


def _done(assessment: Assessment, zone: str) -> tuple[Done, ...]:
    reading = assessment.reading
    events = UnitEvent.objects.filter(unit=reading.exchanger.unit_id, taken_back_at__isnull=True)
    rows = events.filter(at__lte=reading.taken_at).order_by("-at", "pk")[:MOST_EARLIER]
    return tuple(Done(words.local(event.at, zone), event.what) for event in rows)


def reading_lines(reading: Reading) -> tuple[ReadingLine, ...]:
    """As typed and in SI, in the order of the form."""
    lines = []
    for quantity in READING:
        typed = reading.as_typed.get(quantity.name)
        column = next((c for c in quantity.columns if getattr(reading, c) is not None), quantity.column)
        value = getattr(reading, column)
        if typed is None and value is None:
            continue
        typed = typed or {}
        si = si_words(column, value) if value is not None else ""
        lines.append(ReadingLine(quantity.name, str(typed.get("value", "")), str(typed.get("unit", "")), si))
    for column, unit in PLAIN.items():
        value = getattr(reading, column)
        if value is not None:
            lines.append(ReadingLine(column, words.number(float(value), 3), unit, ""))
    return tuple(lines)


def _not_read(reading: Reading) -> tuple[str, ...]:
    read = {line.column for line in reading_lines(reading)}
    if read & {"water_flow", "water_pressure_drop", "balancing_valve_pressure_drop"}:
        read |= {"water_flow", "water_pressure_drop"}
    return tuple(name for name in WORTH_NAMING if name not in read)


def _looked_at(reading: Reading) -> tuple[tuple[str, str], ...]:
    told = [
        (LOOKED_AT[name], words.plain_name(getattr(reading, name)))
        for name in ("strainer", "back_flush", "fault_lockout")
        if getattr(reading, name)
    ]
    found = Finding.objects.in_use().filter(visit=reading.visit_id, unit=reading.exchanger.unit_id)
    for finding in found.exclude(kind="photo").order_by("found_at", "pk"):
        brought = f"brought out {words.plain_name(finding.brought)}" if finding.brought else ""
        state = ", ".join(filter(None, [words.plain_name(finding.value), brought, finding.note.strip()]))
        what = LOOKED_AT[finding.kind]
        if finding.kind == "air_side":
            what = OTHER_SIDES.get(reading.exchanger.unit.kind, what)
        entry = (what, state or "yes")
        if entry not in told:
            told.append(entry)
    return tuple(told)


def _water_words(antifreeze: str, fraction: float | None) -> str:
    if antifreeze == "none":
        return "no antifreeze"
    by = "by mass" if antifreeze in ("methanol", "ethanol") else "by volume"
    name = words.plain_name(antifreeze)
    return f"{fraction * 100:.0f} % {name} {by}" if fraction is not None else name
