"""Taken off a visit while what was read on it waits on the phone: it goes onto another visit of one's own."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.test_kept_on_the_phone import SENT_MS, brought, everything_is_sent

pytestmark = pytest.mark.needs_browser
BOOKED = """
import sys, django; django.setup()
from django.utils import timezone
from contractor.accounts.models import Person
from contractor.register.models import Site
from tests import make
site, who, reason = sys.argv[1:]
print(make.visit(Site.objects.get(pk=site), list(Person.objects.filter(email=who)), reason=reason,
                 window_start=timezone.now()).pk)
"""
TAKEN_OFF = """
import sys, django; django.setup()
from contractor.visits.models import Visit
from contractor.visits.services import change_visit
change_visit(Visit.objects.get(pk=sys.argv[1]), {}, [])
"""


def booked(house: House, site: str, who: str, reason: str) -> str:
    return house.run("-c", BOOKED, house.world["sites"][site], who, reason).split()[-1]


def read(page: Page, path: str, value: str) -> None:
    page.goto(path)
    page.locator("#reading[data-ready=yes]").wait_for()
    page.locator("#entering_water").fill(value)
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#reading > .said")).to_contain_text("Kept on this phone")


def test_readings_of_a_visit_one_was_taken_off_go_onto_another(gives: Gives, house: House) -> None:
    """All of them at once, each with its own time; a finding too, and its photo's place in the order."""
    lost = booked(house, "quay", "tech@example.org", "survey")
    tech = brought(gives)
    page, exchangers = tech.page, house.world["exchangers"]
    house.stop_server()
    tech.expects_no_signal = True
    for which, value in (("first", "81.41"), ("second", "81.42")):
        read(page, f"{tech.address}/crew/exchangers/{exchangers[which]}/reading/?visit={lost}", value)
    page.goto(f"{tech.address}/crew/units/{house.world['units']['first']}/?visit={lost}")
    page.locator("#finding[data-ready=yes]").wait_for()
    page.locator("#note").fill("Found on a visit that was given away")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#unsent")).to_contain_text("3 not sent")
    house.run("-c", TAKEN_OFF, lost)
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("3 to mend", timeout=SENT_MS)
    page.goto(f"{tech.address}/crew/unsent/")
    box = page.locator("#elsewhere")
    expect(box).to_contain_text("Readings of QH-01, cooling; Readings of QH-02 A, cooling")
    expect(page.get_by_role("button", name="Mend it")).to_have_count(0)
    today = house.world["visits"]["today"]
    box.get_by_label("Another open visit of yours there").select_option(today)
    box.get_by_role("button", name="Put it on that visit").click()
    expect(box).to_be_hidden()
    everything_is_sent(page)
    there = house.rows("SELECT visit_id FROM visits_reading WHERE as_typed LIKE '%81.4%'")
    assert there == [(today.replace("-", ""),)] * 2
    [(of,)] = house.rows("SELECT visit_id FROM visits_finding WHERE note LIKE '%given away'")
    assert of == today.replace("-", "")


def test_without_another_visit_an_urgent_one_takes_it(gives: Gives, house: House) -> None:
    """At a site that one does not see any more."""
    lost = booked(house, "mill", "tech@example.org", "routine")
    tech = brought(gives)
    page = tech.page
    house.stop_server()
    tech.expects_no_signal = True
    read(
        page,
        f"{tech.address}/crew/exchangers/{house.world['exchangers']['far']}/reading/?visit={lost}",
        "81.9",
    )
    house.run("-c", TAKEN_OFF, lost)
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("1 to mend", timeout=SENT_MS)
    page.goto(f"{tech.address}/crew/unsent/")
    expect(page.locator("#elsewhere [data-none]")).to_be_visible()
    page.get_by_role("link", name="Open an urgent one by the unit's tag").click()
    page.locator("#urgent-code").fill("LM-07")
    page.get_by_role("button", name="Open the urgent visit").click()
    page.get_by_role("link", name="The visit is open").wait_for()
    page.goto(f"{tech.address}/crew/unsent/")
    page.get_by_role("button", name="Put it on that visit").click()
    everything_is_sent(page)
    [(urgent, reason)] = house.rows(
        "SELECT v.id, v.reason FROM visits_reading r JOIN visits_visit v ON v.id = r.visit_id"
        " WHERE r.as_typed LIKE '%\"81.9\"%'"
    )
    house.run("-c", TAKEN_OFF, urgent)  # other tests count on nobody's being there
    assert reason == "fault"
