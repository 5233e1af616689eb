"""A worker of our own for the embedded setting: started with the program that needs it, ended with it,
always.

    with embedded.worker():
        ...

The worker is one or two Celery workers in a process group of their own: where there are two processes or
more, one of them takes nothing but what people wait for, so that no work in bulk stands in its way. It is
asked to finish, then told, then killed; and if this program is killed first, the worker notices (a pipe that
closes, and on Linux a signal from the kernel) and dies too.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection

START_WITHIN_S = 60.0


class WorkerDidNotStart(RuntimeError):
    pass


@dataclass(frozen=True, slots=True)
class EmbeddedWorker:
    process: subprocess.Popen[bytes]
    log: Path

    @property
    def group(self) -> int:
        return self.process.pid

    def alive(self) -> bool:
        return self.process.poll() is None


@contextmanager
def worker(
    *,
    processes: int = 2,
    queues: str = "soon,bulk,house",
    environment: Mapping[str, str] | None = None,
    finish_within_s: float = 30.0,
    ready_first: bool = True,
) -> Iterator[EmbeddedWorker]:
    """`ready_first=False` goes on while it starts; `alive` then tells whether it did."""
    log = settings.VAR_DIR / "worker.log"
    our_end, their_end = os.pipe()  # they see the end of file when we are gone
    their_word, our_word = os.pipe()  # each says when it is ready
    command = [sys.executable, "-m", "contractor.workqueue.embedded_main", str(our_end), str(our_word)]
    crews = crews_of(processes, queues)
    with log.open("ab") as words:
        started = subprocess.Popen(
            [*command, *crews],
            cwd=settings.BASE_DIR,
            env={**os.environ, **same_places(), **(environment or {})},
            pass_fds=(our_end, our_word),
            start_new_session=True,
            stdin=subprocess.DEVNULL,
            stdout=words,
            stderr=subprocess.STDOUT,
        )
    found = EmbeddedWorker(started, log)
    try:
        os.close(our_end)
        os.close(our_word)
        for _ in crews if ready_first else ():
            wait_for_word(found, their_word)
        yield found
    finally:
        end(found, finish_within_s)
        os.close(their_end)
        os.close(their_word)


def crews_of(processes: int, queues: str) -> list[str]:
    """One word a worker: its processes and queues. The first also keeps the clock."""
    lanes = queues.split(",")
    if processes < 2 or not {"soon", "bulk"} <= set(lanes):
        return [f"{processes}:{queues}"]
    return [f"{processes - 1}:{queues}", "1:" + ",".join(lane for lane in lanes if lane != "bulk")]


def same_places() -> dict[str, str]:
    """The database as it is now (tests use another name) and the same folder."""
    return {
        "WATERSIDE_VAR": str(settings.VAR_DIR),
        "WATERSIDE_DATABASE_NAME": str(connection.settings_dict["NAME"]),
        "WATERSIDE_PARENT": str(os.getpid()),
    }


def wait_for_word(found: EmbeddedWorker, word: int) -> None:
    until = time.monotonic() + START_WITHIN_S
    while time.monotonic() < until and found.alive():
        if select.select([word], [], [], 0.2)[0] and os.read(word, 1):
            return
    raise WorkerDidNotStart(f"the worker did not start; {found.log} says why")


def end(found: EmbeddedWorker, finish_within_s: float) -> None:
    """Ask (finish what is running), tell (stop now), kill; and leave nobody of the group behind."""
    for number, patience in ((signal.SIGTERM, finish_within_s), (signal.SIGQUIT, 5.0), (signal.SIGKILL, 5.0)):
        if not found.alive():
            break
        found.process.send_signal(number)
        with contextlib.suppress(subprocess.TimeoutExpired):
            found.process.wait(patience)
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(found.group, signal.SIGKILL)
    found.process.wait(5)
