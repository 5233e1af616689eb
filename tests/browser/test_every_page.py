"""What holds for every page of every role: no console errors, nothing that axe finds in either scheme, no
horizontal scroll at 320 px, every control reachable by keyboard and in sight when it has the focus."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright

from tests.browser import axe, paper
from tests.browser.house import House
from tests.browser.phone import Hand, hand
from tests.browser.shown import Shown, every_page

pytestmark = pytest.mark.needs_browser
Opens = Callable[[Shown], Hand]
SCRIPTED = ("/crew/", "/t/")  # what else has a script is whole without it
OVERFLOW = "document.scrollingElement.scrollWidth - document.documentElement.clientWidth"
CONTROLS = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']"
REACHABLE = """() => [...document.querySelectorAll("%s")].filter(e =>
    !e.disabled && e.tabIndex >= 0 && e.checkVisibility({visibilityProperty: true}) &&
    !(e.closest('details:not([open])') && e.tagName !== 'SUMMARY'))"""
# day, month, year, hour, minute, and what opens the calendar: each part of a date is a stop of its own
PARTS = (
    "document.querySelectorAll('input[type=date], input[type=time], input[type=datetime-local]').length * 6"
)
# looked at as the next key goes down: what has the focus is scrolled to its place by then
WATCH = """() => {
    window.coveredWhileFocused = [];
    const look = () => {
        const e = document.activeElement, box = e.getBoundingClientRect();
        const x = Math.min(Math.max(box.left + box.width / 2, 0), innerWidth - 1);
        const y = Math.min(Math.max(box.top + Math.min(box.height, 20) / 2, 0), innerHeight - 1);
        const top = document.elementFromPoint(x, y);
        const label = [...(e.labels || [])].some(l => l.contains(top));
        const seen = !!top && (e === top || e.contains(top) || top.contains(e) || label);
        if (!e.dataset.met) e.dataset.met = '1';
        if (e !== document.body && !seen) window.coveredWhileFocused.push(e.outerHTML.slice(0, 120));
    };
    window.addEventListener('keydown', look, true);
    document.activeElement.blur();
    window.scrollTo(0, 0);
}"""
TAB = {"type": "rawKeyDown", "key": "Tab", "code": "Tab", "windowsVirtualKeyCode": 9}


@pytest.fixture(scope="module")
def opens(playwright: Playwright, _house: House, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opens]:
    """One browser a person, kept open for all their pages."""
    hands: dict[str, Hand] = {}
    closers = []

    def open_page(page: Shown) -> Hand:
        if page.who not in hands:
            kept = hand(playwright.chromium, Path(tmp_path_factory.mktemp("profile")), _house.address)
            closers.append(kept)
            hands[page.who] = kept.__enter__()
            if page.who:
                hands[page.who].signs_in(f"{page.who}@example.org")
        found = hands[page.who]
        found.complaints.clear()
        go = found.settles_at if page.path.startswith(SCRIPTED) else found.goes_to
        go(page.address(_house.world))
        if page.then:
            found.page.evaluate(page.then)
        return found

    yield open_page
    for kept in closers:
        kept.__exit__(None, None, None)


def tab_through(page: Page) -> tuple[list[str], list[str]]:
    """Controls never reached by Tab, and those that something covers while they have the focus."""
    wanted = page.evaluate(f"({REACHABLE % CONTROLS})().length + {PARTS}")
    page.evaluate(WATCH)
    keys = page.context.new_cdp_session(page)
    for _ in range(wanted + 6):
        keys.send("Input.dispatchKeyEvent", TAB)
    keys.detach()
    covered = page.evaluate("window.coveredWhileFocused")
    missed = page.evaluate(
        f"""({REACHABLE % CONTROLS})().filter(e => !e.dataset.met &&
            !(e.type === 'radio' && [...document.getElementsByName(e.name)].some(o => o.dataset.met)))
            .map(e => e.outerHTML.slice(0, 120))"""
    )
    return missed, covered


@pytest.mark.parametrize("page", every_page(), ids=lambda page: page.name)
def test_a_page_is_sound(page: Shown, opens: Opens) -> None:
    person = opens(page)
    refused = f"status of {page.status}"
    assert [words for words in person.complaints if page.status == 200 or refused not in words] == []
    assert axe.violations(person.page, "light", "dark") == []
    for scheme in ("light", "dark"):
        assert paper.faults(person.page, scheme) == [], scheme
    missed, covered = tab_through(person.page)
    assert (missed, covered) == ([], [])
    person.page.set_viewport_size({"width": 320, "height": 640})
    try:
        assert person.page.evaluate(OVERFLOW) <= 0, "scrolls sideways at 320 px"
    finally:
        person.page.set_viewport_size({"width": 390, "height": 844})
