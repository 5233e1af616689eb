"""The technician's pages. They only show; what is typed goes through the API by way of the phone's outbox."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.http.permissions import CREW
from contractor.register import guessing
from contractor.register.models import Exchanger, Unit
from contractor.visits.finding_words import BRINGS, BROUGHT, FINDING_VALUES
from contractor.visits.models import Visit
from contractor.web.page import Page
from contractor.web.technician import fields, saturation, selectors
from diagnostics.engine import records

PERSON = "Waterside-Person"
# the commonest first; what a descale brought is said in the descale itself
FIRST = ("note", "could_not_do", "photo", "strainer", "back_flush", "lockout")
FINDING_CHOICES = (*FIRST, *(kind for kind in FINDING_VALUES if kind not in (*FIRST, "descale")))


class CrewPage(Page):
    """Marked with whose it is, so that the phone keeps it for nobody else."""

    may = CREW

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = super().dispatch(request, *args, **kwargs)
        response.headers[PERSON] = str(self.person.pk)
        return response


class Visits(CrewPage):
    """One's own open visits: today's, and those to come."""

    template = "web/technician/visits.html"

    def context(self) -> dict[str, Any]:
        rounds = selectors.rounds(self.person, timezone.now())
        return {"title": "Your visits", "rounds": rounds}


class OneVisit(CrewPage):
    template = "web/technician/visit.html"

    def context(self) -> dict[str, Any]:
        seen = Visit.objects.seen_by(self.person).select_related("site__customer")
        visit = get_object_or_404(seen, pk=self.kwargs["pk"])
        mine = self.person.is_office or visit.crew_places.filter(person=self.person).exists()
        units = selectors.units_at({visit.site_id})
        return {
            "title": visit.site.name,
            "visit": visit,
            "mine": mine,
            "units": units,
            "descales": selectors.descales_on(visit),
            "bring": [*selectors.pages_of([visit], units), *selectors.descales_of({visit.site_id})],
            "facts": {
                "visit": str(visit.pk),
                "site": visit.site.name,
                "units": {str(unit.pk): [str(one.pk) for one in unit.exchangers.all()] for unit in units},
                "read": selectors.read_on(visit),
            },
        }


class Survey(CrewPage):
    """One short row for every exchanger of the site."""

    template = "web/technician/survey.html"

    def context(self) -> dict[str, Any]:
        seen = Visit.objects.seen_by(self.person).select_related("site")
        visit = get_object_or_404(seen, pk=self.kwargs["pk"])
        rows = Exchanger.objects.in_use().filter(unit__site=visit.site_id, unit__retired_at__isnull=True)
        exchangers = list(rows.select_related("unit").order_by("unit__tag", "name", "id"))
        units = {str(row.pk): str(row.unit_id) for row in exchangers}
        return {
            "title": "Survey",
            "visit": visit,
            "exchangers": exchangers,
            "fields": fields.short_row(self.person.units),
            "temperature_units": fields.field("entering_water", self.person.units).units,
            "pressure_units": fields.field("head_pressure", self.person.units).units,
            "facts": {"visit": str(visit.pk), "units": units},
        }


class OneUnit(CrewPage):
    """The unit's story before one touches it."""

    template = "web/technician/unit.html"

    def context(self) -> dict[str, Any]:
        unit = get_object_or_404(
            Unit.objects.seen_by(self.person).select_related("site"), pk=self.kwargs["pk"]
        )
        story = selectors.story(self.person, unit)
        return {
            "title": unit.tag,
            "unit": unit,
            "story": story,
            "answers": story.answers(),
            "kinds": FINDING_CHOICES,
            "brought": BROUGHT,
            "facts": {"unit": str(unit.pk), "tag": unit.tag, "brings": sorted(BRINGS)},
            "states": {kind: list(words) for kind, words in FINDING_VALUES.items()},
        }


class Read(CrewPage):
    """The readings form of one exchanger; the visit stands in the address and is the phone's affair."""

    template = "web/technician/reading.html"

    def context(self) -> dict[str, Any]:
        rows = Exchanger.objects.seen_by(self.person).select_related("unit__site")
        exchanger = get_object_or_404(rows, pk=self.kwargs["pk"])
        table = static(saturation.file_of(exchanger.unit.refrigerant))
        facts = selectors.facts_of(exchanger, table)
        return {
            "title": f"Readings of {facts['name']}",
            "exchanger": exchanger,
            "others": exchanger.unit.exchangers.in_use().exclude(pk=exchanger.pk).order_by("name", "id"),
            "facts": facts,
            "groups": fields.groups(self.person.units),
            "modes": [mode for mode in records.MODES if exchanger.reads_in(mode)],
            "stages": ["full", *(str(stage) for stage in range(1, exchanger.unit.stages))],
            "purposes": records.PURPOSES,
            "strainer": records.STRAINER_STATES,
            "back_flush": records.BACK_FLUSH_RESULTS,
            "lockout": records.FAULT_LOCKOUTS,
            "drop_read_by": records.DROP_READ_BY,
            "gauge_sets": selectors.gauge_sets_of(self.person),
        }


class Unsent(CrewPage):
    template = "web/technician/unsent.html"

    def context(self) -> dict[str, Any]:
        return {"title": "Not sent yet"}


def early_form(person: Person) -> dict[str, Any]:
    """Fields for what is read before the phone knows the unit."""
    return {"early": fields.early(person.units), "modes": records.MODES}


class Tag(CrewPage):
    template = "web/technician/tag.html"

    def context(self) -> dict[str, Any]:
        return {"title": "A unit by its tag", "code": "", **early_form(self.person)}


class ScannedTag(CrewPage):
    """What a tag's code opens: the unit where one sees it, else its safety notes and the urgent visit."""

    template = "web/technician/tag.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        code = str(self.kwargs["code"])[:40]
        guessing.count_tag(self.person, code, timezone.now())
        unit = Unit.objects.with_tag(code).select_related("site").first()
        if unit is None:
            words = {"title": "No unit carries this tag", "code": code}
            return self.shown(404, **words, **early_form(self.person))
        if not Unit.objects.seen_by(self.person).filter(pk=unit.pk).exists():
            return self.shown(title=unit.tag, code=unit.tag, found=unit, **early_form(self.person))
        visit = selectors.visits_of(self.person).filter(site=unit.site_id).first()
        address = reverse("web:crew-unit", args=[unit.pk])
        return redirect(f"{address}?visit={visit.pk}" if visit else address)
