"""Settings come from the environment; a bad value stops the start with its name."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

SHOW = "from contractor.config import settings as s; print(({}))"


def start(tmp_path: Path, show: str = "1", **environment: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, "-c", SHOW.format(show)],
        env={**kept, "WATERSIDE_VAR": str(tmp_path), **environment},
        cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
    )  # fmt: skip


SECRET = "s" * 50
GROWN = {
    "DATABASE_URL": "postgresql://db/waterside",
    "REDIS_URL": "redis://redis/0",
    "WATERSIDE_SECRET_KEY": SECRET,
}


def test_nothing_set_is_the_embedded_setting(tmp_path: Path) -> None:
    shown = start(
        tmp_path, "s.GROWN, s.CELERY_BROKER_URL, s.DATABASES['default']['ENGINE'], s.HTTPS, s.DEBUG"
    )
    assert shown.stdout.strip() == "(False, 'files://localhost', 'django.db.backends.sqlite3', False, False)"


def test_two_addresses_are_the_grown_setting(tmp_path: Path) -> None:
    shown = start(
        tmp_path, "s.GROWN, s.CELERY_BROKER_URL, s.DATABASES['default']['ENGINE'], s.HTTPS", **GROWN
    )
    assert shown.stdout.strip() == "(True, 'redis://redis/0', 'django.db.backends.postgresql', True)"


def test_the_grown_setting_has_no_default_secret(tmp_path: Path) -> None:
    told = start(tmp_path, **{**GROWN, "WATERSIDE_SECRET_KEY": ""})
    assert told.returncode != 0
    assert "WATERSIDE_SECRET_KEY is not set" in told.stderr


def test_the_embedded_setting_makes_a_secret_of_its_own_and_keeps_it_to_itself(tmp_path: Path) -> None:
    first, second = (start(tmp_path, "s.SECRET_KEY").stdout for _ in range(2))
    assert first == second
    assert len(first.strip()) >= 50
    assert stat.S_IMODE((tmp_path / "secret_key").stat().st_mode) == 0o600
    assert start(tmp_path / "another", "s.SECRET_KEY").stdout != first


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("WATERSIDE_SECRET_KEY", "short"),
        ("WATERSIDE_HTTPS", "perhaps"),
        ("WATERSIDE_WORK_TIME_LIMIT", "five minutes"),
        ("WATERSIDE_PROXIES", "one"),
        ("WATERSIDE_PROXIES", "-1"),
        ("WATERSIDE_TOKEN_DAYS", "-4"),
        ("WATERSIDE_MAX_FILES_MB", "0"),
        ("WATERSIDE_WORK_MAX_ATTEMPTS", "0"),
        ("WATERSIDE_VAR", "/proc/nope"),
        ("DATABASE_URL", "oracle://x"),
        ("DATABASE_URL", "postgresql://name:secretword@h:99x/x"),
        ("DATABASE_URL", "postgresql://name:secretword@[h/x"),
        ("DATABASE_URL", "postgresql:///"),
        ("REDIS_URL", "foo"),
        ("REDIS_URL", "redis://"),
    ],
)
def test_a_bad_value_stops_the_start_with_its_name(tmp_path: Path, name: str, value: str) -> None:
    told = start(tmp_path, **{name: value})
    assert told.returncode != 0
    last = told.stderr.strip().splitlines()[-1]
    assert name in last
    assert "expected" in last
    assert SECRET not in told.stderr
    assert "secretword" not in told.stderr


def test_a_number_that_must_be_positive_says_from_where_on(tmp_path: Path) -> None:
    told = start(tmp_path, WATERSIDE_TOKEN_DAYS="-4").stderr
    assert "WATERSIDE_TOKEN_DAYS is '-4'; expected a whole number, 1 or more" in told


def test_cookies_are_bound_to_https_and_host_where_it_is_served(tmp_path: Path) -> None:
    shown = start(tmp_path, "s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE", **GROWN)
    assert shown.stdout.strip() == "('__Host-session', '__Host-csrf', True)"


def test_celery_is_set_as_at_least_once_delivery_wants() -> None:
    """Where these come from: Celery's own documentation of each, and what redeliveries showed."""
    expected = {
        "ACKS_LATE": True,
        "REJECT_ON_WORKER_LOST": True,
        "RETRY_ON_WORKER_LOST": True,
        "IGNORE_RESULT": True,
        "SERIALIZER": "json",
    }
    assert {name: getattr(settings, f"CELERY_TASK_{name}") for name in expected} == expected
    assert settings.CELERY_ACCEPT_CONTENT == ["json"]
    assert settings.CELERY_WORKER_PREFETCH_MULTIPLIER == 1


def test_a_hung_redis_cannot_hold_a_request_for_long(tmp_path: Path) -> None:
    shown = start(
        tmp_path,
        "[s.CELERY_BROKER_TRANSPORT_OPTIONS[n] for n in ('socket_timeout', 'socket_connect_timeout', "
        "'visibility_timeout', 'unacked_restore_interval', 'unacked_restore_throttle')], s.WORK_TIME_LIMIT_S",
        **GROWN,
    )
    assert shown.stdout.strip() == "([5, 2, 600, 5, 1], 300)"
