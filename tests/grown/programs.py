"""Programs of the grown setting on this machine, and processes that are started and stopped by hand."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

START_WITHIN_S, STOP_WITHIN_S = 60.0, 60.0


class Missing(Exception):
    """A program or service that must be here is not. An error, never a skip."""


def program(name: str) -> str:
    places = [*postgresql_folders(), os.environ.get("PATH", ""), "/usr/sbin"]
    found = shutil.which(name, path=os.pathsep.join(places))
    if not found:
        raise Missing(f"{name} is not on this machine; .ci/run says which packages bring it")
    return found


def postgresql_folders() -> list[str]:
    """Debian keeps the server's programs out of the way, a folder a version; the newest first."""
    folders = Path("/usr/lib/postgresql").glob("*/bin")
    return [str(folder) for folder in sorted(folders, key=lambda one: int(one.parent.name), reverse=True)]


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def listens(port: int) -> bool:
    with socket.socket() as asking:
        asking.settimeout(1)
        return asking.connect_ex(("127.0.0.1", port)) == 0


@dataclass
class Process:
    name: str
    command: list[str]
    popen: subprocess.Popen[bytes]
    log: Path
    stop_signal: int
    launch: Callable[[], subprocess.Popen[bytes]]

    def end_by(self, number: signal.Signals) -> None:
        """As an accident would."""
        self.popen.send_signal(number)
        self.popen.wait(STOP_WITHIN_S)

    def start_again(self) -> None:
        self.popen = self.launch()

    def stop(self) -> int:
        """Ask it to end and wait; the exit code tells whether it went as it should."""
        if self.popen.poll() is None:
            self.popen.send_signal(self.stop_signal)
        try:
            return self.popen.wait(STOP_WITHIN_S)
        except subprocess.TimeoutExpired:
            os.killpg(self.popen.pid, signal.SIGKILL)
            return self.popen.wait(10)

    def left_behind(self) -> list[int]:
        """Processes of its group that still run after it ended."""
        found = subprocess.run(
            ["ps", "-o", "pid=", "-g", str(self.popen.pid)], capture_output=True, text=True
        )
        return [int(pid) for pid in found.stdout.split()]


def start(
    name: str,
    command: list[str],
    folder: Path,
    environment: Mapping[str, str],
    *,
    cwd: Path | None = None,
    stop_signal: int = signal.SIGTERM,
    user: str | None = None,
) -> Process:
    log = folder / f"{name}.log"

    def launch() -> subprocess.Popen[bytes]:
        with log.open("ab") as words:
            return subprocess.Popen(
                command, cwd=cwd or folder, env=dict(environment), start_new_session=True,
                stdin=subprocess.DEVNULL, stdout=words, stderr=subprocess.STDOUT,
                user=user, group=user, extra_groups=[] if user else None,
            )  # fmt: skip

    return Process(name, command, launch(), log, stop_signal, launch)


def wait_until(ready: Callable[[], bool], process: Process, within_s: float = START_WITHIN_S) -> None:
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        if process.popen.poll() is not None:
            break
        if ready():
            return
        time.sleep(0.2)
    tail = process.log.read_text(errors="replace")[-3000:]
    raise Missing(f"{process.name} did not become ready: {' '.join(process.command)}\n{tail}")
