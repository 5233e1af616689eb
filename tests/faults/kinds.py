"""Work that fails in every way a worker can."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from celery import shared_task
from django.conf import settings
from django.utils import timezone

from contractor.workqueue.handlers import Result, WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress


def note(item: WorkItem, word: str) -> None:
    """Append a line that outlives the worker: who did what when."""
    with (Path(settings.VAR_DIR) / f"notes-{item.pk}").open("a") as file:
        file.write(f"{word} {os.getpid()} {timezone.now():%H:%M:%S.%f}\n")


def notes_of(item: WorkItem) -> list[str]:
    file = Path(settings.VAR_DIR) / f"notes-{item.pk}"
    return [line.split()[0] for line in file.read_text().splitlines()] if file.exists() else []


def pids_of(item: WorkItem) -> list[int]:
    file = Path(settings.VAR_DIR) / f"notes-{item.pk}"
    return [int(line.split()[1]) for line in file.read_text().splitlines()] if file.exists() else []


@shared_task(name="tests.nothing", ignore_result=True)
def nothing(number: str) -> None:
    """Bare Celery, to measure against."""


@handles("sleeps")
def sleeps(item: WorkItem, progress: Progress, /) -> Result:
    note(item, "start")
    time.sleep(float(item.payload.get("s", 1)))
    note(item, "end")
    return {"slept": True}


@handles("dies_once")
def dies_once(item: WorkItem, progress: Progress, /) -> Result:
    note(item, "start")
    if item.attempts == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return {"attempt": item.attempts}


@handles("dies_always")
def dies_always(item: WorkItem, progress: Progress, /) -> Result:
    note(item, "start")
    os.kill(os.getpid(), signal.SIGKILL)
    return None


@handles("raises")
def raises(item: WorkItem, progress: Progress, /) -> Result:
    note(item, "start")
    raise RuntimeError("not for everybody's eyes")


@handles("refuses")
def refuses(item: WorkItem, progress: Progress, /) -> Result:
    raise WorkRefused("about:blank", "Not possible", "There is no reading of that id.", subject=item.subject)


@handles("tells")
def tells(item: WorkItem, progress: Progress, /) -> Result:
    for step in range(3):
        progress.tell(step + 1, 3, f"step {step + 1}")
    return {"steps": 3}
