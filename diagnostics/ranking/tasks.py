"""What the queue may ask: to rank one reading, those a finding bears on, or the rows of a survey visit."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from contractor.visits.models import Finding, Reading, Visit
from contractor.visits.services.rules import HEED, RANK, SURVEY
from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from diagnostics.ranking import services, surveys

GONE = "/api/v1/problems/gone/"


@handles(RANK)
def rank(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    try:
        made = services.rank_reading(UUID(item.subject), work_item=item, before_writing=progress.still_ours)
    except Reading.DoesNotExist:
        raise WorkRefused(
            GONE, "There is no such reading", f"Reading {item.subject} is not recorded."
        ) from None
    if made is None:
        return {"ranking": None, "because": services.NO_LONGER_COUNTS}
    return {
        "ranking": made.pk,
        "address": address_of(made.pk),
        "do_next": made.do_next,
        "why_not_chemical": made.why_not_chemical or None,
    }


@handles(HEED)
def heed(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    try:
        made = services.rank_after_finding(
            UUID(item.subject), work_item=item, before_writing=progress.still_ours
        )
    except Finding.DoesNotExist:
        raise WorkRefused(
            GONE, "There is no such finding", f"Finding {item.subject} is not recorded."
        ) from None
    return {"rankings": [address_of(one.pk) for one in made]}


@handles(SURVEY)
def survey(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    try:
        made = surveys.read_survey(UUID(item.subject), work_item=item, before_writing=progress.still_ours)
    except Visit.DoesNotExist:
        raise WorkRefused(GONE, "There is no such visit", f"Visit {item.subject} is not recorded.") from None
    return {"surveys": [{"loop": one.loop, "answer": one.answer, "words": one.words} for one in made]}


def address_of(ranking_id: int) -> str:
    return f"/api/v1/rankings/{ranking_id}/"
