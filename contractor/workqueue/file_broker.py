"""The broker of the embedded setting: a message is a file. No server, any number of processes on one machine.

kombu's own file transport writes a message in place and lists the whole folder for each one taken. Here a
message appears by rename, complete or not at all; a queue has its own folder; and a listing is used up before
the next. Messages go straight to a queue by name; there are no other exchanges and no remote control. A
message being carried out is no longer in any file: the work item's row brings it back, as after any lost
worker.
"""

from __future__ import annotations

import os
import re
import time
import uuid
from collections import deque
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.transport import virtual
from kombu.utils.encoding import bytes_to_str, str_to_bytes
from kombu.utils.json import dumps, loads

PAUSE_FULL_S, PAUSE_EMPTY_S = 0.002, 0.05
QUEUE_NAME = re.compile(r"[A-Za-z0-9_-]{1,80}")


class Channel(virtual.Channel):
    listings: dict[str, deque[str]]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.listings = {}

    def folder_of(self, queue: str) -> Path:
        if not QUEUE_NAME.fullmatch(queue):
            raise ValueError(f"{queue!r} is not a name for a queue")
        options: dict[str, Any] = self.connection.client.transport_options  # type: ignore[union-attr, assignment]
        folder = Path(options["folder"]) / queue
        folder.mkdir(parents=True, exist_ok=True)
        return folder

    def _put(self, queue: str, message: Any, **kwargs: Any) -> None:
        folder = self.folder_of(queue)
        name = f"{time.time_ns():020d}-{uuid.uuid4().hex}"
        unfinished = folder / f".{name}"
        unfinished.write_bytes(str_to_bytes(dumps(message)))
        os.rename(unfinished, folder / f"{name}.msg")

    def _get(self, queue: str, timeout: float | None = None) -> Any:
        folder = self.folder_of(queue)
        listing = self.listings.get(queue)
        if not listing:
            listing = self.listings[queue] = deque(sorted(waiting_in(folder)))
        while listing:
            waiting = folder / listing.popleft()
            taken = waiting.with_suffix(f".{uuid.uuid4().hex}")
            try:
                os.rename(waiting, taken)
            except FileNotFoundError:
                continue
            content = taken.read_bytes()
            taken.unlink()
            return loads(bytes_to_str(content))
        raise Empty

    def _size(self, queue: str) -> int:
        return len(waiting_in(self.folder_of(queue)))

    def _purge(self, queue: str) -> int:
        folder, count = self.folder_of(queue), 0
        for name in waiting_in(folder):
            (folder / name).unlink(missing_ok=True)
            count += 1
        return count


def waiting_in(folder: Path) -> list[str]:
    return [name for name in os.listdir(folder) if name.endswith(".msg")]


class Transport(virtual.Transport):
    Channel = Channel
    global_state = virtual.BrokerState()
    default_port = 0
    driver_type = driver_name = "files"

    def __init__(self, client: Any, **kwargs: Any) -> None:
        super().__init__(client, **kwargs)
        self.state = self.global_state

    def drain_events(self, connection: Any, timeout: float | None = None, **kwargs: Any) -> None:
        """One look at the queues.

        Celery's blocking loop acknowledges between two calls only, so never stay long.
        """
        cycle: Any = self.cycle
        try:
            cycle.get(self._deliver, timeout=timeout)
        except Empty:
            channels: Any = self.channels
            full = not all(channel.qos.can_consume() for channel in channels)
            time.sleep(PAUSE_FULL_S if full else self.polling_interval or PAUSE_EMPTY_S)
            raise TimeoutError from None

    def driver_version(self) -> str:
        return "1"
