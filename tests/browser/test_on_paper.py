"""What is printed from a page: no navigation, no buttons, dark ink on white even from a dark screen."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser import paper
from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.media import turn

pytestmark = pytest.mark.needs_browser
BAD = """<html lang="en"><style>body { background: #111; } a { color: #9cf; }</style>
<main><nav>rooms</nav><p><a href="/">pale</a></p><button>press</button></main></html>"""


def test_what_prints_badly_is_found(gives: Gives) -> None:
    page = gives().page
    page.set_content(BAD)
    found = " ".join(paper.faults(page, "light"))
    for words in ("<nav>", "<button>", "the paper is not white", "pale ink"):
        assert words in found
    page.set_content("<html lang='en'><body></body></html>")
    assert "nothing is printed" in paper.faults(page, "light")


def test_a_page_on_a_dark_screen_is_dark_on_white_on_paper(gives: Gives, house: House) -> None:
    client = gives("client@example.org")
    page = client.goes_to(f"/client/units/{house.world['units']['first']}/")
    turn(page, color_scheme="dark")
    assert paper.faults(page, "dark") == []
    ink, paper_of = ("(e) => getComputedStyle(e).color", "(e) => getComputedStyle(e).backgroundColor")
    turn(page, media="print", color_scheme="dark")
    assert page.locator("nav").count() > 0 and page.locator("nav:visible").count() == 0
    assert page.locator("button").count() > 0 and page.locator("button:visible").count() == 0
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    body, link = page.locator("body"), page.locator("main a[href]:visible").first.element_handle()
    assert link is not None
    printed = [body.evaluate(paper_of), body.evaluate(ink), link.evaluate(ink)]
    turn(page, media="screen", color_scheme="dark")
    on_screen = [body.evaluate(paper_of), body.evaluate(ink), link.evaluate(ink)]
    assert printed[:2] == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    assert all(one != other for one, other in zip(printed, on_screen, strict=True)), "as on a dark screen"
