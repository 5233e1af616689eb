"""The broker of the embedded setting: messages are files, taken by one, never half a one."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from typing import Any

import pytest
from kombu import Connection


@pytest.fixture
def connection(tmp_path: Path) -> Iterator[Connection]:
    with Connection(
        "files://", transport_options={"folder": str(tmp_path), "polling_interval": 0.01}
    ) as broker:
        yield broker


def send(connection: Connection, *words: str, queue: str = "soon") -> None:
    producer = connection.Producer(serializer="json")
    for word in words:
        producer.publish(word, routing_key=queue, exchange="")


def take(connection: Connection, queue: str = "soon") -> list[Any]:
    channel, found = connection.default_channel, []
    while True:
        try:
            found.append(channel._get(queue))
        except Empty:
            return found


def test_messages_come_in_the_order_they_were_sent(connection: Connection) -> None:
    send(connection, *"abcdef")
    bodies = [connection.default_channel.message_to_python(m).decode() for m in take(connection)]
    assert bodies == list("abcdef")


def test_queues_are_apart(connection: Connection) -> None:
    send(connection, "a", queue="soon")
    send(connection, "b", "c", queue="bulk")
    channel = connection.default_channel
    assert (channel._size("soon"), channel._size("bulk")) == (1, 2)
    assert len(take(connection, "bulk")) == 2
    assert channel._size("soon") == 1


def test_a_message_is_taken_by_one_of_many(connection: Connection, tmp_path: Path) -> None:
    send(connection, *[str(number) for number in range(300)])
    found: list[Any] = []
    barrier = threading.Barrier(4)

    def one() -> None:
        with Connection("files://", transport_options={"folder": str(tmp_path)}) as broker:
            barrier.wait()
            found.extend(take(broker))

    threads = [threading.Thread(target=one) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    tags = [message["properties"]["delivery_tag"] for message in found]
    assert len(tags) == len(set(tags)) == 300


def test_what_is_being_written_is_not_a_message_yet(connection: Connection, tmp_path: Path) -> None:
    (tmp_path / "soon").mkdir()
    (tmp_path / "soon" / ".00-half").write_text('{"bo')
    assert connection.default_channel._size("soon") == 0
    assert take(connection) == []


def test_taken_messages_leave_nothing_behind(connection: Connection, tmp_path: Path) -> None:
    send(connection, "a", "b")
    take(connection)
    assert os.listdir(tmp_path / "soon") == []


def test_a_queue_is_emptied(connection: Connection) -> None:
    send(connection, "a", "b")
    assert connection.default_channel._purge("soon") == 2
    assert take(connection) == []


@pytest.mark.parametrize("name", ["../up", "", "a/b", "x" * 81])
def test_a_queue_cannot_be_named_out_of_its_folder(connection: Connection, name: str) -> None:
    with pytest.raises(ValueError, match="name"):
        connection.default_channel._size(name)
