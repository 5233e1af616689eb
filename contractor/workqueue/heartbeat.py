"""Tells every few seconds that a process lives: the rows of the items it carries out, and its own row.

One thread a process, because the work itself may be one long call. In a worker it starts with the process.
"""

from __future__ import annotations

import logging
import os
import platform
import threading
import uuid
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from contractor.workqueue import claims
from contractor.workqueue.models import WorkerProcess

log = logging.getLogger(__name__)


class Heart:
    """Beats for the items being carried out in this process, and for the process where it is a worker's."""

    def __init__(self, lanes: str = "") -> None:
        self.process, self.lanes = os.getpid(), lanes
        self.name = f"{platform.node()} {self.process}"[-160:]
        self.held: dict[uuid.UUID, uuid.UUID] = {}
        threading.Thread(target=self.beat_for_ever, name="heartbeat", daemon=True).start()

    def beat_for_ever(self) -> None:
        pause = threading.Event()
        while True:
            if self.lanes:
                self.tell_alive()
            if not self.held:
                connection.close()
            pause.wait(settings.WORK_HEARTBEAT_S)
            for item_id, claim in list(self.held.items()):
                self.beat_once(item_id, claim)

    def beat_once(self, item_id: uuid.UUID, claim: uuid.UUID) -> None:
        try:
            claims.beat(item_id, claim, timezone.now())
        except DatabaseError as exc:
            log.warning("a heartbeat of %s could not be written: %s", item_id, exc)
            connection.close()

    def tell_alive(self) -> None:
        told = {"lanes": self.lanes, "heard_at": timezone.now()}
        try:
            if not WorkerProcess.objects.filter(name=self.name).update(**told):
                WorkerProcess.objects.create(name=self.name, **told)
        except DatabaseError as exc:
            log.warning("that this process lives could not be written: %s", exc)
            connection.close()


_heart: Heart | None = None


def heart() -> Heart:
    global _heart
    if _heart is None or _heart.process != os.getpid():  # a forked child has no threads of its parent
        _heart = Heart()
    return _heart


def live_as_worker(lanes: Iterable[str]) -> None:
    """This process is a worker's, from now until its end."""
    global _heart
    _heart = Heart(",".join(sorted(lanes)))


def end_as_worker() -> None:
    """An orderly end is known at once; any other by the silence."""
    if _heart is not None and _heart.lanes:
        try:
            WorkerProcess.objects.filter(name=_heart.name).delete()
        except DatabaseError as exc:
            log.warning("that this process ends could not be written: %s", exc)


@contextmanager
def beating(item_id: uuid.UUID, claim: uuid.UUID) -> Iterator[None]:
    held = heart().held
    held[item_id] = claim
    try:
        yield
    finally:
        held.pop(item_id, None)
