"""The safety net under the broker.

Waiting rows it does not carry are handed over again, lost rows taken back.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from celery import current_app
from django.conf import settings
from django.db import connection, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from kombu.exceptions import OperationalError

from contractor.workqueue.handover import hand_over_all
from contractor.workqueue.models import Beat, WorkerProcess, WorkItem

AT_ONCE = 500
GIVE_BROKER = timedelta(seconds=15)
log = logging.getLogger(__name__)


def sweep(now: datetime) -> dict[str, int]:
    counts = {"failed": fail_poisoned(now), "reclaimed": reclaim_lost(now), "handed_over": hand_over_due(now)}
    Beat.objects.update_or_create(name="sweep", defaults={"at": now})
    return counts


def some_locked(rows: QuerySet[WorkItem], limit: int = AT_ONCE) -> list[WorkItem]:
    """Rows that no other sweeper holds. SQLite has one writer at a time and ignores row locks."""
    if connection.features.has_select_for_update_skip_locked:
        rows = rows.select_for_update(skip_locked=True, of=("self",))
    return list(rows[:limit])


def fail_poisoned(now: datetime) -> int:
    """Rows whose worker was lost at the last attempt.

    End them with words rather than kill one more worker.
    """
    problem = {
        "type": "/api/v1/problems/work-lost/",
        "title": "The worker was lost each time",
        "detail": f"The worker stopped without a word at each of {settings.WORK_MAX_ATTEMPTS} attempts.",
    }
    with transaction.atomic():
        rows = some_locked(WorkItem.objects.lost_at(now).filter(attempts__gte=settings.WORK_MAX_ATTEMPTS))
        return WorkItem.objects.lost_at(now).filter(pk__in=[row.pk for row in rows]).update(
            state=WorkItem.State.FAILED, claim=None, finished_at=now, problem=problem
        )  # fmt: skip


def reclaim_lost(now: datetime) -> int:
    """A first loss may be a restart: at once. Later ones wait, longer each time."""
    with transaction.atomic():
        rows = some_locked(WorkItem.objects.lost_at(now).filter(attempts__lt=settings.WORK_MAX_ATTEMPTS))
        taken_back = 0
        for row in rows:
            pause = timedelta(seconds=settings.WORK_BACK_OFF_S * (row.attempts - 1))
            taken_back += (
                WorkItem.objects.lost_at(now)
                .filter(pk=row.pk, claim=row.claim)
                .update(
                    state=WorkItem.State.WAITING,
                    claim=None,
                    heartbeat_at=None,
                    handed_over_at=None,
                    due_at=now + pause,
                )
            )
    return taken_back


def hand_over_due(now: datetime) -> int:
    handed = 0
    for lane in WorkItem.Lane.values:
        handed += hand_over_lane(lane, now)
    return handed


def hand_over_lane(lane: str, now: datetime) -> int:
    """Rows the broker never got, and as many others as the broker is short of: it may have lost them."""
    due = WorkItem.objects.due_at(now).filter(lane=lane)
    with transaction.atomic():
        rows = some_locked(due.filter(handed_over_at=None).order_by("due_at"))
        if (room := AT_ONCE - len(rows)) and (short := missing_in_broker(lane, due)):
            old = due.filter(handed_over_at__lt=now - GIVE_BROKER).order_by("handed_over_at")
            rows += some_locked(old, min(room, short))
        WorkItem.objects.filter(pk__in=[row.pk for row in rows]).update(handed_over_at=now)
    left = hand_over_all(rows)
    return len(rows) - len(left)


def missing_in_broker(lane: str, due: QuerySet[WorkItem]) -> int:
    waiting = due.exclude(handed_over_at=None).count()
    if not waiting:
        return 0
    carried = messages_in(lane)
    return 0 if carried is None else max(waiting - carried, 0)


def messages_in(lane: str) -> int | None:
    """Messages the broker holds for a lane; None when it is away."""
    try:
        with current_app.connection_for_read() as broker:
            broker.ensure_connection(max_retries=1, timeout=5)
            channel: Any = broker.default_channel
            return int(channel.queue_declare(queue=lane, durable=True).message_count)
    except (OperationalError, OSError) as exc:
        log.warning("the broker is away: %s", exc)
        return None


def counts_now() -> Mapping[str, Any]:
    """How the queue stands, for the owner and for the health page."""
    waiting, running, failed = Q(state="waiting"), Q(state="running"), Q(state="failed")
    oldest = (
        WorkItem.objects.due_at(timezone.now()).order_by("due_at").values_list("due_at", flat=True).first()
    )
    return {
        "waiting": WorkItem.objects.filter(waiting).count(),
        "running": WorkItem.objects.filter(running).count(),
        "failed": WorkItem.objects.filter(failed).count(),
        "oldest_waiting_since": oldest,
        **{
            f"processes_{lane}": WorkerProcess.objects.alive_at(timezone.now()).taking(lane).count()
            for lane in WorkItem.Lane.values
        },
        "swept_at": Beat.objects.filter(name="sweep").values_list("at", flat=True).first(),
    }
