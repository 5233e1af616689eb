"""Without a signal nothing that was typed is lost or doubled; ten seeded journeys here, a hundred by name."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.offline import Journey
from tests.browser.phone import Hand

pytestmark = pytest.mark.needs_browser


@pytest.mark.parametrize("seed", range(1, 11))
def test_every_typed_value_arrives_exactly_once(
    seed: int, playwright: Playwright, house: House, tmp_path: Path
) -> None:
    Journey(seed, playwright, house, tmp_path).run()


def brought(gives: Gives, house: House, email: str = "tech@example.org") -> Hand:
    tech = gives(email)
    tech.goes_to("/crew/")
    tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
    return tech


def reading_path(house: House, which: str = "first") -> str:
    exchanger, visit = house.world["exchangers"][which], house.world["visits"]["today"]
    return f"/crew/exchangers/{exchanger}/reading/?visit={visit}"


def test_pages_of_today_open_and_tell_superheat_with_the_server_stopped(gives: Gives, house: House) -> None:
    tech = brought(gives, house)
    house.stop_server()
    tech.expects_no_signal = True
    for path in ("/crew/", f"/crew/visits/{house.world['visits']['today']}/",
                 f"/crew/units/{house.world['units']['first']}/", "/crew/tag/", "/crew/unsent/"):  # fmt: skip
        tech.goes_to(path)
        assert tech.page.locator("h1").count() == 1, path
        assert "No signal" not in tech.page.locator("h1").inner_text(), path
    tech.goes_to(reading_path(house))
    tech.page.locator("#reading[data-ready=yes]").wait_for()
    tech.page.locator("#suction_pressure").fill("130")
    tech.page.locator("#suction_line").fill("56")
    expect(tech.page.locator("#told-superheat")).to_contain_text("°F")
    took = tech.page.evaluate(
        "(async () => { const t = performance.now(); await (await fetch(location.href)).text();"
        " return performance.now() - t })()"
    )
    assert took < 1000
    tech.page.reload()
    timing = tech.page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
    assert timing < 1000, f"reloaded without a signal in {timing:.0f} ms"
    assert tech.complaints == []


def test_a_page_that_did_not_come_along_says_so_and_where_to_go(gives: Gives, house: House) -> None:
    tech = brought(gives, house)
    house.proxy.line.cut = True
    tech.goes_to(f"/crew/units/{house.world['units']['far']}/")
    assert tech.page.locator("h1").inner_text().startswith("No signal")
    assert tech.page.get_by_role("link", name="Your visits").count() == 1


def test_nothing_of_one_persons_is_shown_to_the_next(gives: Gives, house: House, tmp_path: Path) -> None:
    tech = brought(gives, house)
    house.proxy.line.cut = True
    tech.expects_no_signal = True
    tech.goes_to(reading_path(house))
    tech.page.locator("#reading[data-ready=yes]").wait_for()
    tech.page.locator("#entering_water").fill("77.7")
    tech.page.get_by_role("button", name="Save the readings").click()
    expect(tech.page.locator("#unsent")).to_contain_text("1 not sent")
    tech.page.locator("#head_pressure").fill("333")
    tech.page.wait_for_timeout(300)
    # cookies end, as after two weeks; the next one signs in on the same phone
    tech.context.clear_cookies()
    house.proxy.restore()
    tech.signs_in("second@example.org")
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent")
    tech.goes_to("/crew/unsent/")
    expect(tech.page.locator("#entries")).to_contain_text("Nothing waits")
    assert "Quay" not in tech.page.content()
    house.proxy.line.cut = True
    tech.goes_to(f"/crew/visits/{house.world['visits']['today']}/")
    assert tech.page.locator("h1").inner_text().startswith("No signal"), "the first one's page is gone"
    house.proxy.restore()
    assert house.rows("SELECT count(*) FROM visits_reading WHERE as_typed LIKE '%77.7%'") == [(0,)]
    # and when the first comes back it is all there, and goes
    tech.context.clear_cookies()
    tech.signs_in("tech@example.org")
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    tech.goes_to(reading_path(house))
    expect(tech.page.locator("#head_pressure")).to_have_value("333")
    [(by,)] = house.rows("SELECT taken_by_id FROM visits_reading WHERE as_typed LIKE '%77.7%'")
    assert by == house.world["people"]["tech"].replace("-", "")


def test_a_refused_post_stays_with_its_reason_until_mended(gives: Gives, house: House) -> None:
    tech = brought(gives, house)
    tech.goes_to("/crew/tag/")
    tech.page.locator("#urgent-code").fill("QH-O1")
    tech.page.locator("#why").fill("letter for figure")
    tech.page.get_by_role("button", name="Open the urgent visit").click()
    tech.expects_no_signal = True  # a refusal is told by the browser's console too
    expect(tech.page.locator("#unsent")).to_have_text("1 to mend")
    tech.goes_to("/crew/unsent/")
    expect(tech.page.locator("#entries")).to_contain_text("No unit carries the tag")
    tech.page.get_by_role("button", name="Mend it").click()
    tech.page.wait_for_url("**/crew/tag/")
    expect(tech.page.locator("#urgent-code")).to_have_value("QH-O1")
    expect(tech.page.locator("#why")).to_have_value("letter for figure")
    tech.page.locator("#urgent-code").fill("QH-01")
    tech.page.get_by_role("button", name="Open the urgent visit").click()
    expect(tech.page.locator("#urgent .said")).to_contain_text("Kept")
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent")
    assert house.rows("SELECT count(*) FROM visits_visit WHERE notes='letter for figure'") == [(1,)]


def test_unsent_work_can_be_kept_as_a_file(gives: Gives, house: House) -> None:
    tech = brought(gives, house)
    house.proxy.line.cut = True
    tech.goes_to(reading_path(house, "second"))
    tech.page.locator("#reading[data-ready=yes]").wait_for()
    tech.page.locator("#entering_water").fill("66.61")
    tech.page.get_by_role("button", name="Save the readings").click()
    expect(tech.page.locator("#unsent")).to_contain_text("1 not sent")
    tech.goes_to("/crew/unsent/")
    with tech.page.expect_download() as waiting:
        tech.page.get_by_role("button", name="Keep it all as a file").click()
    assert "66.61" in Path(waiting.value.path()).read_text()


def test_a_unit_that_the_phone_never_saw_is_read_before_its_visit_is_open(gives: Gives, house: House) -> None:
    tech = gives("second@example.org")
    tech.goes_to("/crew/")
    tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to("/crew/tag/")
    page.locator("#urgent-code").fill("kr-01")
    page.get_by_role("button", name="Open the urgent visit").click()
    early = page.locator("#early")
    expect(early.get_by_role("heading")).to_contain_text("Readings of KR-01")
    early.locator("#entering_water").fill("84.4")
    early.locator("#head_pressure").fill("361")
    expect(early.locator("> .said")).to_contain_text("Kept on this phone for KR-01")
    page.reload()
    expect(early.locator("#head_pressure")).to_have_value("361")
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    page.get_by_role("link", name="The visit is open").click()
    page.get_by_role("link", name="KR-01").click()
    page.get_by_role("link", name="Take readings").click()
    page.get_by_role("button", name="Put it into the form").click()
    page.locator("#reading[data-ready=yes]").wait_for()
    expect(page.locator("#entering_water")).to_have_value("84.4")
    expect(page.locator("#early")).to_be_hidden()
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#reading > .said")).to_contain_text("Kept on this phone")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    exchanger = house.world["unseen"].replace("-", "")
    [(typed,)] = house.rows("SELECT as_typed FROM visits_reading WHERE exchanger_id = ?", exchanger)
    assert {name: one["value"] for name, one in json.loads(typed).items()} == {
        "entering_water": "84.4", "head_pressure": "361",
    }  # fmt: skip
