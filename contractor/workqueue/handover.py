"""From the row to the broker.

When the broker is away the row stays waiting, marked for the sweeper; nothing is lost. No request waits long:
after a failure this process leaves handing over to the sweeper for a few seconds.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Iterable

from celery import current_app
from kombu.exceptions import OperationalError

from contractor.workqueue.models import WorkItem

TASK = "waterside.work"
REST_S = 5.0
log = logging.getLogger(__name__)
_rest_until = 0.0


def hand_over(item: WorkItem) -> bool:
    """For whoever asked: at most one slow failure, then none for a while."""
    if time.monotonic() >= _rest_until and send(item):
        return True
    mark_left([item])
    return False


def hand_over_all(items: Iterable[WorkItem]) -> list[WorkItem]:
    """For the sweeper. The items that the broker did not take, marked so."""
    left: list[WorkItem] = []
    for item in items:
        if left or not send(item):
            left.append(item)
    mark_left(left)
    return left


def mark_left(items: list[WorkItem]) -> None:
    ids = [item.pk for item in items]
    if ids:
        WorkItem.objects.filter(pk__in=ids, state=WorkItem.State.WAITING).update(handed_over_at=None)


def send(item: WorkItem) -> bool:
    global _rest_until
    try:
        current_app.send_task(TASK, args=(str(item.pk),), queue=item.lane, ignore_result=True)
    except (OperationalError, OSError) as exc:
        _rest_until = time.monotonic() + REST_S
        log.warning("the broker is away; %s %s stays waiting: %s", item.kind, item.pk, exc)
        return False
    return True
