"""Each check of the settings, by its id, once where it speaks and once where it is silent."""

from __future__ import annotations

from typing import Any

import pytest
import redis
from django.conf import settings
from django.core.checks import run_checks
from django.test import override_settings

from contractor.config import sqlite

EMBEDDED = sqlite.database(settings.VAR_DIR)


def found(identifier: str, **options: Any) -> bool:
    messages = [message for message in run_checks(**options) if message.id == identifier]
    assert all(message.hint for message in messages)
    return bool(messages)


@pytest.mark.parametrize(
    ("version", "affected"),
    [
        # sqlite.org/wal.html on the WAL-reset bug: 3.7.0 to 3.51.2; fixed in 3.51.3, 3.50.7 and 3.44.6
        ((3, 6, 23), False),
        ((3, 7, 0), True),
        ((3, 40, 1), True),
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 45, 0), True),
        ((3, 46, 1), True),
        ((3, 50, 6), True),
        ((3, 50, 7), False),
        ((3, 51, 0), True),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((3, 52, 0), False),
        ((3, 53, 4), False),
        ((4, 0, 0), False),
    ],
)
def test_which_sqlite_libraries_have_the_wal_reset_bug(version: sqlite.Version, affected: bool) -> None:
    assert sqlite.has_wal_reset_bug(version) == affected


@pytest.mark.parametrize(("version", "journal"), [((3, 40, 1), "DELETE"), ((3, 51, 3), "WAL")])
def test_the_journal_is_wal_only_where_the_library_is_sound(
    monkeypatch: pytest.MonkeyPatch, version: sqlite.Version, journal: str
) -> None:
    monkeypatch.setattr(sqlite, "library_version", lambda: version)
    assert f"journal_mode={journal};" in sqlite.database(settings.VAR_DIR)["OPTIONS"]["init_command"]


def test_config_e001_wal_on_an_affected_library(monkeypatch: pytest.MonkeyPatch) -> None:
    database = {**EMBEDDED, "OPTIONS": {"init_command": "PRAGMA journal_mode=WAL;"}}
    monkeypatch.setitem(settings.DATABASES, "default", database)
    monkeypatch.setattr(sqlite, "library_version", lambda: (3, 40, 1))
    assert found("config.E001")
    monkeypatch.setattr(sqlite, "library_version", lambda: (3, 51, 3))
    assert not found("config.E001")


@pytest.mark.parametrize("options", [{}, {"transaction_mode": "IMMEDIATE", "timeout": 5}, {"timeout": 20}])
def test_config_e002_sqlite_that_does_not_wait_for_its_lock(
    monkeypatch: pytest.MonkeyPatch, options: dict[str, Any]
) -> None:
    monkeypatch.setitem(settings.DATABASES, "default", {**EMBEDDED, "OPTIONS": options})
    assert found("config.E002")
    monkeypatch.setitem(settings.DATABASES, "default", EMBEDDED)
    assert not found("config.E002")


def test_config_w003_half_grown() -> None:
    with override_settings(GROWN=True, DATABASE_URL="postgresql://db/x", REDIS_URL=""):
        assert found("config.W003")
    with override_settings(GROWN=True, DATABASE_URL="postgresql://db/x", REDIS_URL="redis://r/0"):
        assert not found("config.W003")


def test_config_e004_debug() -> None:
    assert not found("config.E004")
    with override_settings(DEBUG=True):
        assert found("config.E004")


def test_config_e005_any_host() -> None:
    with override_settings(ALLOWED_HOSTS=["*"]):
        assert found("config.E005")
    with override_settings(ALLOWED_HOSTS=["waterside.example"]):
        assert not found("config.E005")


def test_config_w006_grown_without_https() -> None:
    with override_settings(GROWN=True, HTTPS=False):
        assert found("config.W006")
    with override_settings(GROWN=True, HTTPS=True):
        assert not found("config.W006")


def test_config_e007_work_longer_than_the_broker_waits() -> None:
    with override_settings(CELERY_BROKER_TRANSPORT_OPTIONS={"visibility_timeout": 300}):
        assert found("config.E007")
    with override_settings(CELERY_BROKER_TRANSPORT_OPTIONS={"visibility_timeout": 600}):
        assert not found("config.E007")


def test_config_e008_heartbeats_too_far_apart() -> None:
    assert not found("config.E008")
    with override_settings(WORK_HEARTBEAT_S=20):
        assert found("config.E008")


def test_config_w009_a_redis_that_cannot_be_asked() -> None:
    with override_settings(REDIS_URL="redis://127.0.0.1:1/0"):
        assert found("config.W009", include_deployment_checks=True)
        assert not found("config.W009")


@pytest.mark.parametrize(
    ("policy", "append", "w010", "w011"),
    [
        ("noeviction", "yes", False, False),
        ("allkeys-lru", "yes", True, False),
        ("noeviction", "no", False, True),
    ],
)
def test_config_w010_and_w011_a_redis_that_forgets(
    monkeypatch: pytest.MonkeyPatch, policy: str, append: str, w010: bool, w011: bool
) -> None:
    answers = {"maxmemory-policy": policy, "appendonly": append}
    monkeypatch.setattr(redis.Redis, "config_get", lambda self, name: {name: answers[name]})
    with override_settings(REDIS_URL="redis://127.0.0.1:6379/0"):
        assert found("config.W010", include_deployment_checks=True) == w010
        assert found("config.W011", include_deployment_checks=True) == w011


@override_settings(HTTPS=True)
def test_the_settings_as_they_are_pass_every_check() -> None:
    assert [message for message in run_checks() if message.level >= 30] == []
