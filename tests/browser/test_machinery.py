"""The browser tests' own tools do what the others rely on."""

from __future__ import annotations

import urllib.request

import pytest

from tests.browser import axe
from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.test_every_page import OVERFLOW, tab_through

pytestmark = pytest.mark.needs_browser


def status_of(address: str) -> int:
    with urllib.request.urlopen(address, timeout=20) as answer:
        return int(answer.status)


def test_the_proxy_passes_what_the_server_says_and_closes_when_it_is_stopped(house: House) -> None:
    live = f"{house.address}/healthz/live"
    assert status_of(live) == 200
    house.stop_server()
    with pytest.raises(OSError):
        status_of(live)
    house.start_server()
    assert status_of(live) == 200


def test_a_lost_reply_was_carried_out_all_the_same(house: House) -> None:
    house.proxy.line.lose = lambda method, path: path == "/healthz/live"
    with pytest.raises(OSError):
        status_of(f"{house.address}/healthz/live")
    assert house.proxy.line.passed[-1].status == 200, "the server had answered"


def test_a_real_browser_comes_through(gives: Gives) -> None:
    page = gives().goes_to("/healthz/live")
    assert page.evaluate("navigator.userAgent").find("HeadlessChrome") >= 0


BAD = """<html lang="en"><title>t</title><main><h1>A</h1><img src="data:,">
<p style="color:#999;background:#fff">pale</p>
<div style="width:900px;height:1px">wide</div><button style="position:fixed;top:0;left:0">under</button>
<div style="position:fixed;top:0;left:0;width:400px;height:100px;background:#fff">over</div>
<input id="trap" aria-label="trap" onkeydown="event.preventDefault()"><button>never</button></main>"""


def test_the_checks_of_a_page_find_what_is_wrong(gives: Gives) -> None:
    page = gives().page
    page.set_content(BAD)
    found = " ".join(axe.violations(page))
    assert "image-alt" in found and "color-contrast" in found
    missed, covered = tab_through(page)
    assert any("never" in words for words in missed) and any("under" in words for words in covered)
    assert page.evaluate(OVERFLOW) > 0
