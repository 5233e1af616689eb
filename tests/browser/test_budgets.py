"""What pages cost: bytes over the wire, script, server time."""

from __future__ import annotations

import os
import re
import time
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Playwright, expect

from tests.browser.desk_pages import PAGES as DESK
from tests.browser.house import House
from tests.browser.phone import Hand, hand
from tests.browser.proxy import Passed
from tests.browser.shown import Shown
from tests.browser.technician_pages import PAGES

pytestmark = pytest.mark.needs_browser
KB = 1000
MOST_BYTES, MOST_SCRIPT_BYTES = 150 * KB, 40 * KB
MOST_SERVER_S = 0.1
PER_ROUND, MOST_ROUNDS = 6, 5
QUIET_MS = 600


@pytest.fixture(scope="module")
def tech(playwright: Playwright, _house: House, tmp_path_factory: pytest.TempPathFactory) -> Hand:
    """Without a service worker and with an empty cache: everything comes over the wire."""
    profile = Path(tmp_path_factory.mktemp("profile"))
    kept = hand(playwright.chromium, profile, _house.address, service_workers="block")
    with kept as found:
        found.signs_in("tech@example.org")
        yield found


def unpacked(path: str) -> int:
    """Bytes of one of our scripts as it is written, whatever it takes on the wire."""
    name = re.sub(r"\.[0-9a-f]{12}\.js$", ".js", path.removeprefix("/static/"))
    return (Path(settings.BASE_DIR) / "contractor" / "web" / "static" / name).stat().st_size


def came_with(page: Shown, tech: Hand, house: House) -> list[Passed]:
    """What the page fetched, into an empty cache."""
    tech.context.new_cdp_session(tech.page).send("Network.clearBrowserCache")
    tech.goes_to("/healthz/live")
    passed = house.proxy.line.passed
    before = len(passed)
    tech.goes_to(page.address(house.world))
    if page.then:
        tech.page.evaluate(page.then)
    quiet(tech, passed)
    return passed[before:]


def quiet(tech: Hand, passed: list[Passed]) -> None:
    """Until nothing more comes."""
    seen = -1
    while seen != len(passed):
        seen = len(passed)
        tech.page.wait_for_timeout(QUIET_MS)


def scripts_of(came: list[Passed]) -> set[str]:
    return {path for path in (one.path.split("?")[0] for one in came) if path.endswith(".js")}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_is_light(page: Shown, tech: Hand, house: House) -> None:
    came = came_with(page, tech, house)
    scripts = scripts_of(came)
    sent = sum(one.sent_bytes for one in came if one.path.split("?")[0] in scripts)
    assert came and sent > 3 * KB, "the page's own script came over the wire"
    assert sent <= MOST_SCRIPT_BYTES, f"{sent} bytes of script on the wire"
    written = sum(unpacked(path) for path in scripts)
    assert written <= MOST_SCRIPT_BYTES, f"{written} bytes as written: {sorted(scripts)}"
    assert sum(one.sent_bytes for one in came) <= MOST_BYTES, [(one.path, one.sent_bytes) for one in came]


def test_every_screen_of_a_descale_is_measured(tech: Hand, house: House) -> None:
    tech.settles_at(f"/crew/descales/{house.world['descale']}/")
    there = tech.page.locator("[data-screen]").evaluate_all("(screens) => screens.map((one) => one.id)")
    assert there and {page.path.split("#")[-1] for page in PAGES if "#" in page.path} == set(there)


def test_a_look_that_is_recorded_brings_no_more_script_than_a_page_may_have(tech: Hand, house: House) -> None:
    """What the service answers brings scripts of its own."""
    tank = next(page for page in PAGES if page.path.endswith("#tank"))
    before = len(house.proxy.line.passed)
    came_with(tank, tech, house)
    tech.page.locator("#look[data-ready=yes]").wait_for()
    tech.page.locator("#ph").fill("1.9")
    tech.page.get_by_role("button", name="Record the look").click()
    expect(tech.page.locator("#look > .said")).to_contain_text("Kept on this phone")
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent")
    quiet(tech, house.proxy.line.passed)
    scripts = scripts_of(house.proxy.line.passed[before:])
    assert any("standing" in path for path in scripts), "the service was asked how it stands"
    assert sum(unpacked(path) for path in scripts) <= MOST_SCRIPT_BYTES, sorted(scripts)


@pytest.fixture(scope="module")
def cookies_of(playwright: Playwright, _house: House, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The cookies of each who is signed in; nobody has none."""
    known = {"": ""}

    def give(who: str) -> str:
        if who not in known:
            profile = Path(tmp_path_factory.mktemp("profile"))
            with hand(playwright.chromium, profile, _house.address, service_workers="block") as found:
                found.signs_in(f"{who}@example.org")
                cookies = found.context.cookies()
            known[who] = "; ".join(f"{one['name']}={one['value']}" for one in cookies)
        return known[who]

    return give


def processor_s(house: House) -> float:
    """What the server's process has used of the processor so far [s]: proc(5), utime and stime."""
    words = Path(f"/proc/{house.processes['server'].pid}/stat").read_text().rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


def asked(page: Shown, cookies: str, house: House, times: int = 9) -> list[float]:
    """How long each answer took by the clock [s]."""
    address = f"http://localhost:{house.port}{page.address(house.world).split('#')[0]}"
    took = []
    for _ in range(times):
        began = time.monotonic()
        with urllib.request.urlopen(urllib.request.Request(address, headers={"Cookie": cookies})) as answer:
            answer.read()
        took.append(time.monotonic() - began)
    return took


# the server hears nothing of screens, nor of what is typed
CREW = {page.path.split("#")[0]: page for page in PAGES if not page.then}
IN_TURN = [*CREW.values(), *(page for page in DESK if page.status == 200)]


@pytest.mark.needs_quiet
@pytest.mark.parametrize("page", IN_TURN, ids=lambda page: page.name)
def test_the_server_spends_little_on_a_page(page: Shown, cookies_of: Any, house: House) -> None:
    """By the processor's time. What runs beside it takes caches and half a core away, which only ever adds:
    .ci/run has it alone, and the least of a few rounds is the page's own.

    By the clock and on the demo's register by name: python -m tests.benchmarks.pages
    """
    cookies, spent = cookies_of(page.who), []
    asked(page, cookies, house, 2)
    while len(spent) < MOST_ROUNDS and min(spent, default=MOST_SERVER_S + 1) > MOST_SERVER_S:
        before = processor_s(house)
        asked(page, cookies, house, PER_ROUND)
        spent.append((processor_s(house) - before) / PER_ROUND)
    assert min(spent) <= MOST_SERVER_S, spent
