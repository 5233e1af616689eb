"""A real worker on the broker at hand (files, or Redis where REDIS_URL says so), with short times."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager

import pytest
from celery import current_app
from django.conf import settings
from pytest_django.plugin import DjangoDbBlocker

from contractor.workqueue import embedded
from contractor.workqueue.models import WorkItem

SHORT = {
    "WATERSIDE_WORK_HEARTBEAT": "1",
    "WATERSIDE_WORK_LOST_AFTER": "3",
    "WATERSIDE_WORK_SWEEP_EVERY": "1",
    "WATERSIDE_WORK_BACK_OFF": "1",
    "WATERSIDE_WORK_MAX_ATTEMPTS": "3",
}
StartWorker = Callable[..., AbstractContextManager[embedded.EmbeddedWorker]]


def clear_broker() -> None:
    if settings.REDIS_URL:
        with current_app.connection_for_write() as broker:
            broker.default_channel.client.flushdb()
    else:
        shutil.rmtree(settings.BROKER_DIR, ignore_errors=True)


@pytest.fixture
def start_worker(transactional_db: None) -> StartWorker:
    """For tests that end the worker, or need the time before it starts."""
    clear_broker()
    return lambda: embedded.worker(environment=SHORT, finish_within_s=10)


@pytest.fixture(scope="module")
def shared_worker(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    clear_broker()
    with django_db_blocker.unblock():
        running = embedded.worker(environment=SHORT, finish_within_s=10)
        with running:
            yield


@pytest.fixture
def worker(shared_worker: None, transactional_db: None) -> None:
    """One worker for the tests of a module that leave it alive."""


def wait_for(item: WorkItem, *states: str, within_s: float = 40) -> WorkItem:
    wait_until(lambda: WorkItem.objects.filter(pk=item.pk, state__in=states).exists(), within_s)
    item.refresh_from_db()
    assert item.state in states, f"still {item.state} after {within_s} s: {item.problem}"
    return item


def wait_until(holds: Callable[[], bool], within_s: float = 20) -> bool:
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        if holds():
            return True
        time.sleep(0.05)
    return False
