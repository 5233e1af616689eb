"""One thumb, gloves, sun: how large what is tapped is, and how far words stand off what is behind them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright

from tests.browser import axe
from tests.browser.house import House
from tests.browser.phone import Hand, hand
from tests.browser.shown import Shown
from tests.browser.technician_pages import PAGES

pytestmark = pytest.mark.needs_browser
LEAST_PX = 44  # WCAG 2.2, 2.5.5 (AAA): for gloves
# What is tapped, or the label or card that takes the tap for it. Links within a sentence may be smaller.
SMALL = """(least) => [...document.querySelectorAll('button, summary, select, textarea, input, a[href]')]
  .filter((one) => one.checkVisibility({visibilityProperty: true}) && !one.closest('details:not([open]) > :not(summary)'))
  .filter((one) => !(one.tagName === 'A' && [...one.parentNode.childNodes].some((near) => near.nodeType === 3 && near.textContent.trim())))
  .map((one) => [one, one.matches('[type=checkbox], [type=radio]') ? one.labels[0] || one : one.closest('.tap') || one])
  .filter(([, taken]) => taken.getBoundingClientRect().height < least && taken.getBoundingClientRect().height > 1)
  .map(([one, taken]) => `${Math.round(taken.getBoundingClientRect().height)} px: ${one.outerHTML.slice(0, 110)}`)"""  # noqa: E501


@pytest.fixture(scope="module")
def tech(playwright: Playwright, _house: House, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hand]:
    profile = Path(tmp_path_factory.mktemp("profile"))
    with hand(playwright.chromium, profile, _house.address) as found:
        found.signs_in("tech@example.org")
        yield found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_what_is_tapped_is_large_and_what_is_read_stands_out(page: Shown, tech: Hand, house: House) -> None:
    tech.settles_at(page.address(house.world))
    if page.then:
        tech.page.evaluate(page.then)
    assert tech.page.evaluate(SMALL, LEAST_PX) == []
    assert axe.pale(tech.page, "light", "dark") == []
