"""Tells the row every few seconds that its worker lives.

A thread, because the work itself may be one long call.
"""

from __future__ import annotations

import logging
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from contractor.workqueue.models import WorkItem

log = logging.getLogger(__name__)


@contextmanager
def beating(item_id: uuid.UUID, claim: uuid.UUID) -> Iterator[None]:
    stop = threading.Event()
    thread = threading.Thread(target=beat_until, args=(stop, item_id, claim), name="heartbeat", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join()


def beat_until(stop: threading.Event, item_id: uuid.UUID, claim: uuid.UUID) -> None:
    try:
        while not stop.wait(settings.WORK_HEARTBEAT_S):
            try:
                if not WorkItem.objects.held_by(item_id, claim).update(heartbeat_at=timezone.now()):
                    return
            except DatabaseError as exc:
                log.warning("a heartbeat of %s could not be written: %s", item_id, exc)
                connection.close()
    finally:
        connection.close()
