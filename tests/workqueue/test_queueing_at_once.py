"""Many who ask for the same work at the same moment get the same item."""

from __future__ import annotations

import threading

import pytest
from django.db import connection, transaction
from django.utils import timezone

from contractor.workqueue import claims, handover
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def no_broker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handover, "send", lambda item: True)


def at_once(number: int, act: object) -> None:
    barrier = threading.Barrier(number)

    def one() -> None:
        try:
            barrier.wait()
            act()
        finally:
            connection.close()

    threads = [threading.Thread(target=one) for _ in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def test_ten_who_ask_at_once_get_one_item() -> None:
    found: list[str] = []
    at_once(10, lambda: found.append(str(queue("noop", "1").pk)))
    assert len(found) == 10
    assert len(set(found)) == WorkItem.objects.count() == 1


def test_ten_workers_at_once_claim_an_item_once() -> None:
    item = queue("noop", "1")
    got: list[bool] = []
    at_once(10, lambda: got.append(claims.take(item.pk, timezone.now()) is not None))
    assert sorted(got) == [False] * 9 + [True]


def test_waiting_work_is_not_begun_before_whoever_asked_again_has_committed() -> None:
    """Otherwise the worker would read the facts as they were before the second request wrote its own."""
    item = queue("noop", "1")
    begun = threading.Event()

    def begin() -> None:
        try:
            claims.take(item.pk, timezone.now())
            begun.set()
        finally:
            connection.close()

    with transaction.atomic():
        assert queue("noop", "1").pk == item.pk
        worker = threading.Thread(target=begin)
        worker.start()
        assert not begun.wait(0.5)
    worker.join(20)
    assert begun.is_set()
