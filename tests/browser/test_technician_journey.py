"""A technician's day with a signal: visit, unit, readings, what they tell, the answer while still there."""

from __future__ import annotations

import json
import re
import signal

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import Hand
from tests.make import PASSWORD

pytestmark = pytest.mark.needs_browser
FOULED = {
    "entering_water": "86.0", "leaving_water": "95.6", "water_flow": "8.7", "head_pressure": "415",
    "liquid_line": "101.5", "suction_pressure": "130", "suction_line": "56",
}  # fmt: skip


def type_in(hand: Hand, values: dict[str, str]) -> None:
    for name, text in values.items():
        hand.page.locator(f"#{name}").fill(text)


def all_sent(hand: Hand, form: str) -> None:
    """Kept first, so that "everything is sent" is not what stood there before."""
    expect(hand.page.locator(f"{form} > .said")).to_contain_text("Kept on this phone")
    expect(hand.page.locator("#unsent")).to_have_text("Everything is sent")


def open_reading(hand: Hand, house: House, which: str = "first", visit: str = "today") -> None:
    exchanger, at = house.world["exchangers"][which], house.world["visits"][visit]
    hand.goes_to(f"/crew/exchangers/{exchanger}/reading/?visit={at}")
    hand.page.locator("#reading[data-ready=yes]").wait_for()


def test_from_the_visit_to_the_answer(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = tech.page
    page.get_by_role("link", name="Harbour Reach, Quay House").first.click()
    expect(page.get_by_text("Eyewash beside the plant room door.")).to_be_visible()
    page.get_by_role("link", name="QH-01").click()
    expect(page.get_by_role("heading", name="Do this next")).to_be_visible()
    expect(page.get_by_text("3.4 turns open")).to_be_visible()
    page.get_by_role("link", name="Take readings").click()
    page.locator("#reading[data-ready=yes]").wait_for()
    type_in(tech, FOULED)
    expect(page.locator("#told-water_change")).to_have_text("9.6 °F")
    expect(page.locator("#told-flow")).to_contain_text("% of design")
    expect(page.locator("#entering_water-is")).to_have_text("= 30.0 °C")
    page.select_option("#strainer", "clean")
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#answer[data-answered]")).to_be_visible(timeout=60_000)
    expect(page.locator("#answer h2")).to_have_text("Do this next")
    expect(page.locator("#unsent")).to_have_text("Everything is sent")
    [(typed, strainer)] = house.rows(
        "SELECT as_typed, strainer FROM visits_reading ORDER BY received_at DESC LIMIT 1"
    )
    sent = {name: entry["value"] for name, entry in json.loads(typed).items()}
    assert sent == FOULED and strainer == "clean"
    assert page.locator("#head_pressure").input_value() == "", "a reading is never carried over"
    assert tech.complaints == []


def test_what_the_page_tells_is_what_the_engine_tells(gives: Gives, house: House) -> None:
    from diagnostics.engine.quantities import standard_atmosphere_pa
    from diagnostics.engine.refrigerants import refrigerant

    tech = gives("tech@example.org")
    open_reading(tech, house)
    type_in(tech, FOULED)
    fluid, air = refrigerant("R410A"), standard_atmosphere_pa(210.0)
    bubble = float(fluid.bubble_temperature_k(415 * 6894.757293168 + air)) * 1.8 - 459.67
    dew = float(fluid.dew_temperature_k(130 * 6894.757293168 + air)) * 1.8 - 459.67
    expected = {
        "head": f"{bubble:.1f} °F", "suction": f"{dew:.1f} °F", "superheat": f"{56 - dew:.1f} °F",
        "subcooling": f"{bubble - 101.5:.1f} °F", "approach": f"{bubble - 95.6:.1f} °F",
    }  # fmt: skip
    for name, words in expected.items():
        expect(tech.page.locator(f"#told-{name}")).to_have_text(words)


def test_a_second_circuit_keeps_static_facts_and_no_reading(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    open_reading(tech, house, "second")
    tech.page.select_option("select[name=head_pressure_unit]", "bar_gauge")
    tech.page.locator("summary", has_text="Purpose").click()
    tech.page.select_option("#purpose", "before_descale")
    type_in(tech, {"entering_water": "84"})
    tech.page.get_by_role("button", name="Save the readings").click()
    expect(tech.page.locator("#answer[data-answered]")).to_be_visible(timeout=60_000)
    open_reading(tech, house, "second_b")
    assert tech.page.locator("select[name=head_pressure_unit]").input_value() == "bar_gauge"
    assert tech.page.locator("#purpose").input_value() == "before_descale"
    assert tech.page.locator("#entering_water").input_value() == ""


def test_a_number_that_may_be_two_is_asked_about_and_stays(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    open_reading(tech, house)
    type_in(tech, {"entering_water": "1,234"})
    tech.page.get_by_role("button", name="Save the readings").click()
    expect(tech.page.locator("#entering_water")).to_have_attribute("aria-invalid", "true")
    expect(tech.page.get_by_text("is not one number")).to_have_count(2)
    assert tech.page.locator("#entering_water").input_value() == "1,234"


def test_the_answer_tells_how_far_it_is_and_why_not_acid_yet(gives: Gives, house: House) -> None:
    """The worker stands still while it waits, then goes on."""
    tech = gives("tech@example.org")
    page = tech.page
    open_reading(tech, house)
    type_in(tech, FOULED)
    worker = house.processes["worker-of-tests"]
    worker.send_signal(signal.SIGSTOP)
    try:
        page.get_by_role("button", name="Save the readings").click()
        expect(page.locator("#answer .progress")).to_have_text(
            re.compile("Waits for its turn|Being assessed")
        )
    finally:
        worker.send_signal(signal.SIGCONT)
    expect(page.locator("#answer[data-ranked]")).to_be_visible(timeout=60_000)
    answer = page.locator("#answer")
    expect(answer.get_by_role("heading", name="Do this next")).to_be_visible()
    expect(answer.get_by_role("heading", name="Why not acid yet")).to_be_visible()
    expect(answer.get_by_role("heading", name="Most likely causes")).to_be_visible()
    expect(answer.locator(".verdict")).to_contain_text("% likely beyond the limit")


def test_a_tag_scanned_before_signing_in_opens_its_unit_afterwards(gives: Gives, house: House) -> None:
    tech = gives("")
    page = tech.goes_to("/t/qh-01/")
    page.fill("input[name=username]", "tech@example.org")
    page.fill("input[name=password]", PASSWORD)
    page.press("input[name=password]", "Enter")
    page.wait_for_url("**/crew/units/**")
    expect(page.locator("h1")).to_have_text("QH-01")
    assert "visit=" in page.url


def writes(hand: Hand, mark: str) -> None:
    page = hand.goes_to("/account/")
    page.locator(f"[name=decimal_mark][value={mark}]").check()
    page.locator("form", has=page.locator("[name=decimal_mark]")).get_by_role("button").click()
    page.wait_for_load_state()


def test_who_writes_a_comma_is_told_numbers_with_one(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    writes(tech, "comma")
    try:
        open_reading(tech, house)
        type_in(tech, {"entering_water": "86,0", "leaving_water": "95,6"})
        expect(tech.page.locator("#told-water_change")).to_have_text("9,6 °F")
        expect(tech.page.locator("#entering_water-is")).to_have_text("= 30,0 °C")
        tech.page.once("dialog", lambda asked: asked.accept())
        tech.page.get_by_role("button", name="Clear what is typed").click()
    finally:
        writes(tech, "point")


def test_could_not_do_with_its_reason(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    tech.goes_to(f"/crew/units/{house.world['units']['second']}/?visit={house.world['visits']['today']}")
    tech.page.locator("#finding[data-ready=yes]").wait_for()
    tech.page.select_option("#kind", "could_not_do")
    tech.page.get_by_role("button", name="Save the finding").click()
    expect(tech.page.locator("#finding [role=status]")).to_have_text("Say why it could not be done.")
    tech.page.locator("#note").fill("Locked riser, no key at the desk")
    tech.page.get_by_role("button", name="Save the finding").click()
    all_sent(tech, "#finding")
    assert house.rows(
        "SELECT count(*) FROM visits_finding WHERE kind='could_not_do' AND note LIKE 'Locked%'"
    ) == [(1,)]


def test_what_a_back_flush_brought_is_chosen_from_its_words_and_arrives(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    tech.goes_to(f"/crew/units/{house.world['units']['second']}/?visit={house.world['visits']['today']}")
    tech.page.locator("#finding[data-ready=yes]").wait_for()
    tech.page.wait_for_timeout(1500)  # the page is brought along onto the phone meanwhile
    tech.page.select_option("#kind", "back_flush")
    brought = tech.page.get_by_label("What came out")
    assert brought.locator("option").count() > 2
    brought.select_option(index=1)
    word = brought.input_value()
    tech.page.locator("#note").fill("Back-flushed for ten minutes")
    tech.page.get_by_role("button", name="Save the finding").click()
    all_sent(tech, "#finding")
    question = "SELECT brought FROM visits_finding WHERE note='Back-flushed for ten minutes'"
    assert word and house.rows(question) == [(word,)]


def test_an_urgent_visit_is_opened_by_the_tag(gives: Gives, house: House) -> None:
    tech = gives("second@example.org")
    tech.goes_to("/t/lm-07/")
    expect(tech.page.get_by_text("Stair without a rail.")).to_be_visible()
    assert tech.page.get_by_text("Larkfield Homes").count() == 0, "no more than the tag tells"
    tech.page.locator("#why").fill("trips on high head")
    tech.page.get_by_role("button", name="Open the urgent visit").click()
    tech.page.get_by_role("link", name="The visit is open").click()
    expect(tech.page.get_by_role("link", name="LM-07")).to_be_visible()


def test_a_survey_row_and_a_signature(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    survey = house.world["visits"]["survey"]
    condenser = house.world["exchangers"]["condenser"].replace("-", "")
    counted = "SELECT count(*) FROM visits_reading WHERE exchanger_id=?"
    [(before,)] = house.rows(counted, condenser)
    tech.goes_to(f"/crew/visits/{survey}/survey/")
    row = tech.page.locator("form.survey[data-ready=yes]", has_text="QH-CH")
    row.get_by_label("Entering water", exact=True).fill("85")
    row.get_by_label("Leaving water", exact=True).fill("94.5")
    row.get_by_role("button", name="Save this row").click()
    expect(row.locator("> .said")).to_contain_text("Kept on this phone")
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent")
    assert house.rows(counted, condenser) == [(before + 1,)]
    tech.goes_to(f"/crew/visits/{survey}/")
    box = tech.page.locator("#pad").bounding_box()
    assert box is not None
    tech.page.locator("#signed-by").fill("R. Hale")
    tech.page.locator("#pad").scroll_into_view_if_needed()
    box = tech.page.locator("#pad").bounding_box()
    assert box is not None
    tech.page.mouse.move(box["x"] + 20, box["y"] + 40)
    tech.page.mouse.down()
    tech.page.mouse.move(box["x"] + 200, box["y"] + 90, steps=5)
    tech.page.mouse.up()
    tech.page.get_by_role("button", name="Sign off").click()
    all_sent(tech, "#sign-off")
    [(photo,)] = house.rows("SELECT photo FROM visits_finding WHERE note LIKE 'Signed off by R. Hale%'")
    assert photo
    assert house.rows("SELECT state FROM visits_visit WHERE id=?", survey.replace("-", "")) == [("done",)]


def test_who_cannot_draw_signs_by_keyboard_and_it_is_kept_as_typed(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    coming = house.world["visits"]["coming"]
    tech.goes_to(f"/crew/visits/{coming}/")
    tech.page.locator("#sign-off[data-ready=yes]").wait_for()
    tech.page.locator("#signed-by").focus()
    tech.page.keyboard.type("A. Keys")
    tech.page.keyboard.press("Tab")  # wipe
    tech.page.keyboard.press("Tab")  # what is typed is the signature
    tech.page.keyboard.press("Space")
    tech.page.keyboard.press("Tab")  # what was done
    tech.page.keyboard.press("Tab")
    tech.page.keyboard.press("Enter")
    all_sent(tech, "#sign-off")
    notes = house.rows("SELECT note, photo FROM visits_finding WHERE visit_id=?", coming.replace("-", ""))
    assert notes == [("Signed off by A. Keys, whose typed name stands for the signature.", "")]


def test_a_button_tapped_twice_saves_once(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    unit = house.world["units"]["second"]
    tech.goes_to(f"/crew/units/{unit}/?visit={house.world['visits']['today']}")
    tech.page.locator("#finding[data-ready=yes], #finding").first.wait_for()
    tech.page.locator("#note").fill("Tapped with a glove")
    tech.page.get_by_role("button", name="Save the finding").dblclick(delay=30)
    expect(tech.page.locator("#unsent")).to_have_text("Everything is sent")
    assert house.rows("SELECT count(*) FROM visits_finding WHERE note='Tapped with a glove'") == [(1,)]
    expect(tech.page.locator("#finding > .said")).to_contain_text("Kept on this phone")
