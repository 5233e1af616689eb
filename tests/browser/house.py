"""A real house for browsers: the service's own server and embedded worker as processes.

In a folder of its own, on a small seeded world, behind a proxy that can lose replies.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings

from tests.browser.proxy import Proxy

NOT_THEIRS = ("DATABASE_URL", "REDIS_URL", "WATERSIDE_DATABASE_NAME")
READY_WITHIN_S = 90.0


def free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class House:
    folder: Path
    port: int = field(default_factory=free_port)
    world: dict[str, Any] = field(default_factory=dict)
    processes: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)
    proxy: Proxy = field(init=False)

    def __post_init__(self) -> None:
        self.proxy = Proxy(self.port)

    @property
    def address(self) -> str:
        return self.proxy.address

    def environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if name not in NOT_THEIRS}
        places = {"WATERSIDE_VAR": str(self.folder), "WATERSIDE_VAR_OF_TESTS": str(self.folder)}
        secret = {"WATERSIDE_SECRET_KEY": "only-for-tests-only-for-tests-only-for-tests"}
        return {
            **kept, **places, **secret, "WATERSIDE_HTTPS": "no", "DJANGO_SETTINGS_MODULE": "tests.settings",
        }  # fmt: skip

    def run(self, *words: str) -> str:
        done = subprocess.run(
            [sys.executable, *words], cwd=settings.BASE_DIR, env=self.environment(),
            capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=300,
        )  # fmt: skip
        assert done.returncode == 0, f"{words}: {done.stdout[-3000:]}\n{done.stderr[-3000:]}"
        return done.stdout

    def furnish(self, seed: str) -> None:
        self.run("manage.py", "migrate", "--verbosity", "0")
        self.run("manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        self.world = json.loads(self.run("-m", seed).strip().splitlines()[-1])

    def start(self, name: str, *words: str, piped: bool = False) -> subprocess.Popen[bytes]:
        with (self.folder / f"{name}.log").open("ab") as log:
            process = subprocess.Popen(
                [sys.executable, *words], cwd=settings.BASE_DIR, env=self.environment(),
                stdin=subprocess.DEVNULL, stdout=subprocess.PIPE if piped else log, stderr=log,
            )  # fmt: skip
        self.processes[name] = process
        return process

    def stop(self, name: str, number: int = signal.SIGTERM) -> None:
        process = self.processes.pop(name, None)
        if process is None:
            return
        process.send_signal(number)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(5)

    def start_worker(self) -> None:
        process = self.start("worker-of-tests", "-m", "tests.browser.work", piped=True)
        assert process.stdout is not None and process.stdout.readline().strip() == b"ready", self.words()

    def start_server(self) -> None:
        """Until it answers."""
        self.start("server", "-m", "tests.browser.serve", str(self.port))
        until = time.monotonic() + READY_WITHIN_S
        while time.monotonic() < until:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/healthz/live", timeout=5):
                    return
            except OSError:
                assert self.processes["server"].poll() is None, self.words()
                time.sleep(0.1)
        raise AssertionError(f"no answer from the server: {self.words()}")

    def stop_server(self) -> None:
        self.stop("server", signal.SIGKILL)

    def words(self) -> str:
        return "\n".join(path.read_text()[-2000:] for path in self.folder.glob("*.log"))

    def rows(self, question: str, *values: object) -> list[tuple[Any, ...]]:
        """What the database holds, read past the service."""
        address = f"file:{self.folder / 'waterside.sqlite3'}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=20)) as database:
            return database.execute(question, values).fetchall()

    def close(self) -> None:
        for name in list(self.processes):
            self.stop(name)
        self.proxy.close()


@contextmanager
def running(seed: str = "tests.browser.world", *, worker: bool = True) -> Iterator[House]:
    folder = Path(tempfile.mkdtemp(prefix="waterside-browser-"))
    house = House(folder)
    try:
        house.furnish(seed)
        if worker:
            house.start_worker()
        house.start_server()
        yield house
    finally:
        house.close()
        shutil.rmtree(folder, ignore_errors=True)
