"""Telling the office of an urgent visit. The worker sends it: no technician waits for a mail server."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.core.mail import EmailMessage

from contractor.accounts.models import Person, Role
from contractor.visits.hours import window_in_words
from contractor.visits.models import Visit
from contractor.workqueue.handlers import WorkRefused, handles

if TYPE_CHECKING:
    from contractor.workqueue.models import WorkItem
    from contractor.workqueue.progress import Progress


@handles("urgent_visit_notice")
def tell_office(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    visit = Visit.objects.select_related("site__customer").filter(pk=item.subject).first()
    if visit is None:
        raise WorkRefused("/problems/no-such-visit", "No such visit", f"There is no visit {item.subject}.")
    people = Person.objects.filter(role__in=[Role.OFFICE, Role.OWNER], is_active=True).order_by("email")
    addresses = list(people.values_list("email", flat=True))
    if addresses:
        EmailMessage(subject=subject_of(visit), body=words_of(visit), bcc=addresses).send()
    return {"told": len(addresses)}


def subject_of(visit: Visit) -> str:
    """On one line, whatever the site is called: a line break would start a header."""
    return f"Urgent visit opened at {' '.join(visit.site.name.split())}"


def words_of(visit: Visit) -> str:
    crew = ", ".join(place.person.name for place in visit.crew_places.select_related("person"))
    window = window_in_words(visit.site, visit.window_start, visit.window_end)
    return (
        f"{crew} opened an urgent visit by the tag {visit.opened_by_tag}.\n\n"
        f"Customer: {visit.site.customer}\nSite: {visit.site}\nWindow: {window} ({visit.site.time_zone})\n"
        f"Notes: {visit.notes or 'none'}\n\nVisit {visit.pk}\n"
    )
