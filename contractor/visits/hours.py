"""A site's access hours, as the clock on its wall tells them. Hours may run over midnight."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from contractor.register.models import Site

# what a crew does in one go; longer windows are work of several days, with nights at home between
LONGEST_SHIFT = timedelta(hours=16)


def within_access_hours(site: Site, start: datetime, end: datetime) -> bool:
    """Whether the crew is let in when the window starts and until it ends.

    Of work of several days the nights between do not count; one shift must not run through them.
    """
    opens, closes = site.access_from, site.access_until
    if opens is None or closes is None or opens == closes:
        return True
    arrives, leaves = (moment.astimezone(site.zone).time() for moment in (start, end))
    if not _let_in(arrives, opens, closes):
        return False
    if end - start <= LONGEST_SHIFT:
        return end <= _next_closing(site, start, closes)
    return leaves == closes or (leaves != opens and _let_in(leaves, opens, closes))


def _next_closing(site: Site, start: datetime, closes: time) -> datetime:
    day = start.astimezone(site.zone).date()
    today = datetime.combine(day, closes, tzinfo=site.zone)
    return today if today > start else datetime.combine(day + timedelta(days=1), closes, tzinfo=site.zone)


def _let_in(moment: time, opens: time, closes: time) -> bool:
    if opens < closes:
        return opens <= moment < closes
    return moment >= opens or moment < closes


def touches_quiet_hours(site: Site, start: datetime, end: datetime) -> bool:
    """Whether any part of the window lies in the site's quiet hours, on whichever of its days."""
    begins, ends = site.quiet_from, site.quiet_until
    if begins is None or ends is None or begins == ends:
        return False
    day, last = start.astimezone(site.zone).date() - timedelta(days=1), end.astimezone(site.zone).date()
    while day <= last:
        quiet = datetime.combine(day, begins, tzinfo=site.zone)
        over = datetime.combine(day + timedelta(days=begins > ends), ends, tzinfo=site.zone)
        if quiet < end and over > start:
            return True
        day += timedelta(days=1)
    return False


def quiet_hours_in_words(site: Site) -> str:
    return f"{site.quiet_from:%H:%M} to {site.quiet_until:%H:%M} ({site.time_zone})"


def hours_in_words(site: Site) -> str:
    return f"{site.access_from:%H:%M} to {site.access_until:%H:%M} ({site.time_zone})"


def window_in_words(site: Site, start: datetime, end: datetime) -> str:
    first, last = start.astimezone(site.zone), end.astimezone(site.zone)
    until = f"{last:%H:%M}" if last.date() == first.date() else f"{last:%a %d %b %Y %H:%M}"
    return f"{first:%a %d %b %Y %H:%M} to {until}"
