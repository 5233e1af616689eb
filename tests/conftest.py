"""The fixed cast for every test, and no skip where a service is missing."""

from __future__ import annotations

import pytest
from django.conf import settings

pytest_plugins = ["tests.cast"]


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("needs_services") and not (settings.DATABASE_URL and settings.REDIS_URL):
        pytest.fail("this test needs PostgreSQL and Redis: set DATABASE_URL and REDIS_URL")
