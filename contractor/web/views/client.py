"""The client's pages: their own sites and units, in plain words first. Nothing is written here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.shortcuts import get_object_or_404
from django.utils import timezone

from contractor.descales.models import Discharge, Notice
from contractor.register.models import Exchanger, Site, Unit
from contractor.visits.models import Finding, Reading, Visit
from contractor.web import story
from contractor.web.page import Page
from diagnostics.models import Assessment
from reporting.models import Document

CLIENT = frozenset({"client"})
NOT_REACHED_FOR = timedelta(days=365)
MOST = 200
CERTIFICATE = "certificate"


def latest_of(units: Sequence[Unit], person: Any) -> dict[Any, list[Assessment]]:
    """The last result of each exchanger that this person may see, by unit."""
    rows = Assessment.objects.seen_by(person).filter(reading__exchanger__unit__in=units)
    rows = rows.filter(reading__exchanger__retired_at=None).latest_taken_first()
    last: dict[Any, int] = {}
    for exchanger, pk in rows.values_list("reading__exchanger", "pk"):
        last.setdefault(exchanger, pk)
    # the whole answer of each reading is a wide column, and no list shows it
    told = Assessment.objects.filter(pk__in=last.values()).only(
        "verdict", "probability_over_limit", "do_next", "reading__taken_at", "reading__exchanger__unit"
    )
    found: dict[Any, list[Assessment]] = {}
    for row in told.select_related("reading__exchanger"):
        found.setdefault(row.reading.exchanger.unit_id, []).append(row)
    return found


def worst(results: Sequence[Assessment]) -> Assessment | None:
    order = {"fouled": 0, "undecided": 1, "clean": 2}
    return min(results, key=lambda row: order[row.verdict], default=None)


def coming(person: Any, **where: Any) -> Any:
    rows = Visit.objects.seen_by(person).open().filter(window_end__gte=timezone.now(), **where)
    return rows.select_related("site").order_by("window_start")[:20]


def notices(person: Any, **where: Any) -> Any:
    """Descales to come, as the office gave notice of them."""
    rows = Notice.objects.seen_by(person).to_come(timezone.now()).filter(**where)
    return rows.select_related("cleaner", "descale__exchanger__unit__site").order_by("work_starts_at")[:20]


def not_reached(person: Any, **where: Any) -> list[Finding]:
    """What could not be done and has not been read since, with the reason."""
    since = timezone.now() - NOT_REACHED_FOR
    rows = Finding.objects.seen_by(person).filter(
        kind="could_not_do", found_at__gte=since, unit__isnull=False
    )
    found = list(rows.filter(**where).select_related("unit", "visit__site")[:MOST])
    units = {each.unit_id for each in found}
    taken = Reading.objects.standing().filter(exchanger__unit__in=units)
    last: dict[Any, Any] = {}
    for unit, at in taken.order_by("taken_at").values_list("exchanger__unit", "taken_at"):
        last[unit] = at
    return [each for each in found if each.unit_id not in last or last[each.unit_id] <= each.found_at]


class Sites(Page):
    may = CLIENT
    template = "web/client/sites.html"

    def context(self) -> dict[str, Any]:
        sites = list(Site.objects.in_use().seen_by(self.person).select_related("customer")[:MOST])
        units = list(Unit.objects.in_use().filter(site__in=sites))
        latest = latest_of(units, self.person)
        told = [(site, summary([u for u in units if u.site_id == site.pk], latest)) for site in sites]
        return {
            "title": "Your sites", "sites": told, "coming": coming(self.person, site__in=sites),
            "notices": notices(self.person, descale__exchanger__unit__site__in=sites),
            "not_reached": not_reached(self.person, visit__site__in=sites), "office": office(),
        }  # fmt: skip


def summary(units: Sequence[Unit], latest: dict[Any, list[Assessment]]) -> dict[str, int]:
    verdicts = [getattr(worst(latest.get(unit.pk, [])), "verdict", "") for unit in units]
    return {
        "units": len(units), "fouled": verdicts.count("fouled"), "clean": verdicts.count("clean"),
        "undecided": verdicts.count("undecided"), "not_told": verdicts.count(""),
    }  # fmt: skip


def office() -> dict[str, str]:
    return {"name": settings.CONTRACTOR_NAME, "email": settings.OFFICE_EMAIL, "phone": settings.OFFICE_PHONE}


class OneSite(Page):
    may = CLIENT
    template = "web/client/site.html"

    def context(self) -> dict[str, Any]:
        sites = Site.objects.seen_by(self.person).select_related("customer")
        site = get_object_or_404(sites, pk=self.kwargs["pk"])
        units = list(Unit.objects.in_use().filter(site=site).order_by("tag"))
        latest = latest_of(units, self.person)
        documents = Document.objects.seen_by(self.person)
        discharges = Discharge.objects.seen_by(self.person).filter(descale__exchanger__unit__site=site)
        return {
            "title": site.name, "site": site, "coming": coming(self.person, site=site), "office": office(),
            "units": [(unit, worst(latest.get(unit.pk, []))) for unit in units],
            "not_reached": not_reached(self.person, visit__site=site),
            "notices": notices(self.person, descale__exchanger__unit__site=site),
            "discharges": discharges.select_related("acceptance_read_by").order_by("-at")[:50],
            "documents": documents.filter(site=site).exclude(kind=CERTIFICATE).order_by("-prepared_at")[:50],
            "certificates": documents.filter(site=site, kind=CERTIFICATE).order_by("-prepared_at")[:50],
        }  # fmt: skip


class OneUnit(Page):
    may = CLIENT
    template = "web/client/unit.html"

    def context(self) -> dict[str, Any]:
        units = Unit.objects.seen_by(self.person).select_related("site__customer")
        unit = get_object_or_404(units, pk=self.kwargs["pk"])
        exchangers = (
            Exchanger.objects.in_use().filter(unit=unit).select_related("unit__site").order_by("name")
        )
        stories = story.stories_of(list(exchangers), self.person)
        return {
            "title": f"Unit {unit.tag}", "unit": unit, "site": unit.site, "stories": stories,
            "timeline": story.timeline(stories, self.person, unit), "office": office(),
            "coming": coming(self.person, site=unit.site),
            "notices": notices(self.person, descale__exchanger__unit=unit),
            "certificates": Document.objects.seen_by(self.person)
            .filter(exchanger__unit=unit, kind=CERTIFICATE).order_by("-prepared_at")[:50],
        }  # fmt: skip
