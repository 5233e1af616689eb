"""A photo taken with a look is that look's photo; one that is refused does not hold the look back."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.test_kept_on_the_phone import photo, picture

pytestmark = pytest.mark.needs_browser
NOT_YOURS = (
    '{"type": "about:blank", "status": 403, "title": "Forbidden", "detail": "You are not of this crew."}'
)


def tank(gives: Gives, house: House) -> Page:
    tech = gives("tech@example.org")
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#tank")
    page.locator("#look[data-ready=yes]").wait_for()
    tech.expects_no_signal = True  # a refusal is written to the console
    return page


def take(page: Page, ph: str) -> None:
    page.locator("#ph").fill(ph)
    page.locator("#look-photo").set_input_files(photo("bath.jpg", picture()))  # type: ignore[arg-type]
    expect(page.locator("#look > .said")).to_contain_text("The photo bath.jpg is kept on this phone.")
    page.get_by_role("button", name="Record the look").click()
    expect(page.locator("#look > .said")).to_contain_text("Kept on this phone")


def test_the_photo_taken_with_a_look_becomes_that_looks_photo(gives: Gives, house: House) -> None:
    page = tank(gives, house)
    take(page, "1.31")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    [(kind, kept)] = house.rows(
        "SELECT f.kind, f.photo FROM descales_look l JOIN visits_finding f ON f.id = l.photo_id"
        " WHERE l.ph = 1.31"
    )
    assert kind == "photo" and kept
    page.reload()
    expect(page.locator("#log li", has_text="pH 1.31").get_by_role("link", name="Photo")).to_be_visible()


def test_a_photo_that_is_refused_does_not_hold_the_look_back(gives: Gives, house: House) -> None:
    page = tank(gives, house)

    def refuse(route: Route) -> None:
        route.fulfill(status=403, content_type="application/problem+json", body=NOT_YOURS)

    page.context.route("**/api/v1/findings/", refuse)
    take(page, "1.32")
    expect(page.locator("#unsent")).to_contain_text("1 to mend", timeout=30_000)
    assert house.rows("SELECT count(*) FROM descales_look WHERE ph = 1.32 AND photo_id IS NULL") == [(1,)]


def test_the_only_lot_of_a_cleaner_is_chosen_and_the_bath_names_it_at_once(
    gives: Gives, house: House
) -> None:
    tech = gives("tech@example.org")
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#dose")
    page.locator("#batch[data-ready=yes]").wait_for()
    lot = page.locator("#lot")
    expect(lot.locator("option:checked")).to_contain_text("L-1")
    chosen = page.locator("#cleaner").input_value()
    page.locator("#cleaner").select_option("")
    lot.select_option("")
    page.locator("#cleaner").select_option(chosen)
    expect(lot.locator("option:checked")).to_contain_text("L-1")
    page.locator("#product_mass").fill("3")
    page.locator("#water").fill("8")
    page.get_by_role("button", name="Start the clock").click()
    page.get_by_role("link", name="Tank").click()
    expect(page.locator("#baths li").last).to_contain_text("lot L-1")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    [(named,)] = house.rows(
        "SELECT l.lot FROM descales_batch b JOIN register_cleanerlot l ON l.id = b.lot_id"
        " ORDER BY b.at DESC LIMIT 1"
    )
    assert named == "L-1"


def test_reversing_is_offered_once_the_hoses_check_told_of_the_vent(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#checks/hoses_connected")
    form = page.locator("#check-hoses_connected[data-ready=yes]")
    ticked = page.locator("#look input[name=reversed_now]")
    expect(page.locator("[data-reversing]")).not_to_have_attribute("open", "")
    form.get_by_label("Vent at the top of both paths").select_option("true")
    form.get_by_role("button", name="Record").click()
    expect(form.locator("> .said")).to_contain_text("Kept on this phone")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    page.get_by_role("link", name="Tank").click()
    expect(ticked).to_be_visible()
    expect(page.locator("[data-reversing] summary")).to_have_text("The flow was reversed")
    told = house.rows("SELECT vent_at_both_tops FROM descales_check WHERE kind = 'hoses_connected'")
    assert told == [(1,)] and tech.complaints == []
