"""A survey's rows are sent in the units and mode that they were typed in, whatever befalls the browser."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import kill
from tests.browser.test_kept_on_the_phone import brought, everything_is_sent

pytestmark = pytest.mark.needs_browser


def row_of(page: Page, tag: str) -> Locator:
    return page.locator("form.survey[data-ready=yes]", has_text=tag)


def typed(row: Locator, value: str, times: int) -> None:
    row.get_by_label("Entering water", exact=True).fill(value)
    expect(row).to_have_attribute("data-kept", str(times))


def saved(house: House, value: str) -> tuple[str, Any]:
    [(mode, as_typed)] = house.rows(
        f"SELECT mode, as_typed FROM visits_reading WHERE as_typed LIKE '%\"{value}\"%'"
    )
    return mode, json.loads(as_typed)["entering_water"]["unit"]


def survey(house: House) -> str:
    return f"/crew/visits/{house.world['visits']['survey']}/survey/"


def test_a_killed_browser_takes_no_row_into_other_units(gives: Gives, house: House, tmp_path: Path) -> None:
    profile = tmp_path / "phone"
    tech = brought(gives, profile=profile)
    page = tech.goes_to(survey(house))
    row_of(page, "QH-02 B").wait_for()
    page.get_by_label("Running in").select_option("heating")
    page.get_by_label("Temperatures in").select_option("degC")
    row = row_of(page, "QH-02 B")
    expect(row.locator("[data-in]")).to_have_text("Heating, °C, psig")
    typed(row, "7.31", 1)
    kill(profile)
    tech = gives("", profile=profile)
    page = tech.goes_to(survey(house))
    if "/sign-in/" in page.url:
        tech.signs_in("tech@example.org")
        tech.goes_to(survey(house))
    row = row_of(page, "QH-02 B")
    expect(row.locator("[data-in]")).to_have_text("Heating, °C, psig")
    expect(page.get_by_label("Temperatures in")).to_have_value("degC")
    expect(row.get_by_label("Entering water", exact=True)).to_have_value("7.31")
    row.get_by_role("button", name="Save this row").click()
    everything_is_sent(page)
    assert saved(house, "7.31") == ("heating", "degC")
    expect(row_of(page, "QH-CH").locator("[data-in]")).to_contain_text("Cooling, °C")


def test_what_is_chosen_above_goes_for_rows_that_are_typed_already(gives: Gives, house: House) -> None:
    """The draft too; and the next row after a save."""
    page = gives("tech@example.org").goes_to(survey(house))
    row = row_of(page, "QH-02 A")
    typed(row, "8.42", 1)
    page.get_by_label("Temperatures in").select_option("degC")
    expect(row).to_have_attribute("data-kept", "2")
    page.reload()
    row = row_of(page, "QH-02 A")
    expect(row.locator("[data-in]")).to_contain_text("°C")
    row.get_by_role("button", name="Save this row").click()
    expect(row.locator("[data-in]")).to_contain_text("°C")
    everything_is_sent(page)
    assert saved(house, "8.42")[1] == "degC"
