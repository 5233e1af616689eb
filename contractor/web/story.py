"""An exchanger's story for a page: what its readings told over time, drawn by the same code as the PDF's."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from contractor.accounts.models import Person
from contractor.register.models import Exchanger, UnitEvent
from contractor.visits.models import Finding, Visit
from diagnostics.answers import answer_of, interval_of
from diagnostics.engine.records import Interval, Limit
from diagnostics.models import Assessment
from reporting.documents import verdicts, words
from reporting.documents.figures import Figure, HistoryMark, HistoryPoint, history_figure
from reporting.documents.figures.svg import to_svg
from reporting.documents.hand import PLAIN, Hand, written_by
from reporting.documents.hand import hand as now_writing
from reporting.documents.results import scaled
from reporting.models import Document

MOST_DRAWN = 36
MOST_TOLD = 60
# key, unit, the same for who reads inch-pound, and how many of it make one: 1 Btu (IT) = 1055.05585262 J
FOULING = (
    ("fouling_resistance_m2k_per_w", "m2K/W", "h·ft²·°F/Btu", 1.0 / 0.1761101838),
    ("fouling_resistance_k_per_w", "K/W", "h·°F/Btu", 1.8 * 1055.05585262 / 3600.0),
)


# points of a drawing that its page stretches to its own width
WIDE, NARROW = 380.0, 280.0
Draw = Callable[[Sequence[Assessment], Sequence[HistoryMark], str, float], Figure | None]


@dataclass(frozen=True, slots=True)
class Chart:
    """`svg` names and describes itself; `words` say the same beside it.

    `narrow` is the same for a phone, drawn anew so that its letters stay as large; one of the two is seen.
    """

    title: str
    svg: SafeString
    narrow: SafeString
    words: str


@dataclass(frozen=True, slots=True)
class Story:
    exchanger: Exchanger
    results: tuple[Assessment, ...]
    charts: tuple[Chart, ...]
    hand: Hand = PLAIN

    @property
    def latest(self) -> Assessment | None:
        return self.results[0] if self.results else None

    @property
    def verdict_words(self) -> str:
        with written_by(self.hand):
            return verdicts.verdict_sentence(answer_of(self.latest.result)) if self.latest else ""

    @property
    def why(self) -> list[str]:
        with written_by(self.hand):
            return verdicts.why_sentences(answer_of(self.latest.result)) if self.latest else []


def stories_of(exchangers: Sequence[Exchanger], person: Person) -> list[Story]:
    """Each with what this person may see, in two queries for all of them."""
    rows = Assessment.objects.seen_by(person).current().filter(reading__exchanger__in=exchangers)
    by_exchanger: dict[Any, list[Assessment]] = {}
    # what was typed is a wide column that no story shows
    rows = rows.select_related("reading__visit__site", "reading__taken_by").defer("reading__as_typed")
    for row in rows.latest_taken_first():
        by_exchanger.setdefault(row.reading.exchanger_id, []).append(row)
    events = UnitEvent.objects.seen_by(person).filter(
        unit__in={each.unit_id for each in exchangers}, taken_back_at=None
    )
    hand = Hand(person.units, person.decimal_mark)
    by_unit: dict[Any, list[UnitEvent]] = {}
    for event in events:
        by_unit.setdefault(event.unit_id, []).append(event)
    return [
        story(each, by_exchanger.get(each.pk, [])[:MOST_TOLD], by_unit.get(each.unit_id, []), hand)
        for each in exchangers
    ]


def story(
    exchanger: Exchanger, results: Sequence[Assessment], events: Sequence[UnitEvent], hand: Hand
) -> Story:
    zone = exchanger.unit.site.time_zone
    marks = [HistoryMark(words.local(e.at, zone), words.EVENTS.get(e.what, e.what)) for e in events]
    with written_by(hand):
        charts = [charted(draw, results, marks, zone) for draw in (fouling_chart, excess_chart)]
    return Story(exchanger, tuple(results), tuple(filter(None, charts)), hand)


def charted(
    draw: Draw, results: Sequence[Assessment], marks: Sequence[HistoryMark], zone: str
) -> Chart | None:
    wide, narrow = (draw(results, marks, zone, width) for width in (WIDE, NARROW))
    if wide is None or narrow is None:
        return None
    # our own drawing: every text in it is escaped where it is drawn
    return Chart(wide.title, mark_safe(to_svg(wide)), mark_safe(to_svg(narrow)), wide.words)


def points(results: Sequence[Assessment], key: str, zone: str) -> list[tuple[Assessment, HistoryPoint]]:
    found: list[tuple[Assessment, HistoryPoint]] = []
    for row in results[:MOST_DRAWN]:
        value = interval_of(row.result.get(key))
        if value is not None:
            at = words.local(row.reading.taken_at, zone)
            found.append((row, HistoryPoint(at, value, row.reading.mode, this_one=not found)))
    return found


def limit_of(row: Assessment) -> Limit | None:
    return answer_of(row.result).limit


def fouling_chart(
    results: Sequence[Assessment], marks: Sequence[HistoryMark], zone: str, width: float
) -> Figure | None:
    """In one unit, the reader's: by area where the area is known, else of the whole exchanger."""
    for key, unit, us_unit, in_us in FOULING:
        found = points(results, key, zone)
        if found:
            named, factor = (us_unit, in_us) if now_writing().inch_pound else (unit, 1.0)
            limit = limit_of(found[0][0])
            line = limit.value * factor if limit is not None and limit.unit == unit else None
            values = [(p, times(p.value, factor)) for _, p in found]
            exponent = words.power_of_ten(line or max(abs(value.value) for _, value in values))
            shown = [HistoryPoint(p.at, scaled(v, exponent), p.mode, p.this_one) for p, v in values]
            return history_figure(
                "Fouling resistance", shown, line / 10.0**exponent if line else None, named, exponent,
                marks, width,
            )  # fmt: skip
    return None


def excess_chart(
    results: Sequence[Assessment], marks: Sequence[HistoryMark], zone: str, width: float
) -> Figure | None:
    unit, factor = now_writing().difference()
    found = [
        HistoryPoint(p.at, times(p.value, factor), p.mode, p.this_one, excess_at_limit(row, factor))
        for row, p in points(results, "excess_approach_k", zone)
    ]
    return history_figure("Excess approach", found, None, unit, 0, marks, width) if found else None


def excess_at_limit(row: Assessment, factor: float) -> float | None:
    """What the excess approach would be at the fouling limit, at the load of that visit."""
    told = row.result.get("excess_at_limit_k")
    return None if told is None else float(told) * factor


def times(value: Interval, factor: float) -> Interval:
    return Interval(value.value * factor, value.low * factor, value.high * factor)


@dataclass(frozen=True, slots=True)
class Happened:
    """One entry of a unit's timeline."""

    at: Any
    kind: str
    words: str
    more: str = ""
    link: str = ""
    result: Assessment | None = None

    @property
    def day(self) -> date:
        return self.at.date()  # type: ignore[no-any-return]


def timeline(stories: Sequence[Story], person: Person, unit: Any) -> list[Happened]:
    """Visits, readings' verdicts, what was done, what could not be done, documents: newest first."""
    zone = unit.site.time_zone
    found = [
        Happened(
            words.local(row.reading.taken_at, zone), "reading", f"Read in {row.reading.mode}", result=row
        )
        for each in stories
        for row in each.results
    ]
    found += [
        Happened(
            words.local(e.at, zone),
            "done",
            words.EVENTS.get(e.what, e.what),
            "" if person.is_client else e.note,
        )
        for e in UnitEvent.objects.seen_by(person).filter(unit=unit, taken_back_at=None)[:MOST_TOLD]
    ]
    findings = Finding.objects.seen_by(person).in_use().filter(unit=unit).exclude(kind="photo")
    found += [
        Happened(words.local(f.found_at, zone), "finding", said_of(f), f.note) for f in findings[:MOST_TOLD]
    ]
    visits = Visit.objects.seen_by(person).filter(readings__exchanger__unit=unit, state="done").distinct()
    found += [
        Happened(words.local(v.window_start, zone), "visit", f"Visit, {v.reason}") for v in visits[:MOST_TOLD]
    ]
    documents = Document.objects.seen_by(person).filter(exchanger__unit=unit, state="released")
    found += [
        Happened(
            words.local(d.prepared_at, zone), "document", d.title, link=f"/api/v1/documents/{d.pk}/file/"
        )
        for d in documents[:MOST_TOLD]
    ]
    return sorted(found, key=lambda each: each.at, reverse=True)[: 2 * MOST_TOLD]


def said_of(finding: Finding) -> str:
    kind = finding.kind.replace("_", " ").capitalize()
    return f"{kind}: {finding.value.replace('_', ' ')}" if finding.value else kind
