"""A claim is one conditional update: it is had by one, kept by a heartbeat, and void once lost."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contractor.trail.actor import current_actor
from contractor.workqueue import claims, handlers, running
from contractor.workqueue.handlers import WorkRefused
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import ClaimLost, Progress
from tests import make

pytestmark = pytest.mark.django_db
NOW = timezone.now()
LONG_AGO = NOW - settings.WORK_LOST_AFTER - dt.timedelta(seconds=1)


def held(**given: object) -> WorkItem:
    given = {"state": "running", "claim": uuid.uuid4(), "heartbeat_at": NOW, "attempts": 1, **given}
    return make.work_item(**given)


def test_waiting_work_that_is_due_is_taken() -> None:
    item = claims.take(make.work_item(payload={"a": [1]}).pk, timezone.now())
    assert item is not None
    assert (item.state, item.attempts, item.payload) == ("running", 1, {"a": [1]})
    assert item.claim is not None
    fresh = WorkItem.objects.get()
    assert (fresh.claim, fresh.heartbeat_at, fresh.started_at) == (
        item.claim,
        item.heartbeat_at,
        item.started_at,
    )


@pytest.mark.parametrize("state", ["done", "failed"])
def test_finished_work_is_not_taken(state: str) -> None:
    assert claims.take(make.work_item(state=state, problem={"title": "x"}).pk, NOW) is None


def test_work_that_is_not_yet_due_is_not_taken() -> None:
    assert claims.take(make.work_item(due_at=NOW + dt.timedelta(seconds=1)).pk, NOW) is None


def test_work_whose_worker_lives_is_not_taken() -> None:
    assert claims.take(held().pk, NOW) is None


def test_work_whose_heartbeat_stopped_is_taken_over_under_a_fresh_claim() -> None:
    old = held(heartbeat_at=LONG_AGO)
    item = claims.take(old.pk, NOW)
    assert item is not None
    assert item.claim != old.claim
    assert item.attempts == 2


def test_lost_work_is_not_taken_over_after_its_last_attempt() -> None:
    item = held(heartbeat_at=LONG_AGO, attempts=settings.WORK_MAX_ATTEMPTS)
    assert claims.take(item.pk, NOW) is None


def test_work_that_is_unknown_is_not_taken() -> None:
    assert claims.take(uuid.uuid4(), NOW) is None


def test_a_heartbeat_holds_only_with_the_claim() -> None:
    item = held(heartbeat_at=LONG_AGO)
    assert not claims.beat(item.pk, uuid.uuid4(), NOW)
    assert claims.beat(item.pk, item.claim, NOW)
    assert WorkItem.objects.get().heartbeat_at == NOW


def test_the_late_end_of_a_lost_worker_is_refused() -> None:
    first = claims.take(make.work_item().pk, timezone.now())
    assert first is not None
    WorkItem.objects.update(heartbeat_at=LONG_AGO)
    second = claims.take(first.pk, NOW)
    assert second is not None
    assert not claims.close(first, NOW, state="done", result={"by": "first"})
    assert claims.close(second, NOW, state="done", result={"by": "second"})
    assert WorkItem.objects.get().result == {"by": "second"}


def run_with(monkeypatch: pytest.MonkeyPatch, handler: handlers.Handler, **given: object) -> WorkItem:
    monkeypatch.setitem(handlers.HANDLERS, "noop", handler)
    item = make.work_item(**given)
    running.run(item.pk)
    item.refresh_from_db()
    return item


def test_a_result_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    item = run_with(monkeypatch, lambda item, progress: {"answer": 42})
    assert (item.state, item.result, item.problem, item.claim) == ("done", {"answer": 42}, None, None)
    assert item.finished_at is not None


def test_expected_failure_ends_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(item: WorkItem, progress: Progress) -> None:
        raise WorkRefused("about:blank", "No", "There is nothing to assess.", reading="7")

    item = run_with(monkeypatch, refuse)
    assert item.state == "failed"
    assert item.problem == {
        "type": "about:blank",
        "title": "No",
        "detail": "There is nothing to assess.",
        "reading": "7",
    }


def test_an_unexpected_failure_waits_longer_each_time_and_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(item: WorkItem, progress: Progress) -> None:
        raise RuntimeError("insides")

    item = run_with(monkeypatch, fail)
    waits = []
    for _ in range(settings.WORK_MAX_ATTEMPTS - 1):
        assert (item.state, item.handed_over_at) == ("waiting", None)
        waits.append((item.due_at - timezone.now()).total_seconds())
        assert running.run(item.pk) == "nothing"
        WorkItem.objects.update(due_at=timezone.now())
        running.run(item.pk)
        item.refresh_from_db()
    assert waits == pytest.approx([10, 40, 160], abs=2)
    assert (item.state, item.attempts) == ("failed", settings.WORK_MAX_ATTEMPTS)
    assert "insides" not in str(item.problem)


def test_success_after_a_failure_leaves_no_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    item = run_with(monkeypatch, lambda item, progress: None, problem={"title": "before"})
    assert (item.state, item.problem) == ("done", None)


def test_work_of_a_kind_this_worker_does_not_know_is_tried_again_later() -> None:
    item = make.work_item(kind="unheard_of")
    assert running.run(item.pk) == "again"


def test_what_work_writes_is_told_to_be_for_the_person_who_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    person, seen = make.person(email="asked@example.org"), []
    run_with(monkeypatch, lambda item, progress: seen.append(current_actor()), asked_by=person)
    assert (seen[0].person_id, seen[0].by) == (person.pk, "noop for asked@example.org")


def test_progress_of_a_lost_worker_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    written = []

    def slow(item: WorkItem, progress: Progress) -> None:
        progress.tell(1, 3, "one of three")
        WorkItem.objects.update(claim=uuid.uuid4())
        progress.tell(2, 3)
        written.append("too late")

    item = run_with(monkeypatch, slow)
    assert (item.state, item.progress_done, written) == ("running", 1, [])


def test_a_lost_worker_cannot_write_its_results(monkeypatch: pytest.MonkeyPatch) -> None:
    written = []

    def slow(item: WorkItem, progress: Progress) -> None:
        WorkItem.objects.update(claim=uuid.uuid4())
        with transaction.atomic():
            progress.still_ours()
            written.append("too late")

    assert run_with(monkeypatch, slow).state == "running"
    assert written == []


def test_holding_a_claim_wants_a_transaction() -> None:
    item = held()
    progress = Progress(item.pk, item.claim)
    with transaction.atomic():
        progress.still_ours()
    with pytest.raises(ClaimLost), transaction.atomic():
        Progress(item.pk, uuid.uuid4()).still_ours()
