"""Carrying out one item.

Claim it, keep its heart beating, do the work, close it. Every step asks for the claim.
"""

from __future__ import annotations

import logging
import uuid
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from typing import Any

from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from contractor.trail.actor import acting_as
from contractor.workqueue.handlers import HANDLERS, WorkRefused
from contractor.workqueue.heartbeat import beating
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import ClaimLost, Progress

log = logging.getLogger(__name__)


def claim(item_id: uuid.UUID, now: datetime) -> WorkItem | None:
    """The item, now ours; None when there is nothing to claim: done, not yet due, or held by another."""
    mine = uuid.uuid4()
    claimable = Q(state=WorkItem.State.WAITING, due_at__lte=now) | Q(
        state=WorkItem.State.RUNNING, heartbeat_at__lt=now - settings.WORK_LOST_AFTER,
        attempts__lt=settings.WORK_MAX_ATTEMPTS,
    )  # fmt: skip
    taken = WorkItem.objects.filter(claimable, pk=item_id).update(
        state=WorkItem.State.RUNNING, claim=mine, attempts=F("attempts") + 1,
        started_at=now, heartbeat_at=now, progress_done=0, progress_of=0, progress_words="",
    )  # fmt: skip
    if not taken:
        return None
    return WorkItem.objects.held_by(item_id, mine).select_related("asked_by").first()


def actor_of(item: WorkItem) -> AbstractContextManager[None]:
    """The trail names the person who asked, and the work that wrote."""
    who = item.asked_by
    return acting_as(who.pk, f"{item.kind} for {who.email}"[:80]) if who else acting_as(None, item.kind)


def run(item_id: uuid.UUID) -> str:
    """What became of it: nothing, done, refused, failed, again or lost."""
    item = claim(item_id, timezone.now())
    if item is None or item.claim is None:
        return "nothing"
    progress = Progress(item.pk, item.claim)
    try:
        with actor_of(item), beating(item.pk, item.claim):
            result = HANDLERS[item.kind](item, progress)
        return close_done(item, result)
    except ClaimLost:
        log.warning("%s %s was taken over by another worker; this result is dropped", item.kind, item.pk)
        return "lost"
    except WorkRefused as refused:
        problem = {"type": refused.type, "title": refused.title, "detail": refused.detail, **refused.more}
        return close_failed(item, problem, "refused")
    except Exception as exc:
        return try_again_or_fail(item, exc)


def close_done(item: WorkItem, result: dict[str, Any] | None) -> str:
    return close(item, "done", state=WorkItem.State.DONE, result=result, problem=None)


def close_failed(item: WorkItem, problem: dict[str, Any], word: str) -> str:
    return close(item, word, state=WorkItem.State.FAILED, problem=problem)


def close(item: WorkItem, word: str, **columns: Any) -> str:
    if item.claim is None:
        raise ClaimLost(str(item.pk))
    closed = WorkItem.objects.held_by(item.pk, item.claim).update(
        finished_at=timezone.now(), claim=None, **columns
    )
    if not closed:
        log.warning("%s %s was taken over by another worker; its late end is refused", item.kind, item.pk)
    return word if closed else "lost"


def back_off(attempts: int) -> timedelta:
    """10 s, 40 s, 160 s, ...; never more than half an hour."""
    return min(timedelta(seconds=settings.WORK_BACK_OFF_S * 4 ** max(attempts - 1, 0)), timedelta(minutes=30))


def try_again_or_fail(item: WorkItem, exc: Exception) -> str:
    log.exception("%s %s failed at attempt %s", item.kind, item.pk, item.attempts)
    problem = unexpected(item, exc)
    if item.attempts >= settings.WORK_MAX_ATTEMPTS:
        return close_failed(item, problem, "failed")
    now = timezone.now()
    with transaction.atomic():
        assert item.claim is not None
        released = WorkItem.objects.held_by(item.pk, item.claim).update(
            state=WorkItem.State.WAITING, claim=None, heartbeat_at=None, handed_over_at=None,
            due_at=now + back_off(item.attempts), problem=problem,
        )  # fmt: skip
    return "again" if released else "lost"


def unexpected(item: WorkItem, exc: BaseException) -> dict[str, Any]:
    """Words for people; the traceback is in the log, not here."""
    if isinstance(exc, SoftTimeLimitExceeded):
        return {
            "type": "/api/v1/problems/work-took-too-long/",
            "title": "The work took too long",
            "detail": f"Stopped after {settings.WORK_SOFT_TIME_LIMIT_S} s at attempt {item.attempts}.",
        }
    return {
        "type": "/api/v1/problems/work-failed/",
        "title": "The work failed",
        "detail": f"{type(exc).__name__} at attempt {item.attempts} of {settings.WORK_MAX_ATTEMPTS}; "
        "the log of the worker has the details.",
    }
