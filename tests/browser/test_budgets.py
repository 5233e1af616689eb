"""What pages cost: bytes over the wire, script, server time, and the wait for an answer."""

from __future__ import annotations

import os
import re
import time
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Playwright

from tests.benchmarks import phones
from tests.browser.desk_pages import PAGES as DESK
from tests.browser.house import House
from tests.browser.phone import Hand, hand
from tests.browser.shown import Shown
from tests.browser.technician_pages import PAGES

pytestmark = pytest.mark.needs_browser
KB = 1000
MOST_BYTES, MOST_SCRIPT_BYTES = 150 * KB, 40 * KB
MOST_SERVER_S = 0.1
ANSWERED_BESIDE_OTHER_TESTS_WITHIN_S = 15.0
CREW = [page for page in PAGES if not page.then and "#" not in page.path] + [
    page for page in PAGES if page.path.endswith("#tank")
]


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


@pytest.mark.parametrize("page", CREW, ids=lambda page: page.name)
def test_a_page_is_light(page: Shown, tech: Hand, house: House) -> None:
    tech.context.new_cdp_session(tech.page).send("Network.clearBrowserCache")
    tech.goes_to("/healthz/live")
    passed = house.proxy.line.passed
    before = len(passed)
    tech.settles_at(page.address(house.world))
    came = passed[before:]
    scripts = {one.path.split("?")[0] for one in came if one.path.split("?")[0].endswith(".js")}
    sent = sum(one.sent_bytes for one in came if one.path.split("?")[0] in scripts)
    assert came and sent > 3 * KB, "the page's own script came over the wire"
    assert sent <= MOST_SCRIPT_BYTES, f"{sent} bytes of script on the wire"
    written = sum(unpacked(path) for path in scripts)
    assert written <= MOST_SCRIPT_BYTES, f"{written} bytes as written: {sorted(scripts)}"
    assert sum(one.sent_bytes for one in came) <= MOST_BYTES, [(one.path, one.sent_bytes) for one in came]


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


IN_TURN = [*CREW, *(page for page in DESK if not page.missing)]


@pytest.mark.parametrize("page", IN_TURN, ids=lambda page: page.name)
def test_the_server_spends_little_on_a_page(page: Shown, cookies_of: Any, house: House) -> None:
    """By the processor's time, since other tests share the machine.

    By the clock and on the demo's register by name: python -m tests.benchmarks.pages
    """
    cookies = cookies_of(page.who)
    asked(page, cookies, house, 2)
    before = processor_s(house)
    asked(page, cookies, house, 10)
    assert (processor_s(house) - before) / 10 <= MOST_SERVER_S


def test_three_phones_get_their_answers(tech: Hand, house: House) -> None:
    """One of them on its screen, on a machine that other tests share.

    Ten against three seconds, on a machine of their own, by name: python -m tests.benchmarks.phones
    """
    seen, beside = phones.measure(house, 3, 4, tech)
    assert (len(seen), len(beside)) == (4, 8)
    took = [one.answered_s for one in (*seen, *beside)]
    assert phones.percentile_95(took) < ANSWERED_BESIDE_OTHER_TESTS_WITHIN_S, [round(one, 2) for one in took]
