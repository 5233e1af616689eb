"""Alive and ready, told without secrets and without a sign-in."""

from __future__ import annotations

import datetime as dt

import pytest
from django.conf import settings
from django.db import OperationalError, connection
from django.test import Client, override_settings
from django.utils import timezone

from contractor.config import health
from contractor.workqueue.models import Beat, WorkerProcess

pytestmark = pytest.mark.django_db


def test_alive_asks_nobody(django_assert_num_queries: object) -> None:
    with django_assert_num_queries(0):
        assert Client().get("/healthz/live").json() == {"live": True}


@override_settings(GROWN=False)
def test_ready_embedded_is_database_broker_and_a_living_worker() -> None:
    answer = Client().get("/healthz/ready")
    assert (answer.status_code, answer.json()["worker"]) == (503, False)
    worker = WorkerProcess.objects.create(name="a 1", lanes="bulk,house", heard_at=timezone.now())
    assert Client().get("/healthz/ready").status_code == 503, "nobody takes what people wait for"
    worker.lanes = "bulk,house,soon"
    worker.save()
    everything = {"ready": True, "database": True, "broker": True, "worker": True}
    answer = Client().get("/healthz/ready")
    assert (answer.status_code, answer.json()) == (200, everything)
    worker.heard_at -= settings.WORK_LOST_AFTER + dt.timedelta(seconds=1)
    worker.save()
    assert Client().get("/healthz/ready").status_code == 503, "it has fallen silent"


@override_settings(GROWN=True)
def test_ready_grown_wants_a_sweeper_that_ran_lately() -> None:
    assert Client().get("/healthz/ready").status_code == 503
    beat = Beat.objects.create(name="sweep", at=timezone.now())
    assert Client().get("/healthz/ready").status_code == 200
    beat.at -= dt.timedelta(minutes=2)
    beat.save()
    answer = Client().get("/healthz/ready")
    assert (answer.status_code, answer.json()["sweeper"]) == (503, False)


def test_without_its_database_it_is_alive_but_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    def away(*args: object) -> None:
        raise OperationalError("host db1")

    monkeypatch.setattr(connection, "cursor", away)
    answer = Client().get("/healthz/ready")
    assert (answer.status_code, answer.json()["database"]) == (503, False)
    assert "db1" not in answer.content.decode()
    assert Client().get("/healthz/live").status_code == 200


def test_without_its_broker_it_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(health, "broker_answers", lambda: False)
    assert Client().get("/healthz/ready").status_code == 503


def test_health_is_kept_by_no_cache() -> None:
    assert "no-store" in Client().get("/healthz/ready")["Cache-Control"]


@pytest.mark.parametrize("address", ["/healthz", "/healthz/"])
def test_the_address_without_a_question_names_the_two(address: str) -> None:
    answer = Client().get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/plain")
    assert "/healthz/live" in answer.content.decode()
    assert "/healthz/ready" in answer.content.decode()
