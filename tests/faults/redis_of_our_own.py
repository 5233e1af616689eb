"""A Redis that a test may kill, freeze and empty, and a program that queues work through it."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import redis
from django.conf import settings

from contractor.workqueue.embedded import same_places
from tests.faults.conftest import wait_until

ASK = """
import django, json, sys, time
django.setup()
from contractor.workqueue.services import queue
took = []
for subject in sys.argv[1:]:
    start = time.monotonic()
    queue("sleeps", subject, payload={"s": 0.05})
    took.append(time.monotonic() - start)
print(json.dumps(took))
"""


class Redis:
    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder = folder
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.process = subprocess.Popen(
            ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", "--dir", str(self.folder),
             "--appendonly", "yes", "--appendfsync", "everysec", "--save", "", "--daemonize", "no"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        assert wait_until(self.answers, 10)

    def answers(self) -> bool:
        try:
            with redis.Redis.from_url(self.url, socket_timeout=1) as client:
                return bool(client.ping())
        except redis.RedisError:
            return False

    def signal(self, number: int) -> None:
        assert self.process is not None
        self.process.send_signal(number)

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def empty(self) -> None:
        with redis.Redis.from_url(self.url) as client:
            client.flushall()

    @property
    def environment(self) -> dict[str, str]:
        return {"REDIS_URL": self.url}

    def ask(self, *subjects: str) -> list[float]:
        """Queue work from a program of its own; how long each took [s]."""
        done = subprocess.run(
            [sys.executable, "-c", ASK, *subjects], cwd=settings.BASE_DIR, check=True, capture_output=True,
            env={**os.environ, **same_places(), **self.environment}, timeout=60,
        )  # fmt: skip
        took: list[float] = json.loads(done.stdout)
        return took


@contextmanager
def running_redis(folder: Path) -> Iterator[Redis]:
    server = Redis(folder)
    server.start()
    try:
        yield server
    finally:
        if server.process is not None:
            server.signal(signal.SIGCONT)
        server.kill()
