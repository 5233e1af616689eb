"""What needs the office's attention, each kind asked for in one query and told in plain words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet
from django.urls import reverse
from django.utils.text import slugify

from contractor.accounts.models import Certificate
from contractor.descales.models import Descale, Discharge, HeldWaste
from contractor.http.models import RefusedPost
from contractor.register.models import Cleaner, CleanerLot, Instrument
from contractor.register.sheets import PAPER_GOOD_FOR
from contractor.visits.models import Finding, Reading, Visit
from contractor.web.templatetags.waterside import headed
from contractor.workqueue.models import WorkItem
from diagnostics.models import Assessment, GrowthFit
from reporting.models import Document

AT_MOST, MOST = 8, 1000
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
    by_engine: bool = False  # `more` is the engine's sentence: told in the reader's units


@dataclass(frozen=True, slots=True)
class Question:
    """One kind of thing to attend to, not asked for yet. `kind` is a state's sign: act, watch, unknown."""

    name: str
    what_to_do: str
    kind: str
    rows: QuerySet[Any]
    told: Callable[[Any], Line]

    @property
    def slug(self) -> str:
        return slugify(self.name)

    def look(self, most: int = AT_MOST) -> Matter:
        """At most so many lines; whether there are more is told."""
        found = list(self.rows[: most + 1])
        lines = [self.told(row) for row in found[:most]]
        return Matter(self.name, self.what_to_do, self.kind, self.slug, lines, len(found) > most)


@dataclass(frozen=True, slots=True)
class Matter:
    name: str
    what_to_do: str
    kind: str
    slug: str
    lines: list[Line]
    more: bool


def questions(now: datetime) -> list[Question]:
    """Most pressing first."""
    latest = latest_results()
    return [
        exceeded(now), failed_work(), overdue(now), urgent(now), rejected(now), fouled(latest),
        *map(descales, DESCALES), held_waste(), undecided(latest, now), not_reached(now),
        due_soon(latest, now), waiting_documents(), lapsing_certificates(now), lapsing_instruments(now),
        lapsing_lots(now), old_sheets(now),
    ]  # fmt: skip


def matters(now: datetime, only: str = "") -> list[Matter]:
    """What is empty is left out; one alone is shown whole, or to where nobody reads on."""
    asked = [each for each in questions(now) if only in ("", each.slug)]
    return [found for each in asked if (found := each.look(MOST if only else AT_MOST)).lines]


def visit_line(visit: Visit) -> Line:
    return Line(
        str(visit.site), reverse("web:visit", args=[visit.pk]), visit.reason, visit.site, visit.window_end
    )


def overdue(now: datetime) -> Question:
    rows = Visit.objects.overdue(now).select_related("site").order_by("window_end")
    words = "Ask the crew, then finish, move or call it off."
    return Question("Visits whose window has passed", words, "act", rows, visit_line)


def urgent(now: datetime) -> Question:
    rows = Visit.objects.urgent_since(now - RECENT).exclude(opened_by_tag="").select_related("site")
    words = "A technician opened these on the spot. See that the customer knows."
    return Question(
        "Urgent visits opened in the last two weeks", words, "watch", rows.order_by("-created_at"), visit_line
    )


def what_went_wrong(item: WorkItem) -> str:
    problem = item.problem or {}
    return str(problem.get("detail") or problem.get("title", ""))[:160]


def failed_work() -> Question:
    rows = WorkItem.objects.filter(state=WorkItem.State.FAILED).order_by("-finished_at")
    return Question(
        "Background work that failed", "Read why, mend it, try again.", "act", rows,
        lambda item: Line(item.kind.replace("_", " ").capitalize(), reverse("web:work"),
                          what_went_wrong(item),
                          at=item.finished_at),
    )  # fmt: skip


def rejected(now: datetime) -> Question:
    """What phones sent and the service refused: it stays on the phone until it is mended."""
    rows = RefusedPost.objects.filter(refused_at__gte=now - RECENT)
    rows = rows.select_related("person").order_by("-refused_at")
    return Question(
        "Posts from phones that were refused",
        "Ring the technician: each stays on the phone until it is mended, and here until it arrives.",
        "act", rows,
        lambda row: Line(str(row.person), reverse("web:people-show", args=[row.person_id]), row.reason,
                         at=row.refused_at),
    )  # fmt: skip


# what a line shows is a few columns: answers and readings are wide rows
LIGHT = ("pk", "do_next", "verdict", "reading__taken_at", "reading__exchanger__name",
         "reading__exchanger__unit__tag", "reading__exchanger__unit__site__name",
         "reading__exchanger__unit__site__time_zone")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Latest:
    """The assessment that stands of the last reading of each exchanger, by verdict."""

    ids: dict[str, list[int]]

    def said(self, verdict: str) -> QuerySet[Assessment]:
        rows = Assessment.objects.filter(pk__in=self.ids.get(verdict, [])).only(*LIGHT)
        return rows.select_related("reading__exchanger__unit__site").order_by("-reading__taken_at")


def latest_results() -> Latest:
    rows = Assessment.objects.current().filter(reading__exchanger__retired_at=None)
    ids: dict[str, list[int]] = {}
    seen: set[Any] = set()
    for exchanger, pk, verdict in rows.latest_taken_first().values_list(
        "reading__exchanger", "pk", "verdict"
    ):
        if exchanger not in seen:
            seen.add(exchanger)
            ids.setdefault(verdict, []).append(pk)
    return Latest(ids)


def result_line(row: Assessment) -> Line:
    exchanger = row.reading.exchanger
    link = reverse("web:exchangers-show", args=[exchanger.pk])
    site = exchanger.unit.site
    return Line(str(exchanger), link, headed(row.do_next), site, row.reading.taken_at, by_engine=True)


def fouled(latest: Latest) -> Question:
    """Fouled, and no descale booked at the site since."""
    booked = Visit.objects.filter(
        site=OuterRef("reading__exchanger__unit__site"),
        reason="descale",
        window_end__gt=OuterRef("reading__taken_at"),
    ).exclude(state="called_off")
    rows = (
        latest.said("fouled")
        .exclude(reading__exchanger__in=Descale.objects.open().values("exchanger"))
        .exclude(reading__exchanger__unit__site__in=booked.values("site"))
    )
    return Question(
        "Fouled, and no descale booked",
        "These wait for a price, a yes from the customer, or a visit.", "act",
        rows, result_line,
    )  # fmt: skip


DESCALES = {
    "recommended": ("Descales waiting for a price", "Name a price, so that the customer can say yes."),
    "priced": ("Descales waiting for a yes", "Ask the customer, and record who said yes."),
    "in_service": ("Descales not judged yet", "Have the readings after judged with those before."),
    "proved": ("Descales waiting for their certificate", "Certify them, and release what the client reads."),
}


def descales(state: str) -> Question:
    name, words = DESCALES[state]
    rows = Descale.objects.filter(state=state).select_related("exchanger__unit__site").order_by("created_at")
    return Question(
        name, words, "watch", rows,
        lambda row: Line(str(row.exchanger), reverse("web:descale", args=[row.pk]), row.because,
                         row.exchanger.unit.site, row.created_at),
    )  # fmt: skip


def held_waste() -> Question:
    rows = HeldWaste.objects.still_there().select_related("descale__exchanger__unit__site").order_by("at")
    return Question(
        "Held waste", "Have it fetched by somebody licensed, and record who did.", "watch", rows,
        lambda row: Line(row.where, reverse("web:descale", args=[row.descale_id]), row.whose,
                         row.descale.exchanger.unit.site, row.at),
    )  # fmt: skip


def exceeded(now: datetime) -> Question:
    rows = Discharge.objects.exceeding().filter(at__gte=now - SOON)
    return Question(
        "Discharges outside the limits", "Tell the authority as the permit says, and write down whom.", "act",
        rows.select_related("descale__exchanger__unit__site").order_by("-at"),
        lambda row: Line(str(row.descale.exchanger), reverse("web:descale", args=[row.descale_id]),
                         "; ".join(map(str, row.exceedances)), row.descale.exchanger.unit.site, row.at,
                         by_engine=True),
    )  # fmt: skip


def undecided(latest: Latest, now: datetime) -> Question:
    rows = latest.said("undecided").filter(reading__taken_at__gte=now - A_YEAR)
    words = "The last reading leaves it open. What to read next stands beside it."
    return Question("Results that cannot tell yet", words, "unknown", rows, result_line)


def not_reached(now: datetime) -> Question:
    """Could not be done, and nothing was read of the unit since."""
    since = Reading.objects.standing().filter(
        exchanger__unit=OuterRef("unit"), taken_at__gt=OuterRef("found_at")
    )
    rows = Finding.objects.in_use().filter(kind="could_not_do", found_at__gte=now - A_YEAR)
    rows = rows.exclude(unit__isnull=True).exclude(unit__in=since.values("exchanger__unit"))
    return Question(
        "Units not reached", "Arrange what was missing, then book again.", "watch",
        rows.select_related("unit__site").order_by("-found_at"),
        lambda row: Line(str(row.unit), reverse("web:units-show", args=[row.unit_id]), row.note,
                         row.unit.site,
                         row.found_at),
    )  # fmt: skip


def waiting_documents() -> Question:
    rows = Document.objects.filter(state="prepared").filter(
        Q(assessment=None) | Q(assessment__superseded_at=None, assessment__reading__superseded_at=None)
    )
    return Question(
        "Documents waiting to be released", "Read each once, then release it to the client.", "watch",
        rows.select_related("site").order_by("-prepared_at"),
        lambda row: Line(row.title, reverse("web:document", args=[row.pk]), "", row.site, row.prepared_at),
    )  # fmt: skip


def lapsing_instruments(now: datetime) -> Question:
    rows = Instrument.objects.in_use().filter(calibration_due_on__lte=(now + SOON).date())
    return Question(
        "Calibrations about to lapse", "Send the instrument in, or its readings count for less.", "watch",
        rows.select_related("gauge_set").order_by("calibration_due_on"),
        lambda row: Line(f"{row.gauge_set}, {row.get_reading_display()}",
                         reverse("web:instruments-show", args=[row.pk]),
                         f"due {row.calibration_due_on:%-d %b %Y}"),
    )  # fmt: skip


def lapsing_lots(now: datetime) -> Question:
    rows = CleanerLot.objects.in_use().filter(expires_on__lte=(now + SOON).date())
    rows = rows.exclude(quantity_kg=0).select_related("cleaner").order_by(F("expires_on"))
    return Question(
        "Cleaner lots about to expire", "Use them first, or dispose of them as the sheet says.",
        "watch", rows,
        lambda row: Line(str(row), reverse("web:lots-show", args=[row.pk]),
                         f"expires {row.expires_on:%-d %b %Y}"),
    )  # fmt: skip


def lapsing_certificates(now: datetime) -> Question:
    rows = Certificate.objects.last_of_each_kind().filter(
        person__is_active=True, expires_on__lte=(now + SOON).date()
    )
    return Question(
        "Certificates of people about to lapse", "Book the course; without it some work cannot be booked.",
        "watch", rows.select_related("person").order_by("expires_on"),
        lambda row: Line(str(row), reverse("web:certificates-show", args=[row.pk]),
                         f"holds until {row.expires_on:%-d %b %Y}"),
    )  # fmt: skip


def old_sheets(now: datetime) -> Question:
    """Label or safety sheet of a cleaner in use that no plan may rest on any more, or soon not."""
    oldest = (now + SOON - PAPER_GOOD_FOR).date()
    rows = Cleaner.objects.in_use().filter(Q(safety_sheet_on__lte=oldest) | Q(label_on__lte=oldest))
    return Question(
        "Cleaners' sheets about to lapse", "Ask the supplier for the one in force, and file it.",
        "watch", rows.order_by("safety_sheet_on", "name"),
        lambda row: Line(str(row), reverse("web:cleaners-show", args=[row.pk]), sheet_dates(row)),
    )  # fmt: skip


def sheet_dates(cleaner: Cleaner) -> str:
    dates = (("label", cleaner.label_on), ("safety sheet", cleaner.safety_sheet_on))
    return ", ".join(f"{name} of {on:%-d %b %Y}" for name, on in dates if on)


def due_soon(latest: Latest, now: datetime) -> Question:
    """Not fouled yet, but on the way by how the deposit grew: it says when to look, never more."""
    told = latest.said("fouled").order_by().values("reading__exchanger")
    rows = GrowthFit.objects.current().filter(reached_at__lte=now + AHEAD, exchanger__retired_at=None)
    rows = rows.exclude(exchanger__in=told).select_related("exchanger__unit__site").order_by("reached_at")
    return Question(
        "Units due by their growth and limit", "Offer a date before the limit is reached.", "watch", rows,
        lambda fit: Line(str(fit.exchanger), reverse("web:exchangers-show", args=[fit.exchanger_id]),
                         f"{limit_comes(fit, now)} {fit.said}. {fit.rests_on}.", fit.exchanger.unit.site,
                         by_engine=True),
    )  # fmt: skip


def limit_comes(fit: GrowthFit, now: datetime) -> str:
    over = fit.reached_at is not None and fit.reached_at < now
    return "Read it again: by its growth the limit came" if over else "By its growth the limit comes"
