"""The process that embedded.worker() starts: it forks one Celery worker a crew, and ends when one ends.

Python -m contractor.workqueue.embedded_main FD FD PROCESSES:QUEUES [PROCESSES:QUEUES].
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import threading
from collections.abc import Callable
from typing import Any

PR_SET_PDEATHSIG = 1


def die_with(parent: int) -> None:
    """Linux: the kernel kills this process when its parent dies. Elsewhere the pipe alone does it."""
    if sys.platform.startswith("linux"):
        ctypes.CDLL(None, use_errno=True).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
        if os.getppid() != parent:
            os._exit(1)


def when_closed(pipe: int, act: Callable[[], None]) -> None:
    """Whoever started us holds the other end and never writes: end of file means that they are gone."""

    def watch() -> None:
        os.read(pipe, 1)
        act()

    threading.Thread(target=watch, name="watch-parent", daemon=True).start()


def kill_group() -> None:
    os.killpg(os.getpgid(0), signal.SIGKILL)


def main(pipe: int, word: int, crews: list[str]) -> None:
    die_with(int(os.environ["WATERSIDE_PARENT"]))

    from celery.app.utils import find_app

    app = find_app("contractor.config")
    app.loader.import_default_modules()  # once, before the fork: the workers share what was loaded
    ours = os.getpid()
    workers = [start(app, crew, pipe, word, ours, first=place == 0) for place, crew in enumerate(crews)]
    when_closed(pipe, kill_group)
    os.close(word)
    for number in (signal.SIGTERM, signal.SIGQUIT, signal.SIGINT):
        signal.signal(number, lambda told, frame: pass_on(workers, told))
    wait_for_all(workers)


def start(app: Any, crew: str, pipe: int, word: int, starter: int, *, first: bool) -> int:
    pid = os.fork()
    if pid:
        return pid
    try:
        die_with(starter)
        when_closed(pipe, kill_group)
        processes, queues = crew.split(":")
        work(app, processes, queues, pipe, word, first)
    finally:
        os._exit(1)


def work(app: Any, processes: str, queues: str, pipe: int, word: int, first: bool) -> None:
    from celery import beat
    from celery.signals import worker_process_init, worker_ready

    @worker_process_init.connect(weak=False)
    def child_started(**kwargs: Any) -> None:
        when_closed(pipe, lambda: os._exit(1))

    @worker_ready.connect(weak=False)
    def started(**kwargs: Any) -> None:
        if first:  # beat as a thread: one process fewer, and it cannot outlive the worker
            beat._Threaded(app, max_interval=1, scheduler_cls=app.conf.beat_scheduler).start()
        os.write(word, b"1")

    app.worker_main(
        ["worker", "--concurrency", processes, "--queues", queues, "--loglevel", "WARNING",
         "--without-gossip", "--without-mingle", "--without-heartbeat",
         "--hostname", f"embedded-{os.getpid()}@%h"]
    )  # fmt: skip


stopping = False


def pass_on(workers: list[int], number: int) -> None:
    global stopping
    stopping = True
    for worker in workers:
        try:
            os.kill(worker, number)
        except ProcessLookupError:
            continue


def wait_for_all(workers: list[int]) -> None:
    """One that ends unasked takes the others along: whoever started us starts all of it anew."""
    for _ in workers:
        os.wait()
        if not stopping:
            kill_group()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
