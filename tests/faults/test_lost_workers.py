"""Workers that end in the middle, and a broker that forgets: the next worker makes it good."""

from __future__ import annotations

import os
import signal

from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from tests.faults.conftest import StartWorker, clear_broker, wait_for, wait_until
from tests.faults.kinds import notes_of


def test_a_killed_worker_is_made_good_by_the_next_one(start_worker: StartWorker) -> None:
    with start_worker() as first:
        item = queue("sleeps", "1", payload={"s": 2})
        assert wait_until(lambda: notes_of(item) == ["start"])
        os.killpg(first.group, signal.SIGKILL)
    item.refresh_from_db()
    assert item.state == "running"
    with start_worker():
        wait_for(item, "done")
    assert notes_of(item) == ["start", "start", "end"]


def test_work_queued_while_no_worker_ran_is_done_at_the_next_start(start_worker: StartWorker) -> None:
    items = [queue("noop", str(number)) for number in range(5)]
    with start_worker():
        for item in items:
            wait_for(item, "done")


def test_messages_that_the_broker_lost_are_handed_over_again(start_worker: StartWorker) -> None:
    items = [queue("noop", str(number)) for number in range(20)]
    clear_broker()
    WorkItem.objects.update(handed_over_at="2026-01-01T00:00:00Z")
    with start_worker():
        for item in items:
            wait_for(item, "done")
