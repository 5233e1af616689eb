"""Asking for work.

The row is written with the facts it rests on; the broker hears of it only after the commit.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Literal

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.trail.tracked import leave_change
from contractor.workqueue.handover import hand_over
from contractor.workqueue.models import WorkItem

TABLE = "workqueue.workitem"
Lane = Literal["soon", "bulk"]


def same_work(kind: str, subject: str, payload: Mapping[str, Any]) -> str:
    text = json.dumps([kind, subject, payload], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def queue(
    kind: str,
    subject: str,
    *,
    payload: Mapping[str, Any] | None = None,
    lane: Lane = "soon",
    asked_by: Person | None = None,
) -> WorkItem:
    """A new waiting item, or the identical one that waits already.

    The one that waits is held until this transaction commits, so that its worker sees what was written here.
    """
    payload = dict(payload or {})
    same_as = same_work(kind, subject, payload)
    with transaction.atomic():
        while True:
            if item := waiting_already(same_as, asked_by):
                return sooner(item) if lane == "soon" else item
            now = timezone.now()
            item = WorkItem(
                kind=kind, subject=subject, payload=payload, lane=lane, same_as=same_as, asked_by=asked_by,
                due_at=now, created_at=now, handed_over_at=now,
            )  # fmt: skip
            try:
                with transaction.atomic():
                    item.save(force_insert=True)
            except IntegrityError:
                if not WorkItem.objects.identical_waiting(same_as).exists():
                    raise
                continue
            told = {
                "kind": kind,
                "subject": subject,
                "lane": lane,
                "asked_by_id": asked_by and str(asked_by.pk),
            }
            leave_change(TABLE, item.pk, "created", {name: [None, value] for name, value in told.items()})
            hand_over_on_commit(item)
            return item


def hand_over_on_commit(item: WorkItem) -> None:
    """Robust: nothing that happens to the broker may fail the write, which is committed already."""
    transaction.on_commit(lambda: hand_over(item), robust=True)


def waiting_already(same_as: str, asked_by: Person | None) -> WorkItem | None:
    item = WorkItem.objects.identical_waiting(same_as).select_for_update().first()
    if item is not None and asked_by is not None and not asked_already(item, asked_by):
        item.also_asked_by.add(asked_by)
        leave_change(TABLE, item.pk, "changed", {"also_asked_by": [None, str(asked_by.pk)]})
    return item


def asked_already(item: WorkItem, person: Person) -> bool:
    return item.asked_by_id == person.pk or item.also_asked_by.filter(pk=person.pk).exists()


def sooner(item: WorkItem) -> WorkItem:
    """Somebody waits now for what was queued in bulk: it changes lane. Its old message finds nothing."""
    if item.lane != WorkItem.Lane.SOON:
        item.lane = WorkItem.Lane.SOON
        item.handed_over_at = timezone.now()
        item.save(update_fields=["lane", "handed_over_at"])
        hand_over_on_commit(item)
    return item


def retry(item: WorkItem) -> WorkItem:
    """The office tries a failed item again, with a fresh count of attempts."""
    with transaction.atomic():
        if twin := waiting_already(item.same_as, None):
            return twin
        now = timezone.now()
        changed = WorkItem.objects.filter(pk=item.pk, state=WorkItem.State.FAILED).update(
            state=WorkItem.State.WAITING, attempts=0, due_at=now, handed_over_at=now, finished_at=None,
            progress_done=0, progress_of=0, progress_words="",
        )  # fmt: skip
        item.refresh_from_db()
        if changed:
            leave_change(TABLE, item.pk, "changed", {"state": ["failed", "waiting"]})
            hand_over_on_commit(item)
        return item


def retry_after_s(item: WorkItem) -> int:
    """When it is worth asking again [s]."""
    if item.attempts and item.state == WorkItem.State.WAITING:
        wait = (item.due_at - timezone.now()).total_seconds()
        return max(2, min(int(wait) + 1, 60))
    return settings.WORK_ASK_AGAIN_S
