"""The fixed cast for every test; no skip where a service is missing, no store in rooms that keep nothing."""

from __future__ import annotations

import re

import pytest
from django.conf import settings

from tests.tree import ROOT

pytest_plugins = ["tests.cast"]

STORES = {"db", "transactional_db", "live_server"}


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("needs_services") and not (settings.DATABASE_URL and settings.REDIS_URL):
        pytest.fail("this test needs PostgreSQL and Redis: set DATABASE_URL and REDIS_URL")


def rooms_that_keep_nothing() -> list[str]:
    """The folders that .ci/run runs once, not on either database."""
    named = re.search(r"^keeps_nothing=\((.+)\)$", (ROOT / ".ci" / "run").read_text(), re.MULTILINE)
    assert named, ".ci/run names no rooms that keep nothing"
    return named[1].split()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    rooms = [ROOT / room for room in rooms_that_keep_nothing()]
    for item in items:
        if any(item.path.is_relative_to(room) for room in rooms):
            asked = STORES & set(getattr(item, "fixturenames", ()))
            if asked or item.get_closest_marker("django_db") or item.get_closest_marker("needs_services"):
                raise pytest.UsageError(f"{item.nodeid} opens a database: .ci/run runs its room once only")
