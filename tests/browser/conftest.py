"""Real headless Chromium against the real service. Nothing here uses the database of the other tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright, expect, sync_playwright

from tests.browser import house as houses
from tests.browser.house import House
from tests.browser.phone import Hand, hand

Gives = Callable[..., Hand]
expect.set_options(timeout=15_000)


@pytest.fixture(scope="package")
def _house() -> Iterator[House]:
    with houses.running() as found:
        yield found


@pytest.fixture(scope="package")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as found:
        yield found


@pytest.fixture
def house(_house: House) -> Iterator[House]:
    """The house with everything running, and left so."""
    yield _house
    _house.proxy.restore()
    if "server" not in _house.processes:
        _house.start_server()


@pytest.fixture
def gives(playwright: Playwright, house: House, tmp_path: Path) -> Iterator[Gives]:
    """gives("tech@example.org") is a signed-in browser of a phone's size; "" is nobody's."""
    with ExitStack() as stack:

        def give(email: str = "", **options: Any) -> Hand:
            profile = options.pop("profile", tmp_path / f"profile-{email or 'nobody'}")
            found = stack.enter_context(hand(playwright.chromium, profile, house.address, **options))
            if email:
                found.signs_in(email)
            return found

        yield give
