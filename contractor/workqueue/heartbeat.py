"""Tells the row every few seconds that its worker lives.

One thread a process, because the work itself may be one long call; it starts with the first item and then
sleeps through the short ones.
"""

from __future__ import annotations

import logging
import os
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from contractor.workqueue import claims

log = logging.getLogger(__name__)


class Heart:
    """Beats for the items being carried out in this process."""

    def __init__(self) -> None:
        self.process = os.getpid()
        self.held: dict[uuid.UUID, uuid.UUID] = {}
        threading.Thread(target=self.beat_for_ever, name="heartbeat", daemon=True).start()

    def beat_for_ever(self) -> None:
        pause = threading.Event()
        while True:
            pause.wait(settings.WORK_HEARTBEAT_S)
            held = list(self.held.items())
            for item_id, claim in held:
                self.beat_once(item_id, claim)
            if not held:
                connection.close()

    def beat_once(self, item_id: uuid.UUID, claim: uuid.UUID) -> None:
        try:
            claims.beat(item_id, claim, timezone.now())
        except DatabaseError as exc:
            log.warning("a heartbeat of %s could not be written: %s", item_id, exc)
            connection.close()


_heart: Heart | None = None


def heart() -> Heart:
    global _heart
    if _heart is None or _heart.process != os.getpid():  # a forked child has no threads of its parent
        _heart = Heart()
    return _heart


@contextmanager
def beating(item_id: uuid.UUID, claim: uuid.UUID) -> Iterator[None]:
    held = heart().held
    held[item_id] = claim
    try:
        yield
    finally:
        held.pop(item_id, None)
