"""The process that embedded.worker() starts.

Python -m contractor.workqueue.embedded_main FD FD PROCESSES QUEUES.
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


def main(pipe: int, word: int, processes: str, queues: str) -> None:
    die_with(int(os.environ["WATERSIDE_PARENT"]))
    when_closed(pipe, kill_group)

    from celery import beat
    from celery.app.utils import find_app
    from celery.signals import worker_process_init, worker_ready

    app = find_app("contractor.config")

    @worker_process_init.connect(weak=False)
    def child_started(**kwargs: Any) -> None:
        when_closed(pipe, lambda: os._exit(1))

    @worker_ready.connect(weak=False)
    def started(**kwargs: Any) -> None:
        # beat as a thread: one process fewer, and it cannot outlive the worker
        beat._Threaded(app, max_interval=1, scheduler_cls=app.conf.beat_scheduler).start()
        os.write(word, b"1")

    app.worker_main(
        ["worker", "--concurrency", processes, "--queues", queues, "--loglevel", "WARNING",
         "--without-gossip", "--without-mingle", "--without-heartbeat",
         "--hostname", f"embedded-{os.getpid()}@%h"]
    )  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], sys.argv[4])
