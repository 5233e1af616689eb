"""Without a signal the clock and the limits are those of the label of what went in, also when the browser was
killed meanwhile. Nothing of it is ever sent: the server stays away to the end."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import kill
from tests.browser.test_kept_on_the_phone import brought

pytestmark = [pytest.mark.needs_browser, pytest.mark.usefixtures("an_empty_tank")]
ALL_OUT = """
import django; django.setup()
from django.db.models import F
from contractor.descales.models import Batch
Batch.objects.filter(out_at=None).update(out_at=F("at"))
"""


@pytest.fixture
def an_empty_tank(house: House) -> None:
    """Whatever other tests have put in is out."""
    house.run("-c", ALL_OUT)


def mixed(page: Page, cleaner: str) -> None:
    page.locator("#batch[data-ready=yes]").wait_for()
    page.get_by_label("Cleaner", exact=True).select_option(label=cleaner)
    page.locator("#product_mass").fill("3")
    page.locator("#water").fill("8")
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator("#batch > .said")).to_contain_text("Kept on this phone")


def at_the_tank_after_a_kill(gives: Gives, profile: Path, path: str) -> Page:
    kill(profile)
    tech = gives("", profile=profile)
    tech.expects_no_signal = True
    return tech.goes_to(path + "#tank")


def test_the_label_of_what_went_in_stops_it(gives: Gives, house: House, tmp_path: Path) -> None:
    """Two hours and 40 degC by the label of the other cleaner; the plan's allows more of both."""
    profile = tmp_path / "phone"
    tech = brought(gives, profile=profile)
    house.stop_server()
    tech.expects_no_signal = True
    path = f"/crew/descales/{house.world['descale']}/"
    page = tech.goes_to(path + "#dose")
    mixed(page, "Cool sulfamic")
    expect(page.locator("#clock [data-left]")).to_have_text(re.compile(r"^1 h 59 min left|^2 h 00 min left"))
    page = at_the_tank_after_a_kill(gives, profile, path)
    page.locator("#look[data-ready=yes]").wait_for()
    expect(page.locator("#clock [data-left]")).to_contain_text("1 h 59 min left")
    page.locator("#temperature").fill("103.9")
    expect(page.locator("#stop")).to_be_hidden()
    page.locator("#temperature").fill("104.1")
    expect(page.locator("#stop")).to_contain_text("Warmer than 104.0")


def test_a_stop_that_was_typed_and_not_recorded_stands_after_the_browser_was_killed(
    gives: Gives, house: House, tmp_path: Path
) -> None:
    profile = tmp_path / "phone"
    tech = brought(gives, profile=profile)
    house.stop_server()
    tech.expects_no_signal = True
    path = f"/crew/descales/{house.world['descale']}/"
    page = tech.goes_to(path + "#dose")
    mixed(page, "Cool sulfamic")
    page = tech.goes_to(path + "#tank")
    page.locator("#look[data-ready=yes]").wait_for()
    page.locator("#temperature").fill("104.1")
    expect(page.locator("#look")).to_have_attribute("data-kept", "1")
    page = at_the_tank_after_a_kill(gives, profile, path)
    expect(page.locator("#temperature")).to_have_value("104.1")
    expect(page.locator("#stop")).to_contain_text("Warmer than 104.0")


@pytest.mark.parametrize("cleaner", ["Nobody can tell", "Generic sulfamic, second"])
def test_what_nobody_can_tell_and_what_is_mixed_has_to_be_out_at_once(
    gives: Gives, house: House, cleaner: str
) -> None:
    tech = brought(gives)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#dose")
    mixed(page, "Cool sulfamic")
    page.wait_for_timeout(800)
    mixed(page, cleaner)
    expect(page.locator("#stop")).to_contain_text("The batch has to be out by now. Drain and rinse now.")
