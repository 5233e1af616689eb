"""Visits for today and the days after, so that technicians find something to do when they sign in."""

from __future__ import annotations

import datetime as dt
from itertools import cycle

from contractor.accounts.models import Person, Role
from contractor.register.models import Site
from contractor.visits.hours import within_access_hours
from contractor.visits.models import Visit
from contractor.visits.services.booking import book_visit

BEGIN, LASTS, SHORTEST = dt.time(9), dt.timedelta(hours=8), dt.timedelta(hours=1)
AFTER_DAYS = 2


def book_coming(now: dt.datetime) -> int:
    """One visit today and one later for whoever of the crew has none to come; says how many were made."""
    crew = Person.objects.filter(role=Role.TECHNICIAN, is_active=True).order_by("email")
    sites = cycle(Site.objects.in_use().order_by("name"))
    made = 0
    for person in crew:
        of_today, of_later = next(sites), next(sites)
        if Visit.objects.open().of_crew(person).filter(window_end__gte=start_of(of_today, now)).exists():
            continue
        book(person, of_today, now, "routine")
        book(person, of_later, now + dt.timedelta(days=AFTER_DAYS), "survey")
        made += 2
    return made


def start_of(site: Site, moment: dt.datetime) -> dt.datetime:
    return dt.datetime.combine(moment.astimezone(site.zone).date(), dt.time(0), site.zone)


def book(person: Person, site: Site, moment: dt.datetime, reason: str) -> None:
    """At nine, or when one is let in."""
    day = moment.astimezone(site.zone).date()
    start = dt.datetime.combine(day, BEGIN, site.zone)
    if not within_access_hours(site, start, start + SHORTEST):
        start = dt.datetime.combine(day, site.access_from or BEGIN, site.zone)
    end = start + LASTS
    if site.access_until and start.time() < site.access_until:
        end = min(end, dt.datetime.combine(start.date(), site.access_until, site.zone))
    fields = {"site": site, "window_start": start, "window_end": end, "reason": reason}
    book_visit(fields, [person])
