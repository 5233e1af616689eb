"""Children that are killed, redeliveries, poison: nothing is lost, done for ever, or told twice."""

from __future__ import annotations

import os
import signal

from contractor.workqueue.handover import send
from contractor.workqueue.services import queue
from tests.faults.conftest import wait_for, wait_until
from tests.faults.kinds import notes_of, pids_of


def test_work_is_done_by_the_worker_and_leaves_its_result(worker: None) -> None:
    item = wait_for(queue("tells", "1"), "done")
    assert item.result == {"steps": 3}
    assert (item.progress_done, item.progress_of, item.progress_words) == (3, 3, "step 3")
    assert item.attempts == 1


def test_a_killed_child_costs_one_attempt_and_no_work(worker: None) -> None:
    item = wait_for(queue("dies_once", "1"), "done")
    assert item.result == {"attempt": 2}
    assert notes_of(item) == ["start", "start"]


def test_poison_is_given_up_after_the_last_attempt_and_says_why(worker: None) -> None:
    item = wait_for(queue("dies_always", "1"), "failed", within_s=60)
    after = wait_for(queue("noop", "after"), "done")
    assert notes_of(item) == ["start"] * 3
    assert item.problem["type"] == "/api/v1/problems/work-lost/"
    assert after.state == "done"


def test_a_second_delivery_finds_nothing_to_do(worker: None) -> None:
    item = queue("sleeps", "1", payload={"s": 0.5})
    for _ in range(4):
        send(item)
    wait_for(item, "done")
    wait_for(queue("noop", "after"), "done")
    assert notes_of(item) == ["start", "end"]


def test_long_work_keeps_its_heart_beating_and_is_not_taken_over(worker: None) -> None:
    item = wait_for(queue("sleeps", "1", payload={"s": 6}), "done")
    assert notes_of(item) == ["start", "end"]
    assert item.attempts == 1


def test_a_frozen_worker_is_taken_over_and_its_late_end_is_refused(worker: None) -> None:
    item = queue("sleeps", "1", payload={"s": 2})
    assert wait_until(lambda: notes_of(item) == ["start"])
    frozen = pids_of(item)[0]
    os.kill(frozen, signal.SIGSTOP)
    wait_for(item, "done")
    os.kill(frozen, signal.SIGCONT)
    assert wait_until(lambda: notes_of(item).count("end") == 2)
    wait_for(queue("noop", "after"), "done")
    item.refresh_from_db()
    assert (item.state, item.attempts) == ("done", 2)


def test_an_unexpected_fault_is_tried_again_and_then_told_without_internals(worker: None) -> None:
    item = wait_for(queue("raises", "1"), "failed", within_s=60)
    assert notes_of(item) == ["start"] * 3
    assert item.problem["type"] == "/api/v1/problems/work-failed/"
    assert "eyes" not in str(item.problem)


def test_a_refusal_ends_at_once_with_its_words(worker: None) -> None:
    item = wait_for(queue("refuses", "77"), "failed")
    assert item.attempts == 1
    assert item.problem == {
        "type": "about:blank",
        "title": "Not possible",
        "detail": "There is no reading of that id.",
        "subject": "77",
    }
