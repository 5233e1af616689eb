"""From the row to the broker.

When the broker is away the row stays waiting, marked for the sweeper; nothing is lost.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable

from celery import current_app
from kombu.exceptions import OperationalError

from contractor.workqueue.models import WorkItem

TASK = "waterside.work"
log = logging.getLogger(__name__)


def hand_over(item: WorkItem) -> bool:
    return not hand_over_all([item])


def hand_over_all(items: Iterable[WorkItem]) -> list[WorkItem]:
    """The items that the broker did not take, marked so."""
    left: list[WorkItem] = []
    away = False
    for item in items:
        if away or not send(item):
            away = True
            left.append(item)
    if left:
        ids = [item.pk for item in left]
        WorkItem.objects.filter(pk__in=ids, state=WorkItem.State.WAITING).update(handed_over_at=None)
    return left


def send(item: WorkItem) -> bool:
    try:
        current_app.send_task(TASK, args=(str(item.pk),), queue=item.lane, ignore_result=True)
    except (OperationalError, OSError) as exc:
        log.warning("the broker is away; %s %s stays waiting: %s", item.kind, item.pk, exc)
        return False
    return True
