"""What stands on the phone without a signal besides the forms: the front door, how old the list is, what has
waited for days, a visit that was opened a moment ago."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.test_kept_on_the_phone import brought, everything_is_sent, unit_page

pytestmark = pytest.mark.needs_browser
AGED = """async () => {
  const db = await new Promise((met) => { const asked = indexedDB.open('waterside'); asked.onsuccess = () => met(asked.result); });
  await new Promise((met) => {
    const deal = db.transaction(['outbox'], 'readwrite');
    deal.objectStore('outbox').openCursor().onsuccess = ({ target: { result } }) => {
      if (!result) return;
      result.update({ ...result.value, made_at: new Date(Date.now() - 4 * 86400e3).toISOString() });
      result.continue();
    };
    deal.oncomplete = met;
  });
  db.close();
}"""  # noqa: E501


def test_the_front_door_leads_to_the_visits_without_a_signal(gives: Gives, house: House) -> None:
    tech = brought(gives)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to("/")
    expect(page.locator("h1")).to_have_text("Your visits")
    page.get_by_role("link", name="Help", exact=True).click()
    expect(page.locator("h1")).to_contain_text("No signal")
    page.get_by_role("link", name="Your visits").click()
    page.get_by_role("link", name="Waterside").first.click()
    expect(page.locator("h1")).to_have_text("Your visits")


def test_the_list_says_from_when_it_is_without_a_signal(gives: Gives, house: House) -> None:
    tech = brought(gives)
    house.stop_server()
    tech.expects_no_signal = True
    tech.page.add_init_script("Object.defineProperty(navigator, 'onLine', { get: () => false });")
    page = tech.goes_to("/crew/")
    expect(page.locator("#brought")).to_contain_text("No signal. This is how your visits stood on")


def test_what_waits_for_days_is_said_and_when_something_went_last(gives: Gives, house: House) -> None:
    tech = brought(gives)
    page = unit_page(tech, house)
    house.stop_server()
    tech.expects_no_signal = True
    page.locator("#note").fill("Waits since last week")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#unsent")).to_contain_text("1 not sent")
    page.evaluate(AGED)
    for path in ("/crew/", "/crew/unsent/"):
        tech.goes_to(path)
        expect(page.locator("#waits-long")).to_contain_text("is still only on this phone")
    expect(page.locator("#how-safe")).to_contain_text("This browser has")
    house.start_server()
    everything_is_sent(page)
    expect(page.locator("#waits-long")).to_be_hidden()
    expect(page.locator("#last-sent")).to_contain_text("Last sent: ")


def test_the_units_of_a_visit_opened_just_now_come_along(gives: Gives, house: House) -> None:
    tech = gives("second@example.org")
    page = tech.goes_to("/crew/")
    page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
    tech.goes_to("/t/ol-01/")
    page.get_by_role("button", name="Open the urgent visit").click()
    page.get_by_role("link", name="The visit is open").click()
    expect(page.get_by_role("link", name="OL-01")).to_be_visible()
    reading = f"/crew/exchangers/{house.world['called_out']}/reading/"
    kept = "async (path) => !!(await caches.match(path))"
    for _ in range(50):
        if page.evaluate(kept, reading):
            break
        page.wait_for_timeout(200)
    house.stop_server()
    tech.expects_no_signal = True
    page.get_by_role("link", name="OL-01").click()
    page.get_by_role("link", name="Take readings").click()
    page.locator("#reading[data-ready=yes]").wait_for()
    expect(page.locator("h1")).to_have_text("Readings of OL-01")
