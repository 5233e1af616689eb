"""Asking for work."""

from __future__ import annotations

import pytest
from django.db import transaction
from kombu.exceptions import OperationalError

from contractor.workqueue import claims, handover
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from tests import make

pytestmark = pytest.mark.django_db


def test_identical_work_that_waits_is_returned_instead_of_a_second() -> None:
    first = queue("noop", "reading-1", payload={"paper": "a4"})
    second = queue("noop", "reading-1", payload={"paper": "a4"})
    assert second.pk == first.pk
    assert WorkItem.objects.count() == 1


def test_another_payload_is_other_work() -> None:
    assert (
        queue("noop", "1", payload={"paper": "a4"}).pk != queue("noop", "1", payload={"paper": "letter"}).pk
    )


def test_work_is_queued_anew_once_the_first_runs() -> None:
    first = queue("noop", "1")
    assert claims.take(first.pk, first.due_at) is not None
    assert queue("noop", "1").pk != first.pk


def test_whoever_asks_for_waiting_work_may_follow_it_too() -> None:
    first, second = make.person(), make.person()
    item = queue("noop", "1", asked_by=first)
    queue("noop", "1", asked_by=second)
    for person in (first, second):
        assert list(WorkItem.objects.seen_by(person)) == [item]
    assert not WorkItem.objects.seen_by(make.person()).exists()


@pytest.mark.django_db(transaction=True)
def test_bulk_work_that_somebody_comes_to_wait_for_changes_lane(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[tuple[str, str]] = []
    monkeypatch.setattr(handover, "send", lambda item: sent.append((str(item.pk), item.lane)) or True)
    bulk = queue("noop", "1", lane="bulk")
    soon = queue("noop", "1")
    assert queue("noop", "1", lane="bulk").pk == soon.pk == bulk.pk
    assert sent == [(str(bulk.pk), "bulk"), (str(bulk.pk), "soon")]
    assert WorkItem.objects.get().lane == "soon"


@pytest.mark.django_db(transaction=True)
def test_the_broker_hears_of_work_only_after_the_commit(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []
    monkeypatch.setattr(handover, "send", lambda item: sent.append(str(item.pk)) or True)
    with transaction.atomic():
        item = queue("noop", "1")
        assert sent == []
    assert sent == [str(item.pk)]


@pytest.mark.django_db(transaction=True)
def test_a_rolled_back_request_leaves_no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []
    monkeypatch.setattr(handover, "send", lambda item: sent.append(str(item.pk)) or True)
    with pytest.raises(RuntimeError), transaction.atomic():
        queue("noop", "1")
        raise RuntimeError
    assert sent == []
    assert not WorkItem.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_away_does_not_fail_the_write(monkeypatch: pytest.MonkeyPatch) -> None:
    def away(*args: object, **kwargs: object) -> None:
        raise OperationalError("connection refused")

    monkeypatch.setattr(handover.current_app, "send_task", away)
    item = queue("noop", "1")
    item.refresh_from_db()
    assert item.state == "waiting"
    assert item.handed_over_at is None
