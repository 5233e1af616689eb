"""Carrying out one item: claim it, keep its heart beating, do the work, close it.

Every step asks for the claim, so that a worker which was given up for lost cannot overrule its successor.
"""

from __future__ import annotations

import logging
import uuid
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.utils import timezone

from contractor.http.problem_types import type_address
from contractor.http.problems import no_room_left
from contractor.trail.actor import acting_as
from contractor.workqueue import claims
from contractor.workqueue.handlers import HANDLERS, WorkRefused
from contractor.workqueue.heartbeat import beating
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import ClaimLost, Progress

log = logging.getLogger(__name__)
LONGEST_PAUSE = timedelta(minutes=30)


def run(item_id: uuid.UUID) -> str:
    """What became of it: nothing, done, refused, failed, again or lost."""
    item = claims.take(item_id, timezone.now())
    if item is None or item.claim is None:
        return "nothing"
    try:
        with actor_of(item), beating(item.pk, item.claim):
            result = HANDLERS[item.kind](item, Progress(item.pk, item.claim))
        return closed(item, "done", state=WorkItem.State.DONE, result=result)
    except ClaimLost:
        log.warning("%s %s was taken over by another worker; this result is dropped", item.kind, item.pk)
        return "lost"
    except WorkRefused as refused:
        problem = {"type": refused.type, "title": refused.title, "detail": refused.detail, **refused.more}
        return closed(item, "refused", state=WorkItem.State.FAILED, problem=problem)
    except Exception as exc:
        return try_again_or_fail(item, exc)


def actor_of(item: WorkItem) -> AbstractContextManager[None]:
    """The trail names the person who asked, and the work that wrote."""
    who = item.asked_by if item.asked_by_id else None
    return acting_as(who.pk, f"{item.kind} for {who.email}"[:80]) if who else acting_as(None, item.kind)


def closed(item: WorkItem, word: str, **columns: Any) -> str:
    if claims.close(item, timezone.now(), **columns):
        return word
    log.warning("%s %s was taken over by another worker; its late end is refused", item.kind, item.pk)
    return "lost"


def try_again_or_fail(item: WorkItem, exc: Exception) -> str:
    log.exception("%s %s failed at attempt %s", item.kind, item.pk, item.attempts)
    problem = unexpected(item, exc)
    if item.attempts >= settings.WORK_MAX_ATTEMPTS:
        return closed(item, "failed", state=WorkItem.State.FAILED, problem=problem)
    put_back = claims.put_back(item, timezone.now() + pause_after(item.attempts), problem)
    return "again" if put_back else "lost"


def pause_after(attempts: int) -> timedelta:
    """Four times as long after each attempt: 10 s, 40 s, 160 s; never more than half an hour."""
    return min(timedelta(seconds=settings.WORK_BACK_OFF_S * 4 ** max(attempts - 1, 0)), LONGEST_PAUSE)


def unexpected(item: WorkItem, exc: BaseException) -> dict[str, Any]:
    """Words for people; the traceback is in the log, not here."""
    if isinstance(exc, SoftTimeLimitExceeded):
        return {
            "type": type_address("work-took-too-long"),
            "title": "The work took too long",
            "detail": f"Stopped after {settings.WORK_SOFT_TIME_LIMIT_S} s at attempt {item.attempts}.",
        }
    if no_room_left(exc):
        return {
            "type": type_address("work-failed"),
            "title": "There was no room for the result",
            "detail": f"The disk of the service was full at attempt {item.attempts} of "
            f"{settings.WORK_MAX_ATTEMPTS}. Nothing half-written is kept; make room and try again.",
        }
    return {
        "type": type_address("work-failed"),
        "title": "The work failed",
        "detail": f"{type(exc).__name__} at attempt {item.attempts} of {settings.WORK_MAX_ATTEMPTS}; "
        "the log of the worker has the details.",
    }
