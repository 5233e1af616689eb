"""An urgent call-out that the office has not booked: the exact tag opens it, the office is told."""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.register.models import Unit
from contractor.register.services import rows
from contractor.visits.models import CrewPlace, Visit
from contractor.visits.services.rules import NOTICE, invalid
from contractor.workqueue.services import queue

URGENT_WINDOW = timedelta(hours=4)


def unit_with_tag(code: str) -> Unit | None:
    """The one unit with exactly this code on its tag (capitals do not matter)."""
    return Unit.objects.with_tag(code).select_related("site").first() if code.strip() else None


@transaction.atomic
def open_urgent_visit(
    by: Person, tag: str, at: datetime, *, visit_id: UUID | None = None, notes: str = ""
) -> Visit:
    """From here on the technician sees the site. A retired unit still runs somewhere: it is not refused."""
    if by.is_client:
        raise PermissionDenied("Urgent visits are opened by the crew.")
    unit = unit_with_tag(tag)
    if unit is None:
        raise invalid(
            "/tag", f"No unit carries the tag {tag.strip()!r}; expected the code exactly as on the unit."
        )
    identity = {"id": visit_id} if visit_id else {}
    visit = rows.put_in(
        Visit(
            site=unit.site,
            reason="fault",
            urgent=True,
            opened_by_tag=unit.tag,
            state="under_way",
            notes=notes,
            started_at=at,
            window_start=at,
            window_end=at + URGENT_WINDOW,
            **identity,
        )
    )
    rows.put_in(CrewPlace(visit=visit, person=by))
    queue(NOTICE, str(visit.pk), asked_by=by)
    return visit
