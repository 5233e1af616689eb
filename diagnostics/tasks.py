"""What the queue may ask of this room: to assess one reading, or all of an exchanger again."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from contractor.register.models import Exchanger
from contractor.register.services import REASSESS
from contractor.visits.models import Reading
from contractor.visits.services.rules import ASSESS
from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from diagnostics import services
from diagnostics.ranking.services import follow_assessment, follow_reassessment

GONE = "/api/v1/problems/gone/"


@handles(ASSESS)
def assess(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    try:
        made = services.assess_reading(UUID(item.subject), work_item=item, before_writing=progress.still_ours)
    except Reading.DoesNotExist:
        raise WorkRefused(
            GONE, "There is no such reading", f"Reading {item.subject} is not recorded."
        ) from None
    if made is None:
        return {"assessment": None, "because": services.NO_LONGER_COUNTS}
    follow_assessment(made.reading)
    if made.reading.purpose == "after_descale":
        services.tell_after_assessed(made.reading, item.asked_by)
    return {
        "assessment": made.pk,
        "address": address_of(made.pk),
        "verdict": made.verdict,
        "do_next": made.do_next,
    }


@handles(REASSESS)
def reassess(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    because = str(item.payload.get("because", ""))
    try:
        made = services.reassess_exchanger(UUID(item.subject), progress, work_item=item, because=because)
    except Exchanger.DoesNotExist:
        raise WorkRefused(
            GONE, "There is no such exchanger", f"Exchanger {item.subject} is not recorded."
        ) from None
    follow_reassessment(UUID(item.subject))
    return {"readings": len(made), "changed": sum(one.work_item_id == item.pk for one in made)}


def address_of(assessment_id: int) -> str:
    return f"/api/v1/assessments/{assessment_id}/"
