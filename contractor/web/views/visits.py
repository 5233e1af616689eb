"""Visits for the office: a table by day, booking, moving, calling off."""

from __future__ import annotations

import datetime as dt
from itertools import groupby
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date

from contractor.descales import services as descales
from contractor.descales.models import Descale
from contractor.http.permissions import OFFICE
from contractor.visits import services
from contractor.visits.models import Finding, Reading, Visit
from contractor.web.forms.visits import MoveVisitForm, ReasonForm, VisitForm
from contractor.web.page import FormPage, Page
from contractor.web.records.forms import pk_of
from contractor.web.stale import Versioned
from reporting.models import Document

SPAN = dt.timedelta(days=14)
MOST = 300
EARLIEST, LATEST = dt.date(1990, 1, 1), dt.date(2200, 1, 1)


def day_given(text: str | None) -> dt.date | None:
    """A day given in an address, if it is one of any calendar that visits stand in."""
    try:
        day = parse_date(text or "")
    except ValueError:
        return None
    return day if day is not None and EARLIEST <= day <= LATEST else None


def day_of(visit: Visit) -> dt.date:
    return visit.window_start.astimezone(visit.site.zone).date()


def last_day_of(visit: Visit) -> dt.date:
    return (visit.window_end - dt.timedelta(microseconds=1)).astimezone(visit.site.zone).date()


class Visits(Page):
    may = OFFICE
    template = "web/office/visits.html"

    def context(self) -> dict[str, Any]:
        first = day_given(self.request.GET.get("from")) or timezone.localdate()
        last = day_given(self.request.GET.get("until")) or first + SPAN
        first, last = min(first, last), max(first, last)
        rows = Visit.objects.filter(window_start__lt=_after(last), window_end__gt=_before(first))
        rows = rows.select_related("site__customer").prefetch_related("crew")
        near = rows.order_by("window_start", "id")[: 2 * MOST + 1]
        found = [each for each in near if day_of(each) <= last and last_day_of(each) >= first]
        shown = sorted(found[:MOST], key=day_of)
        days = [(day, list(visits)) for day, visits in groupby(shown, key=day_of)]
        step = last - first
        return {
            "title": "Visits", "days": days, "first": first, "last": last, "most": MOST,
            "more": len(found) > MOST or len(near) > 2 * MOST,
            "earlier": first - step, "later": last, "latest": last + step,
        }  # fmt: skip


def _before(day: dt.date) -> dt.datetime:
    """Before the day begins anywhere; which sites' clocks show it is told visit by visit."""
    return dt.datetime.combine(day, dt.time.min, tzinfo=dt.UTC) - dt.timedelta(days=1)


def _after(day: dt.date) -> dt.datetime:
    return _before(day) + dt.timedelta(days=3)


class Book(FormPage):
    may = OFFICE
    form_class = VisitForm
    title = "Book a visit"
    send_label = "Book it"
    done = "The visit is booked."

    def initial(self) -> dict[str, Any]:
        site = pk_of(self.request.GET.get("site"))
        descale = pk_of(self.request.GET.get("descale"))
        return {"site": site, "day": day_given(self.request.GET.get("day")), "descale": descale,
                "reason": "descale" if descale else "routine"}  # fmt: skip

    def context(self) -> dict[str, Any]:
        return {"back": reverse("web:visits")}

    def link(self, visit: Visit, chosen: Descale | None) -> None:
        """The descale it is booked for; else the only agreed one of the site without a visit."""
        if chosen is None and visit.reason == "descale":
            waiting = list(Descale.objects.wanting_a_visit().filter(exchanger__unit__site=visit.site_id)[:2])
            chosen = waiting[0] if len(waiting) == 1 else None
        if chosen is not None:
            descales.change_descale(self.person, chosen, {"visit": visit})

    def carry_out(self, form: VisitForm) -> str:
        given = form.cleaned_data
        fields = {"site": given["site"], "urgent": given["urgent"], **form.fields_of_visit(given["site"])}
        visit = services.book_visit(fields, list(given["crew"]), list(given["rigs"]))
        self.link(visit, given.get("descale"))
        return reverse("web:visit", args=[visit.pk])


class OfVisit:
    def visit(self) -> Visit:
        rows = Visit.objects.seen_by(self.request.user)  # type: ignore[attr-defined]
        found: Visit = get_object_or_404(
            rows.select_related("site__customer").prefetch_related("crew"),
            pk=self.kwargs["pk"],  # type: ignore[attr-defined]
        )
        return found

    def back_to(self) -> str:
        return reverse("web:visit", args=[self.kwargs["pk"]])  # type: ignore[attr-defined]


class ShowVisit(OfVisit, Page):
    may = OFFICE
    template = "web/office/visit.html"

    def context(self) -> dict[str, Any]:
        visit = self.visit()
        readings = Reading.objects.filter(visit=visit).select_related("exchanger__unit", "taken_by")
        findings = Finding.objects.in_use().filter(visit=visit).select_related("unit", "found_by")
        return {
            "title": f"Visit to {visit.site}", "visit": visit, "readings": readings, "findings": findings,
            "documents": Document.objects.filter(visit=visit), "open": visit.state in ("booked", "under_way"),
        }  # fmt: skip


class MoveVisit(OfVisit, Versioned, FormPage):
    may = OFFICE
    form_class = MoveVisitForm
    done = "The visit is changed."

    def form_options(self) -> dict[str, Any]:
        return {"site": self.visit().site}

    def initial(self) -> dict[str, Any]:
        return MoveVisitForm.of(self.visit())

    def context(self) -> dict[str, Any]:
        visit = self.visit()
        return {
            "title": f"Change the visit to {visit.site}",
            "back": self.back_to(),
            "version": self.version_of(visit),
        }

    def carry_out(self, form: MoveVisitForm) -> str:
        visit = self.visit()
        self.refuse_stale(visit)
        given = form.cleaned_data
        services.change_visit(
            visit, form.fields_of_visit(visit.site), list(given["crew"]), list(given["rigs"])
        )
        return self.back_to()


class CallOff(OfVisit, FormPage):
    may = OFFICE
    form_class = ReasonForm
    send_label = "Call it off"
    done = "The visit is called off; its crew is free."

    def context(self) -> dict[str, Any]:
        return {"title": f"Call off the visit to {self.visit().site}", "back": self.back_to()}

    def carry_out(self, form: ReasonForm) -> str:
        services.call_off(self.visit(), form.cleaned_data["reason"], timezone.now())
        return self.back_to()
