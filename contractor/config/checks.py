"""What is wrong with the settings, each with an id and a hint. What asks Redis runs with `check --deploy`."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register

from contractor.config import sqlite


@register(Tags.database)
def sqlite_journal_is_sound(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    database = settings.DATABASES["default"]
    if "sqlite" not in database["ENGINE"]:
        return []
    init = database.get("OPTIONS", {}).get("init_command", "").upper()
    if "WAL" in init and sqlite.has_wal_reset_bug(sqlite.library_version()):
        version = ".".join(map(str, sqlite.library_version()))
        return [
            Error(
                f"SQLite {version} can corrupt a database in WAL mode that two processes write.",
                hint="Use journal_mode=DELETE, or a library from 3.51.3 on (or 3.44.6, 3.50.7).",
                id="config.E001",
            )
        ]
    return []


@register(Tags.database)
def sqlite_transactions_take_their_lock_first(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    database = settings.DATABASES["default"]
    if "sqlite" not in database["ENGINE"]:
        return []
    options = database.get("OPTIONS", {})
    if options.get("transaction_mode") == "IMMEDIATE" and options.get("timeout", 0) >= 20:
        return []
    return [
        Error(
            "SQLite transactions do not take their lock at the start, or do not wait for it for 20 s.",
            hint="Leave DATABASE_URL empty for the embedded setting, or use PostgreSQL.",
            id="config.E002",
        )
    ]


@register()
def both_services_or_neither(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Several processes on several machines share neither a SQLite file nor a broker of files."""
    if not settings.GROWN or (settings.DATABASE_URL and settings.REDIS_URL):
        return []
    missing = "REDIS_URL" if settings.DATABASE_URL else "DATABASE_URL"
    return [
        Warning(
            f"Half grown: {missing} is not set, so its embedded stand-in under WATERSIDE_VAR is used.",
            hint=f"Set {missing} too, unless every process runs on this one machine.",
            id="config.W003",
        )
    ]


@register(Tags.security)
def nothing_is_shown_to_strangers(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    found: list[CheckMessage] = []
    if settings.DEBUG:
        found.append(Error("DEBUG is on: errors show their insides.", hint="Leave it off.", id="config.E004"))
    if "*" in settings.ALLOWED_HOSTS:
        hint = "Name the hosts in WATERSIDE_HOSTS, separated by commas."
        found.append(Error("Any host name is answered.", hint=hint, id="config.E005"))
    if settings.GROWN and not settings.HTTPS:
        hint = "Serve by https (WATERSIDE_HTTPS=yes, the default of the grown setting); phones need it too."
        found.append(Warning("Cookies and tokens travel in clear.", hint=hint, id="config.W006"))
    return found


@register()
def time_limits_are_in_order(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    found: list[CheckMessage] = []
    visible: Any = settings.CELERY_BROKER_TRANSPORT_OPTIONS.get("visibility_timeout")
    if visible is not None and visible <= settings.CELERY_TASK_TIME_LIMIT:
        hint = "Lower WATERSIDE_WORK_TIME_LIMIT."
        words = "Work may run longer than the broker waits before it hands it to another worker."
        found.append(Error(words, hint=hint, id="config.E007"))
    if settings.WORK_LOST_AFTER.total_seconds() < 3 * settings.WORK_HEARTBEAT_S:
        hint = "Make WATERSIDE_WORK_LOST_AFTER three times WATERSIDE_WORK_HEARTBEAT or more."
        words = "One late heartbeat and living work is taken for lost."
        found.append(Error(words, hint=hint, id="config.E008"))
    return found


@register("services", deploy=True)
def redis_keeps_what_it_is_given(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Asks Redis itself; says nothing where it cannot be asked."""
    if not settings.REDIS_URL:
        return []
    import redis

    try:
        with redis.Redis.from_url(settings.REDIS_URL, socket_timeout=3, socket_connect_timeout=2) as server:
            kept = dict(server.config_get("maxmemory-policy")) | dict(server.config_get("appendonly"))
    except redis.RedisError as exc:
        host = urlsplit(settings.REDIS_URL).hostname
        return [
            Warning(
                f"Redis on {host} could not be asked how it is set: {type(exc).__name__}.",
                hint="Make sure of `appendonly yes` and `maxmemory-policy noeviction` by hand.",
                id="config.W009",
            )
        ]
    found: list[CheckMessage] = []
    if kept.get("maxmemory-policy") != "noeviction":
        hint = "Set maxmemory-policy noeviction; the sweeper makes good what was thrown away, later."
        found.append(
            Warning("Redis throws messages away when its memory is full.", hint=hint, id="config.W010")
        )
    if kept.get("appendonly") != "yes":
        hint = "Set appendonly yes; the sweeper makes good what was forgotten, later."
        found.append(Warning("Redis forgets messages when it is restarted.", hint=hint, id="config.W011"))
    return found
