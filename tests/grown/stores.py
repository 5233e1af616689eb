"""PostgreSQL and Redis of our own, started with the commands of docker-compose.yml in a scratch folder.

    python -m tests.grown.stores COMMAND...

runs a command with DATABASE_URL and REDIS_URL set to such a pair, and stops both afterwards.
"""

from __future__ import annotations

import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.grown import compose
from tests.grown.programs import Process, free_port, program, start, wait_until

UNPRIVILEGED = "postgres" if os.geteuid() == 0 else None
"""PostgreSQL refuses to run as root."""


@dataclass(frozen=True)
class Stores:
    """A database and a broker that run; `end_by` and `start_again` of either are for accidents."""

    folder: Path
    database: Process
    broker: Process
    password: str
    database_address: str
    broker_address: str

    def database_answers(self) -> bool:
        return is_ready(int(self.database_address.rpartition(":")[2]))

    @property
    def variables(self) -> dict[str, str]:
        """What docker-compose.yml asks for about them."""
        return {
            "POSTGRES_PASSWORD": self.password,
            "POSTGRES_ADDRESS": self.database_address,
            "REDIS_ADDRESS": self.broker_address,
        }

    @property
    def environment(self) -> dict[str, str]:
        """What the service and its tests ask for."""
        return {
            "DATABASE_URL": f"postgresql://waterside:{self.password}@{self.database_address}/waterside",
            "REDIS_URL": f"redis://{self.broker_address}/0",
        }


@contextmanager
def running() -> Iterator[Stores]:
    folder = Path(tempfile.mkdtemp(prefix="waterside-stores-"))
    folder.chmod(0o755)
    password = secrets.token_hex(16)
    services = compose.read(dict.fromkeys(compose.variables_asked_for(), "not-used-here"))
    started: list[Process] = []
    try:
        broker, broker_port = start_broker(services["broker"].command, folder)
        started.append(broker)
        wait_until(lambda: answers_ping(broker_port), broker)
        database, database_port = start_database(services["database"].command, folder, password)
        started.append(database)
        wait_until(lambda: is_ready(database_port), database)
        create_database(database_port, password)
        yield Stores(
            folder, database, broker, password, f"127.0.0.1:{database_port}", f"127.0.0.1:{broker_port}"
        )
    finally:
        for process in reversed(started):
            process.stop()
        shutil.rmtree(folder, ignore_errors=True)


def start_broker(command: list[str], folder: Path) -> tuple[Process, int]:
    port, data = free_port(), folder / "broker"
    data.mkdir()
    words = [
        program(command[0]),
        *command[1:],
        "--bind",
        "127.0.0.1",
        "--port",
        str(port),
        "--dir",
        str(data),
    ]
    return start("broker", words, folder, os.environ), port


def answers_ping(port: int) -> bool:
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=1) as connection:
            connection.sendall(b"PING\r\n")
            return connection.recv(5) == b"+PONG"
    except OSError:
        return False


def start_database(command: list[str], folder: Path, password: str) -> tuple[Process, int]:
    port, data, secret = free_port(), folder / "database", folder / "password"
    data.mkdir()
    secret.write_text(password)
    if UNPRIVILEGED:
        shutil.chown(data, UNPRIVILEGED)
        shutil.chown(secret, UNPRIVILEGED)
    secret.chmod(0o600)
    initdb = [program("initdb"), "--pgdata", str(data), "--username", "waterside", "--pwfile", str(secret),
              "--auth", "scram-sha-256", "--encoding", "UTF8", "--no-locale", "--no-sync"]  # fmt: skip
    subprocess.run(
        initdb, check=True, capture_output=True, cwd=folder,
        user=UNPRIVILEGED, group=UNPRIVILEGED, extra_groups=[] if UNPRIVILEGED else None,
    )  # fmt: skip
    words = [
        program(command[0]),
        *command[1:],
        "-D",
        str(data),
        "-p",
        str(port),
        "-h",
        "127.0.0.1",
        "-k",
        str(data),
    ]
    return start("database", words, folder, os.environ, stop_signal=signal.SIGINT, user=UNPRIVILEGED), port


def is_ready(port: int) -> bool:
    asked = subprocess.run([program("pg_isready"), "-q", "-h", "127.0.0.1", "-p", str(port)])
    return asked.returncode == 0


def create_database(port: int, password: str) -> None:
    words = [program("createdb"), "-h", "127.0.0.1", "-p", str(port), "-U", "waterside", "waterside"]
    subprocess.run(words, check=True, env={**os.environ, "PGPASSWORD": password})


def main(command: list[str]) -> int:
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    with running() as stores:
        return subprocess.run(command, env={**os.environ, **stores.environment}).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
