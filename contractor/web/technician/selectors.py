"""What the technician's pages tell, in few queries that do not grow with the history."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.urls import reverse

from contractor.accounts.models import Person
from contractor.descales.models import Descale, DescalePlan
from contractor.descales.services import StrainerDue, strainers_due
from contractor.register.models import Cleaner, Exchanger, GaugeSet, Unit, UnitEvent
from contractor.visits.models import Finding, Reading, Visit
from diagnostics.models import Assessment, Ranking

COME_ALONG = timedelta(hours=36)
USUAL_EXPONENT = 1.85  # the engine's, which is not imported here because it loads the property library
MOST_VISITS, MOST_UNITS, MOST_VERDICTS, MOST_FINDINGS, MOST_STRAINERS = 60, 200, 5, 5, 20


@dataclass
class Rounds:
    """One's own open visits: those of today, those to come, and every page of today's to bring along."""

    at: datetime
    today: list[Visit] = field(default_factory=list)
    coming: list[Visit] = field(default_factory=list)
    bring: list[str] = field(default_factory=list)
    tags: dict[str, dict[str, str]] = field(default_factory=dict)
    papers: list[dict[str, str]] = field(default_factory=list)
    strainers: list[StrainerDue] = field(default_factory=list)


def visits_of(person: Person) -> QuerySet[Visit]:
    return (
        Visit.objects.open().of_crew(person).select_related("site__customer").order_by("window_start", "id")
    )


def is_of_today(visit: Visit, now: datetime) -> bool:
    zone = visit.site.zone
    return (
        visit.state == "under_way"
        or visit.window_start.astimezone(zone).date() <= now.astimezone(zone).date()
    )


def rounds(person: Person, now: datetime) -> Rounds:
    found = Rounds(now)
    visits = list(visits_of(person)[:MOST_VISITS])
    for visit in visits:
        (found.today if is_of_today(visit, now) else found.coming).append(visit)
    soon = [visit for visit in visits if visit in found.today or visit.window_start < now + COME_ALONG]
    units = units_at({visit.site_id for visit in soon})
    found.bring = [*pages_of(soon, units), *descales_of({unit.site_id for unit in units})]
    found.strainers = strainers_due(person, now)[:MOST_STRAINERS]
    found.bring += [reverse("web:crew-descale", args=[one.descale.pk]) for one in found.strainers]
    found.papers = papers_of({unit.site_id for unit in units})
    first = {visit.site_id: str(visit.pk) for visit in reversed(soon)}
    found.tags = {unit.tag.upper(): {"unit": str(unit.pk), "visit": first[unit.site_id]} for unit in units}
    return found


def pages_of(visits: list[Visit], units: list[Unit]) -> list[str]:
    """Addresses of all pages that these visits may need, without a signal too."""
    pages = [reverse("web:crew-unsent"), reverse("web:crew-tag")]
    for visit in visits:
        pages += [reverse("web:crew-visit", args=[visit.pk]), reverse("web:crew-survey", args=[visit.pk])]
    for unit in units:
        pages.append(reverse("web:crew-unit", args=[unit.pk]))
        pages += [reverse("web:crew-read", args=[exchanger.pk]) for exchanger in unit.exchangers.all()]
    return pages


def descales_of(sites: set[UUID]) -> list[str]:
    rows = Descale.objects.open().filter(exchanger__unit__site__in=sites).order_by("pk")
    return [reverse("web:crew-descale", args=[pk]) for pk in rows.values_list("pk", flat=True)]


def descales_on(visit: Visit) -> QuerySet[Descale]:
    """Open ones that are booked on this visit."""
    return Descale.objects.open().filter(visit=visit).select_related("exchanger__unit").order_by("created_at")


def papers_of(sites: set[UUID]) -> list[dict[str, str]]:
    """Label and safety data sheet of every cleaner that is planned there: address, version, name."""
    plans = DescalePlan.objects.filter(
        descale__in=Descale.objects.open().filter(exchanger__unit__site__in=sites), superseded_at__isnull=True
    )
    cleaners = Cleaner.objects.filter(pk__in=plans.values("cleaner")).order_by("name", "id")
    return [paper for cleaner in cleaners for paper in papers_on_file(cleaner)]


def papers_on_file(cleaner: Cleaner) -> list[dict[str, str]]:
    kept = (("label", cleaner.label, "label"), ("safety-sheet", cleaner.safety_sheet, "safety data sheet"))
    return [
        {
            "address": reverse(f"cleaner-{route}", args=[cleaner.pk]),
            "version": hashlib.sha256(str(file.name).encode()).hexdigest()[:12],
            "name": f"{words} of {cleaner.name}",
        }
        for route, file, words in kept
        if file
    ]


def units_at(sites: set[UUID]) -> list[Unit]:
    rows = Unit.objects.in_use().filter(site__in=sites).select_related("site").order_by("tag", "id")
    return list(rows.prefetch_related(Prefetch("exchangers", Exchanger.objects.in_use()))[:MOST_UNITS])


def read_on(visit: Visit) -> list[str]:
    """Exchangers that have a reading of this visit."""
    rows = Reading.objects.standing().filter(visit=visit).order_by("exchanger")
    return [str(pk) for pk in rows.values_list("exchanger", flat=True).distinct()]


@dataclass
class Story:
    """A unit before one touches it."""

    unit: Unit
    exchangers: list[Exchanger]
    latest: dict[str, Assessment]
    verdicts: list[Assessment]
    cleaned: UnitEvent | None
    events: list[UnitEvent]
    findings: list[Finding]
    ranked: dict[str, Ranking]
    descales: list[Descale]

    def answers(self) -> list[tuple[Exchanger, Assessment | None, Ranking | None]]:
        """Each exchanger with what its latest reading told; a ranking of an older reading is not told."""
        return [(each, *self._answer(str(each.pk))) for each in self.exchangers]

    def _answer(self, exchanger: str) -> tuple[Assessment | None, Ranking | None]:
        latest, ranking = self.latest.get(exchanger), self.ranked.get(exchanger)
        if latest and ranking and ranking.reading_id != latest.reading_id:
            ranking = None
        return latest, ranking


def ranked(person: Person, unit: Unit) -> dict[str, Ranking]:
    rows = Ranking.objects.seen_by(person).current().filter(reading__exchanger__unit=unit)
    found: dict[str, Ranking] = {}
    for one in rows.select_related("reading").latest_taken_first()[: 4 * MOST_VERDICTS]:
        found.setdefault(str(one.reading.exchanger_id), one)
    return found


def story(person: Person, unit: Unit) -> Story:
    verdicts = list(
        Assessment.objects.seen_by(person).current().filter(reading__exchanger__unit=unit)
        .select_related("reading__exchanger").latest_taken_first()[: 4 * MOST_VERDICTS]
    )  # fmt: skip
    latest: dict[str, Assessment] = {}
    for one in verdicts:
        latest.setdefault(str(one.reading.exchanger_id), one)
    events = list(UnitEvent.objects.filter(unit=unit, taken_back_at__isnull=True).order_by("-at")[:20])
    findings = Finding.objects.seen_by(person).in_use().filter(unit=unit).select_related("found_by")
    return Story(
        unit=unit,
        exchangers=list(unit.exchangers.in_use().order_by("name", "id")),
        latest=latest,
        verdicts=verdicts[:MOST_VERDICTS],
        cleaned=next((event for event in events if event.what == "descaled"), None),
        events=events[:MOST_VERDICTS],
        findings=list(findings.order_by("-found_at")[:MOST_FINDINGS]),
        ranked=ranked(person, unit),
        descales=list(
            Descale.objects.seen_by(person).open().filter(exchanger__unit=unit).select_related("exchanger")
        ),
    )


def gauge_sets_of(person: Person) -> list[GaugeSet]:
    """One's own first; any set of the firm's may be borrowed."""
    rows = GaugeSet.objects.seen_by(person).in_use().order_by("name")
    return sorted(rows, key=lambda one: one.holder_id != person.pk)


def facts_of(exchanger: Exchanger, table: str) -> dict[str, Any]:
    """What the script of the readings form needs."""
    unit, site = exchanger.unit, exchanger.unit.site
    name = unit.tag if exchanger.name == "1" else f"{unit.tag} {exchanger.name}"
    return {
        "exchanger": str(exchanger.pk),
        "name": name,
        "tag": unit.tag,
        "elevation_m": site.elevation_m,
        "design": {
            "flow_m3_per_s": exchanger.design_flow_m3_per_s,
            "pressure_drop_pa": exchanger.design_pressure_drop_pa,
            "exponent": exchanger.pressure_drop_exponent or USUAL_EXPONENT,
            "plain_water": site.antifreeze == "none",
            "drop_is_own": exchanger.between_ports in ("", "coil_only") and not exchanger.port_rise_m,
        },
        "table": table,
    }
