"""One box that looks through everything the office keeps."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Discharge, HeldWaste
from contractor.http.permissions import OFFICE
from contractor.visits.models import Finding, Reading, Visit
from contractor.web.finding import matching, words_in
from contractor.web.page import Page
from contractor.web.records.kinds import KINDS
from reporting.models import Document

AT_MOST = 10
# beside the records: what is found, its name, the columns looked into, the page of one, what it belongs to
OTHERS: tuple[tuple[Any, str, tuple[str, ...], str, str], ...] = (
    (Visit, "Visits", ("site__name", "site__customer__name", "reason", "notes", "crew__name",
                       "called_off_because", "opened_by_tag", "quiet_hours_agreed_with",
                       "outside_hours_agreed_with"), "web:visit", "pk"),
    (Document, "Documents", ("title", "site__name", "site__customer__name", "withdrawn_because"),
     "web:document", "pk"),
    (Finding, "Findings", ("note", "unit__tag", "visit__site__name"), "web:visit", "visit_id"),
    (Reading, "Notes on readings", ("note", "correction_reason", "set_aside_because"), "web:reading", "pk"),
    (Descale, "Descales", ("exchanger__unit__tag", "exchanger__unit__site__name",
                           "exchanger__unit__site__customer__name", "because", "ended_because",
                           "consent__order_number", "consent__said_by"), "web:descale", "pk"),
    (Discharge, "Water let out", ("permit_reference", "acid_document", "note",
                                  "descale__exchanger__unit__tag"), "web:descale", "descale_id"),
    (HeldWaste, "Held waste", ("where", "whose", "collected_by", "note"), "web:descale", "descale_id"),
)  # fmt: skip
NAMED_BY = {
    Visit: ("site",),
    Document: ("site",),
    Finding: ("visit__site", "unit"),
    Reading: ("exchanger__unit",),
    Descale: ("exchanger__unit",),
    Discharge: ("descale__exchanger__unit__site",),
    HeldWaste: ("descale__exchanger__unit",),
}


def named(row: Any) -> str:
    """A row as its reader knows it."""
    if isinstance(row, Finding):
        what = row.kind.replace("_", " ")
        return f"{row.unit or row.visit.site}: {what}" + (f", {row.note[:80]}" if row.note else "")
    if isinstance(row, HeldWaste):
        return f"{row.where}, from {row.descale.exchanger}"
    if isinstance(row, Discharge):
        at = row.at.astimezone(row.descale.exchanger.unit.site.zone)
        permit = f", permit {row.permit_reference}" if row.permit_reference else ""
        return f"{row.descale.exchanger}, {at:%-d %b %Y}{permit}"
    if isinstance(row, Visit):
        return f"{row.site}, {row.window_start.astimezone(row.site.zone):%-d %b %Y}, {row.reason}"
    words = str(row)
    return f"{words[:1].upper()}{words[1:]}"


def found_in(person: Person, words: list[str]) -> list[dict[str, Any]]:
    parts = []
    for kind in KINDS.values():
        if kind.find:
            rows = matching(kind.model.objects.seen_by(person), kind.find, words).select_related(
                *kind.related
            )
            lines = [
                (str(row), reverse(f"web:{kind.slug}-show", args=[row.pk]), row) for row in rows[:AT_MOST]
            ]
            parts.append({"name": kind.many, "lines": lines})
    for model, name, columns, page, key in OTHERS:
        found = matching(model.objects.seen_by(person), columns, words).values("pk")
        rows = model.objects.filter(pk__in=found).select_related(*NAMED_BY[model])
        parts.append(
            {
                "name": name,
                "lines": [(named(r), reverse(page, args=[getattr(r, key)]), r) for r in rows[:AT_MOST]],
            }
        )
    return [part for part in parts if part["lines"]]


class Search(Page):
    may = OFFICE
    template = "web/office/search.html"

    def context(self) -> dict[str, Any]:
        asked, words = words_in(self.request.GET.get("q", ""))
        parts = found_in(self.person, words) if words else []
        return {"title": "Search", "asked": asked, "parts": parts, "at_most": AT_MOST}
