"""The safety net: what the broker does not carry is handed over again, what was lost is taken back."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.conf import settings
from django.utils import timezone

from contractor.workqueue import handover, sweeping
from contractor.workqueue.models import Beat, WorkItem
from tests import make

pytestmark = pytest.mark.django_db
NOW = timezone.now()
OLD = NOW - dt.timedelta(minutes=1)


class Broker:
    """Stands in for the broker: what was sent, and how many messages a lane holds."""

    def __init__(self) -> None:
        self.sent: list[uuid.UUID] = []
        self.holds: int | None = 0
        self.away = False

    def send(self, item: WorkItem) -> bool:
        if self.away:
            return False
        self.sent.append(item.pk)
        return True


@pytest.fixture
def broker(monkeypatch: pytest.MonkeyPatch) -> Broker:
    broker = Broker()
    monkeypatch.setattr(handover, "send", broker.send)
    monkeypatch.setattr(sweeping, "messages_in", lambda lane: broker.holds)
    return broker


def lost(attempts: int = 1) -> WorkItem:
    last = NOW - settings.WORK_LOST_AFTER - dt.timedelta(seconds=1)
    return make.work_item(state="running", claim=uuid.uuid4(), heartbeat_at=last, attempts=attempts)


def waiting(**given: Any) -> WorkItem:
    return make.work_item(**{"due_at": OLD, **given})


def test_a_row_the_broker_never_got_is_handed_over(broker: Broker) -> None:
    item = waiting(handed_over_at=None)
    assert sweeping.sweep(NOW)["handed_over"] == 1
    assert broker.sent == [item.pk]
    assert sweeping.sweep(NOW)["handed_over"] == 0


def test_a_row_that_is_not_due_waits(broker: Broker) -> None:
    waiting(handed_over_at=None, due_at=NOW + dt.timedelta(seconds=1))
    sweeping.sweep(NOW)
    assert broker.sent == []


def test_rows_the_broker_carries_are_left_to_it(broker: Broker) -> None:
    for _ in range(5):
        waiting(handed_over_at=OLD)
    broker.holds = 5
    sweeping.sweep(NOW)
    assert broker.sent == []


def test_as_many_as_the_broker_is_short_of_are_handed_over_the_oldest_first(broker: Broker) -> None:
    items = [waiting(handed_over_at=OLD + dt.timedelta(seconds=n)) for n in range(5)]
    broker.holds = 3
    sweeping.sweep(NOW)
    assert broker.sent == [items[0].pk, items[1].pk]


def test_a_row_just_handed_over_is_given_time(broker: Broker) -> None:
    waiting(handed_over_at=NOW)
    sweeping.sweep(NOW)
    assert broker.sent == []


def test_after_the_broker_forgot_everything_all_is_handed_over(broker: Broker) -> None:
    for _ in range(30):
        waiting(handed_over_at=OLD)
    assert sweeping.sweep(NOW)["handed_over"] == 30


def test_while_the_broker_is_away_rows_stay_marked_for_the_next_time(broker: Broker) -> None:
    waiting(handed_over_at=None)
    broker.away = True
    assert sweeping.sweep(NOW)["handed_over"] == 0
    broker.away = False
    assert sweeping.sweep(NOW)["handed_over"] == 1


def test_a_broker_that_cannot_be_asked_is_not_taken_for_an_empty_one(broker: Broker) -> None:
    waiting(handed_over_at=OLD)
    broker.holds = None
    sweeping.sweep(NOW)
    assert broker.sent == []


def test_a_lost_row_is_taken_back_and_handed_over_in_one_sweep(broker: Broker) -> None:
    item = lost()
    counts = sweeping.sweep(NOW)
    assert (counts["reclaimed"], counts["handed_over"]) == (1, 1)
    item.refresh_from_db()
    assert (item.state, item.claim, item.attempts) == ("waiting", None, 1)


def test_a_row_lost_again_waits_longer(broker: Broker) -> None:
    item = lost(attempts=3)
    sweeping.sweep(NOW)
    item.refresh_from_db()
    assert item.due_at > NOW
    assert broker.sent == []


def test_a_row_lost_at_its_last_attempt_fails_with_words(broker: Broker) -> None:
    item = lost(attempts=settings.WORK_MAX_ATTEMPTS)
    assert sweeping.sweep(NOW)["failed"] == 1
    item.refresh_from_db()
    assert (item.state, item.problem["type"]) == ("failed", "/api/v1/problems/work-lost/")


def test_a_row_whose_worker_lives_is_left_alone(broker: Broker) -> None:
    item = make.work_item(state="running", claim=uuid.uuid4(), heartbeat_at=NOW, attempts=1)
    sweeping.sweep(NOW)
    item.refresh_from_db()
    assert item.state == "running"


def test_an_identical_request_meanwhile_does_not_hinder_taking_back(broker: Broker) -> None:
    first = lost()
    make.work_item(kind=first.kind, subject=first.subject, same_as=first.same_as)
    assert sweeping.sweep(NOW)["reclaimed"] == 1


def test_the_sweeper_leaves_a_sign_of_life(broker: Broker) -> None:
    sweeping.sweep(NOW)
    assert Beat.objects.get(name="sweep").at == NOW


def test_a_large_backlog_costs_few_queries(broker: Broker, django_assert_max_num_queries: Any) -> None:
    for _ in range(40):
        waiting(handed_over_at=None)
    with django_assert_max_num_queries(40):
        sweeping.sweep(NOW)
