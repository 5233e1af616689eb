"""The embedded worker ends with the program that started it, whatever way that program ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.test import Client

from contractor.workqueue.embedded import same_places
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from tests.faults.conftest import SHORT, StartWorker, wait_for, wait_until
from tests.faults.kinds import notes_of


def members(group: int) -> list[int]:
    """Living processes of a process group (zombies do not count)."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(fields[2]) == group and fields[0] != "Z":
                found.append(int(entry.name))
    return found


def all_gone(group: int) -> bool:
    """Nobody is left of it. Who was killed outright is given the moment the kernel needs."""
    return wait_until(lambda: members(group) == [], within_s=5)


def children_of(parent: int) -> list[int]:
    return [int(pid) for pid in Path(f"/proc/{parent}/task/{parent}/children").read_text().split()]


def test_nobody_is_left_when_the_block_ends(start_worker: StartWorker) -> None:
    with start_worker() as worker:
        assert len(members(worker.group)) >= 3
    assert all_gone(worker.group)


def test_nobody_is_left_when_the_block_fails(start_worker: StartWorker) -> None:
    try:
        with start_worker() as worker:
            raise RuntimeError
    except RuntimeError:
        assert all_gone(worker.group)


PROGRAM = """
import os, django, signal, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # whatever shell started the tests
django.setup()
from contractor.workqueue import embedded
from contractor.workqueue.services import queue
with embedded.worker() as worker:
    if {busy}:
        queue("sleeps", "1", payload={{"s": 60}})
        time.sleep(2)
    print(worker.group, flush=True)
    time.sleep(60)
"""


def started_elsewhere(busy: bool) -> tuple[subprocess.Popen[bytes], int]:
    program = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(PROGRAM.format(busy=busy))],
        cwd=settings.BASE_DIR, env={**os.environ, **same_places(), **SHORT}, stdout=subprocess.PIPE,
    )  # fmt: skip
    assert program.stdout is not None
    return program, int(program.stdout.readline())


def test_a_killed_program_takes_its_idle_worker_with_it(transactional_db: None) -> None:
    program, group = started_elsewhere(busy=False)
    assert len(members(group)) >= 3
    program.kill()
    program.wait()
    assert all_gone(group)


def test_a_killed_program_takes_its_busy_worker_with_it(transactional_db: None) -> None:
    program, group = started_elsewhere(busy=True)
    program.kill()
    program.wait()
    assert all_gone(group)


def test_an_interrupted_program_ends_its_worker(transactional_db: None) -> None:
    program, group = started_elsewhere(busy=False)
    program.send_signal(signal.SIGINT)
    program.wait(20)
    assert all_gone(group)


def test_what_a_person_waits_for_does_not_wait_behind_work_in_bulk(start_worker: StartWorker) -> None:
    with start_worker():
        long = [queue("sleeps", f"bulk {place}", payload={"s": 30}, lane="bulk") for place in range(4)]
        assert wait_until(lambda: any(notes_of(item) for item in long))
        wait_for(queue("tells", "soon"), "done", within_s=5)
        assert not WorkItem.objects.filter(lane="bulk", state="done").exists()


def test_ready_says_whether_a_worker_lives(start_worker: StartWorker, settings: Any) -> None:
    settings.GROWN, settings.WORK_LOST_AFTER = False, timedelta(seconds=3)
    ready = partial(Client().get, "/healthz/ready")
    with start_worker() as worker:
        assert wait_until(lambda: ready().status_code == 200, within_s=5)
        os.killpg(worker.group, signal.SIGKILL)
        assert wait_until(lambda: ready().status_code == 503, within_s=8)


def test_a_worker_that_ends_unasked_takes_the_others_along(start_worker: StartWorker) -> None:
    with start_worker() as worker:
        [first, *_] = children_of(worker.group)
        os.kill(first, signal.SIGKILL)
        assert wait_until(lambda: not worker.alive() and members(worker.group) == [], within_s=5)
