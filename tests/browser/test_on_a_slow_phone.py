"""What an old phone does to one who is in a hurry: scripts that come late, photos that take long, no room
left, a button hit by mistake."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from playwright.sync_api import Dialog, Page, Route, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import Hand
from tests.browser.test_kept_on_the_phone import SENT_MS, everything_is_sent, photo, picture, unit_page

pytestmark = pytest.mark.needs_browser
FULL = "() => { throw new DOMException('no room', 'QuotaExceededError'); }"


def reading_path(house: House, which: str = "first", visit: str = "?visit={}") -> str:
    of_today = visit.format(house.world["visits"]["today"])
    return f"/crew/exchangers/{house.world['exchangers'][which]}/reading/{of_today}"


def at_the_form(tech: Hand, path: str) -> Page:
    page = tech.goes_to(path)
    page.locator("#reading[data-ready=yes]").wait_for()
    return page


def answers(page: Page, yes: bool) -> list[str]:
    """What is asked from now on, and answered so."""
    asked: list[str] = []

    def hear(dialog: Dialog) -> None:
        asked.append(dialog.message)
        (dialog.accept if yes else dialog.dismiss)()

    page.once("dialog", hear)
    return asked


def held_back(page: Page, what: str) -> Callable[[], None]:
    """What is asked for under this address waits until the function that is given back is called."""
    waiting: list[Route] = []
    free: list[bool] = []
    page.route(what, lambda route: route.continue_() if free else waiting.append(route))

    def let_go() -> None:
        free.append(True)
        for route in waiting:
            route.continue_()

    return let_go


def test_a_tap_before_the_scripts_have_come_loses_nothing(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org", service_workers="block")
    let_go = held_back(tech.page, "**/web/crew/*.js")
    page = tech.goes_to(reading_path(house), wait_until="commit")
    page.locator("#entering_water").fill("85.9")
    page.get_by_role("button", name="Save the readings").click(no_wait_after=True)
    page.wait_for_timeout(500)
    assert page.url.endswith(reading_path(house)), "the form went nowhere"
    let_go()
    page.locator("#reading[data-ready=yes]").wait_for()
    expect(page.locator("#entering_water")).to_have_value("85.9")


def test_a_large_photo_goes_with_the_finding_that_is_saved_at_once(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = unit_page(tech, house)
    page.locator("#note").fill("Saved before the photo was small")
    page.set_input_files("#photo", photo("IMG_9.jpg", picture(3600, 2700, noise=True)))
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#finding > .said")).to_contain_text("it goes to the office", timeout=SENT_MS)
    everything_is_sent(page)
    question = "SELECT photo FROM visits_finding WHERE note='Saved before the photo was small'"
    [(kept,)] = house.rows(question)
    assert kept


def test_a_phone_without_room_says_so_and_leaves_what_is_typed(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    tech.page.add_init_script(f"IDBObjectStore.prototype.put = IDBObjectStore.prototype.add = {FULL};")
    page = at_the_form(tech, reading_path(house))
    page.locator("#entering_water").fill("88.8")
    expect(page.locator("#reading > .said")).to_contain_text("no room")
    page.locator("#leaving_water").fill("97.7")
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#reading > .said")).to_contain_text("Leave this page open")
    expect(page.locator("#entering_water")).to_have_value("88.8")
    assert house.rows("SELECT count(*) FROM visits_reading WHERE as_typed LIKE '%88.8%'") == [(0,)]


def test_what_is_typed_is_not_cleared_by_one_tap(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = at_the_form(tech, reading_path(house))
    page.locator("#entering_water").fill("86.1")
    asked = answers(page, yes=False)
    page.get_by_role("button", name="Clear what is typed").click()
    assert asked == ["Clear all that is typed here? It cannot be brought back."]
    expect(page.locator("#entering_water")).to_have_value("86.1")
    answers(page, yes=True)
    page.get_by_role("button", name="Clear what is typed").click()
    expect(page.locator("#entering_water")).to_have_value("")


def test_what_was_typed_without_a_visit_is_offered_once_one_is_open(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = at_the_form(tech, reading_path(house, visit=""))
    expect(page.locator("[data-no-visit]")).to_contain_text("No visit of yours is open here")
    page.locator("#head_pressure").fill("371.5")
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#reading > .said")).to_contain_text("No visit is open here")
    at_the_form(tech, reading_path(house))
    expect(page.locator("[data-no-visit]")).to_be_hidden()
    page.locator("#leaving_water").fill("95.4")
    page.get_by_role("button", name="Put it into the form").click()
    expect(page.locator("#head_pressure")).to_have_value("371.5")
    expect(page.locator("#leaving_water")).to_have_value("95.4")
    expect(page.locator("#early")).to_be_hidden()
    page.locator("#reading[data-ready=yes]").wait_for()
    answers(page, yes=True)
    page.get_by_role("button", name="Clear what is typed").click()


def test_the_answer_that_stays_is_that_of_what_was_saved_last(gives: Gives, house: House) -> None:
    """Two readings of one exchanger saved without a signal; the first one's answer comes late."""
    tech = gives("tech@example.org")
    page = at_the_form(tech, reading_path(house, "second"))
    house.stop_server()
    tech.expects_no_signal = True
    for text in ("83.1", "83.2"):
        page.locator("#entering_water").fill(text)
        page.get_by_role("button", name="Save the readings").click()
        expect(page.locator("#entering_water")).to_have_value("")
        page.wait_for_timeout(800)  # a second tap at once means nothing
    late: list[Route] = []
    page.route("**/crew/readings/*/told/", lambda route: route.continue_() if late else late.append(route))
    house.start_server()
    everything_is_sent(page)
    [(last, typed)] = house.rows("SELECT id, as_typed FROM visits_reading ORDER BY received_at DESC LIMIT 1")
    assert json.loads(typed)["entering_water"]["value"] == "83.2"
    answer = page.locator("#answer")
    expect(page.locator("#answer[data-ranked]")).to_be_visible(timeout=60_000)
    assert last not in late[0].request.url.replace("-", ""), "the one held back is the first"
    late[0].continue_()
    page.wait_for_timeout(1500)
    assert (answer.get_attribute("data-answered") or "").replace("-", "") == last
    expect(answer.locator("h2")).to_have_count(1)
