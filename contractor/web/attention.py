"""What needs the office's attention, each kind asked for in one query and told in plain words."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.urls import reverse

from contractor.accounts.models import Certificate
from contractor.descales.models import Descale, Discharge, HeldWaste
from contractor.http.models import KeptAnswer
from contractor.register.models import Cleaner, CleanerLot, Instrument
from contractor.register.sheets import PAPER_GOOD_FOR
from contractor.visits.models import Finding, Reading, Visit
from contractor.workqueue.models import WorkItem
from diagnostics.models import Assessment, GrowthFit
from reporting.models import Document

AT_MOST = 20
RECENT = timedelta(days=14)
SOON = timedelta(days=30)
A_YEAR = timedelta(days=365)
AHEAD = timedelta(days=90)


@dataclass(frozen=True, slots=True)
class Line:
    words: str
    link: str
    more: str = ""
    site: Any = None
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Matter:
    """One kind of thing to attend to. `kind` is a state's sign: act, watch, unknown, good."""

    name: str
    what_to_do: str
    kind: str
    lines: list[Line] = field(default_factory=list)
    more: int = 0


def matter(name: str, what_to_do: str, kind: str, rows: QuerySet[Any], told: Any) -> Matter:
    """At most so many lines; what is beyond is counted as 'more'."""
    found = list(rows[: AT_MOST + 1])
    return Matter(
        name, what_to_do, kind, [told(row) for row in found[:AT_MOST]], max(len(found) - AT_MOST, 0)
    )


def matters(now: datetime) -> list[Matter]:
    """Most pressing first; what is empty is left out."""
    found = [
        exceeded(now), failed_work(), overdue(now), urgent(now), rejected(now), fouled(now),
        descales("recommended"), descales("priced"), held_waste(), undecided(now), not_reached(now),
        due_soon(now), waiting_documents(), lapsing_certificates(now), lapsing_instruments(now),
        lapsing_lots(now), old_sheets(now),
    ]  # fmt: skip
    return [each for each in found if each.lines]


def visit_line(visit: Visit) -> Line:
    return Line(
        str(visit.site), reverse("web:visit", args=[visit.pk]), visit.reason, visit.site, visit.window_end
    )


def overdue(now: datetime) -> Matter:
    rows = Visit.objects.overdue(now).select_related("site").order_by("window_end")
    words = "Ask the crew, then finish, move or call it off."
    return matter("Visits whose window has passed", words, "act", rows, visit_line)


def urgent(now: datetime) -> Matter:
    rows = Visit.objects.urgent_since(now - RECENT).exclude(opened_by_tag="").select_related("site")
    words = "A technician opened these on the spot. See that the customer knows."
    return matter(
        "Urgent visits opened in the last two weeks", words, "watch", rows.order_by("-created_at"), visit_line
    )


def what_went_wrong(item: WorkItem) -> str:
    problem = item.problem or {}
    return str(problem.get("detail") or problem.get("title", ""))[:160]


def failed_work() -> Matter:
    rows = WorkItem.objects.filter(state=WorkItem.State.FAILED).order_by("-finished_at")
    return matter(
        "Background work that failed", "Read why, mend it, try again.", "act", rows,
        lambda item: Line(item.kind.replace("_", " "), reverse("web:work"),
                          what_went_wrong(item),
                          at=item.finished_at),
    )  # fmt: skip


def rejected(now: datetime) -> Matter:
    """What phones sent and the service refused: it stays on the phone until it is mended."""
    rows = KeptAnswer.objects.filter(status__gte=400, created_at__gte=now - RECENT).exclude(status=401)
    rows = rows.select_related("person").order_by("-created_at")
    return matter(
        "Posts from phones that were refused",
        "Ring the technician: it stays on the phone until it is mended.", "act", rows,
        lambda row: Line(str(row.person), reverse("web:people-show", args=[row.person_id]),
                               f"{row.path} answered {row.status}", at=row.created_at),
    )  # fmt: skip


def latest_results() -> QuerySet[Assessment]:
    """The assessment that stands of the last reading of each exchanger."""
    last = (
        Assessment.objects.current()
        .filter(reading__exchanger=OuterRef("reading__exchanger"))
        .order_by("-reading__taken_at", "-pk")
        .values("pk")[:1]
    )
    rows = Assessment.objects.current().filter(pk=Subquery(last), reading__exchanger__retired_at=None)
    return rows.select_related("reading__exchanger__unit__site")


def result_line(row: Assessment) -> Line:
    exchanger = row.reading.exchanger
    link = reverse("web:exchangers-show", args=[exchanger.pk])
    return Line(str(exchanger), link, row.do_next, exchanger.unit.site, row.reading.taken_at)


def fouled(now: datetime) -> Matter:
    """Fouled, and no descale booked at the site since."""
    booked = Visit.objects.filter(
        site=OuterRef("reading__exchanger__unit__site"),
        reason="descale",
        window_end__gt=OuterRef("reading__taken_at"),
    ).exclude(state="called_off")
    rows = (
        latest_results()
        .filter(verdict="fouled")
        .exclude(reading__exchanger__in=Descale.objects.open().values("exchanger"))
        .exclude(reading__exchanger__unit__site__in=booked.values("site"))
    )
    return matter(
        "Fouled, and no descale booked",
        "These wait for a price, a yes from the customer, or a visit.", "act",
        rows.order_by("-reading__taken_at"), result_line,
    )  # fmt: skip


DESCALES = {
    "recommended": ("Descales waiting for a price", "Name a price, so that the customer can say yes."),
    "priced": ("Descales waiting for a yes", "Ask the customer, and record who said yes."),
}


def descales(state: str) -> Matter:
    name, words = DESCALES[state]
    rows = Descale.objects.filter(state=state).select_related("exchanger__unit__site").order_by("created_at")
    return matter(
        name, words, "watch", rows,
        lambda row: Line(str(row.exchanger), reverse("web:descale", args=[row.pk]), row.because,
                         row.exchanger.unit.site, row.created_at),
    )  # fmt: skip


def held_waste() -> Matter:
    rows = HeldWaste.objects.still_there().select_related("descale__exchanger__unit__site").order_by("at")
    return matter(
        "Held waste", "Have it fetched by somebody licensed, and record who did.", "watch", rows,
        lambda row: Line(row.where, reverse("web:descale", args=[row.descale_id]), row.whose,
                         row.descale.exchanger.unit.site, row.at),
    )  # fmt: skip


def exceeded(now: datetime) -> Matter:
    rows = Discharge.objects.exceeding().filter(at__gte=now - SOON)
    return matter(
        "Discharges outside the limits", "Tell the authority as the permit says, and write down whom.", "act",
        rows.select_related("descale__exchanger__unit__site").order_by("-at"),
        lambda row: Line(str(row.descale.exchanger), reverse("web:descale", args=[row.descale_id]),
                         "; ".join(map(str, row.exceedances)), row.descale.exchanger.unit.site, row.at),
    )  # fmt: skip


def undecided(now: datetime) -> Matter:
    rows = latest_results().filter(verdict="undecided", reading__taken_at__gte=now - A_YEAR)
    words = "The last reading leaves it open. What to read next stands beside it."
    return matter(
        "Results that cannot tell yet", words, "unknown", rows.order_by("-reading__taken_at"), result_line
    )


def not_reached(now: datetime) -> Matter:
    """Could not be done, and nothing was read of the unit since."""
    since = Reading.objects.standing().filter(
        exchanger__unit=OuterRef("unit"), taken_at__gt=OuterRef("found_at")
    )
    rows = Finding.objects.in_use().filter(kind="could_not_do", found_at__gte=now - A_YEAR)
    rows = rows.exclude(unit__isnull=True).exclude(unit__in=since.values("exchanger__unit"))
    return matter(
        "Units not reached", "Arrange what was missing, then book again.", "watch",
        rows.select_related("unit__site").order_by("-found_at"),
        lambda row: Line(str(row.unit), reverse("web:units-show", args=[row.unit_id]), row.note,
                         row.unit.site,
                         row.found_at),
    )  # fmt: skip


def waiting_documents() -> Matter:
    rows = Document.objects.filter(state="prepared").filter(
        Q(assessment=None) | Q(assessment__superseded_at=None, assessment__reading__superseded_at=None)
    )
    return matter(
        "Documents waiting to be released", "Read each once, then release it to the client.", "watch",
        rows.select_related("site").order_by("-prepared_at"),
        lambda row: Line(row.title, reverse("web:document", args=[row.pk]), "", row.site, row.prepared_at),
    )  # fmt: skip


def lapsing_instruments(now: datetime) -> Matter:
    rows = Instrument.objects.in_use().filter(calibration_due_on__lte=(now + SOON).date())
    return matter(
        "Calibrations about to lapse", "Send the instrument in, or its readings count for less.", "watch",
        rows.select_related("gauge_set").order_by("calibration_due_on"),
        lambda row: Line(f"{row.gauge_set}, {row.get_reading_display()}",
                         reverse("web:instruments-show", args=[row.pk]),
                         f"due {row.calibration_due_on:%-d %b %Y}"),
    )  # fmt: skip


def lapsing_lots(now: datetime) -> Matter:
    rows = CleanerLot.objects.in_use().filter(expires_on__lte=(now + SOON).date())
    rows = rows.exclude(quantity_kg=0).select_related("cleaner").order_by(F("expires_on"))
    return matter(
        "Cleaner lots about to expire", "Use them first, or dispose of them as the sheet says.",
        "watch", rows,
        lambda row: Line(str(row), reverse("web:lots-show", args=[row.pk]),
                         f"expires {row.expires_on:%-d %b %Y}"),
    )  # fmt: skip


def lapsing_certificates(now: datetime) -> Matter:
    rows = Certificate.objects.last_of_each_kind().filter(
        person__is_active=True, expires_on__lte=(now + SOON).date()
    )
    return matter(
        "Certificates of people about to lapse", "Book the course; without it some work cannot be booked.",
        "watch", rows.select_related("person").order_by("expires_on"),
        lambda row: Line(str(row), reverse("web:certificates-show", args=[row.pk]),
                         f"holds until {row.expires_on:%-d %b %Y}"),
    )  # fmt: skip


def old_sheets(now: datetime) -> Matter:
    """Label or safety sheet of a cleaner in use that no plan may rest on any more, or soon not."""
    oldest = (now + SOON - PAPER_GOOD_FOR).date()
    rows = Cleaner.objects.in_use().filter(Q(safety_sheet_on__lte=oldest) | Q(label_on__lte=oldest))
    return matter(
        "Cleaners' sheets about to lapse", "Ask the supplier for the one in force, and file it.",
        "watch", rows.order_by("safety_sheet_on", "name"),
        lambda row: Line(str(row), reverse("web:cleaners-show", args=[row.pk]), sheet_dates(row)),
    )  # fmt: skip


def sheet_dates(cleaner: Cleaner) -> str:
    dates = (("label", cleaner.label_on), ("safety sheet", cleaner.safety_sheet_on))
    return ", ".join(f"{name} of {on:%-d %b %Y}" for name, on in dates if on)


def due_soon(now: datetime) -> Matter:
    """Not fouled yet, but on the way by how the deposit grew: it says when to look, never more."""
    told = latest_results().filter(verdict="fouled").values("reading__exchanger")
    rows = GrowthFit.objects.current().filter(reached_at__lte=now + AHEAD, exchanger__retired_at=None)
    rows = rows.exclude(exchanger__in=told).select_related("exchanger__unit__site").order_by("reached_at")
    return matter(
        "Units due by their growth and limit", "Offer a date before the limit is reached.", "watch", rows,
        lambda fit: Line(str(fit.exchanger), reverse("web:exchangers-show", args=[fit.exchanger_id]),
                         f"{limit_comes(fit, now)} {fit.said}. {fit.rests_on}.", fit.exchanger.unit.site),
    )  # fmt: skip


def limit_comes(fit: GrowthFit, now: datetime) -> str:
    over = fit.reached_at is not None and fit.reached_at < now
    return "Read it again: by its growth the limit came" if over else "By its growth the limit comes"
