"""What lies on the phone beside readings: signatures, photos, papers, tags; what waits for a mended post."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import Hand, kill

pytestmark = pytest.mark.needs_browser
SENT_MS = 30_000
MOST_PHOTO_SIDE = 2560  # as contractor/visits/photos.py keeps them


def brought(gives: Gives, **options: Path) -> Hand:
    tech = gives("tech@example.org", **options)
    tech.goes_to("/crew/")
    tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
    return tech


def unit_page(tech: Hand, house: House, which: str = "second") -> Page:
    tech.goes_to(f"/crew/units/{house.world['units'][which]}/?visit={house.world['visits']['today']}")
    tech.page.locator("#finding[data-ready=yes]").wait_for()
    return tech.page


def picture(width: int = 60, height: int = 40, **noise: bool) -> bytes:
    out = io.BytesIO()
    found = Image.effect_noise((width, height), 90) if noise else Image.new("RGB", (width, height), "teal")
    found.convert("RGB").save(out, "JPEG", quality=95)
    return out.getvalue()


def photo(name: str, content: bytes) -> list[dict[str, object]]:
    return [{"name": name, "mimeType": "image/jpeg", "buffer": content}]


def everything_is_sent(page: Page) -> None:
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=SENT_MS)


def kept_so_often(page: Page, form: str, times: int) -> None:
    """The draft was written that often. By an attribute: the policy of pages refuses scripts that wait."""
    expect(page.locator(f"#{form}")).to_have_attribute("data-kept", re.compile(rf"^([{times}-9]|\d\d+)$"))


def draw(page: Page) -> None:
    pad = page.locator("#pad")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 90, steps=6)
    page.mouse.up()


def ink(page: Page) -> int:
    return int(page.evaluate(
        "(() => { const c = document.getElementById('pad');"
        " const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
        " let n = 0; for (let i = 0; i < d.length; i += 4) if (d[i] < 128) n += 1; return n })()"
    ))  # fmt: skip


def test_a_signature_outlives_a_reload_and_a_killed_browser(
    gives: Gives, house: House, tmp_path: Path
) -> None:
    profile = tmp_path / "phone"
    tech = brought(gives, profile=profile)
    visit = house.world["visits"]["ending"]
    path = f"/crew/visits/{visit}/"
    page = tech.goes_to(path)
    page.locator("#sign-off[data-ready=yes]").wait_for()
    house.stop_server()
    tech.expects_no_signal = True
    page.locator("#signed-by").fill("M. Orrin")
    assert ink(page) == 0
    draw(page)
    drawn = ink(page)
    assert drawn > 200
    kept_so_often(page, "sign-off", 2)
    page.goto(tech.address + "/crew/")
    page.goto(tech.address + path)
    page.locator("#sign-off[data-ready=yes]").wait_for()
    assert abs(ink(page) - drawn) < 0.02 * drawn, "the same strokes are drawn again"
    kill(profile)
    house.start_server()
    tech = gives("", profile=profile)
    tech.goes_to(path)
    if "/sign-in/" in tech.page.url:
        tech.signs_in("tech@example.org")
        tech.goes_to(path)
    page = tech.page
    page.locator("#sign-off[data-ready=yes]").wait_for()
    expect(page.locator("#signed-by")).to_have_value("M. Orrin")
    assert abs(ink(page) - drawn) < 0.02 * drawn
    page.get_by_role("button", name="Sign off").click()
    expect(page.locator("#sign-off > .said")).to_contain_text("Kept on this phone")
    assert ink(page) == 0, "nothing of it is left for the next"
    everything_is_sent(page)
    [(kept,)] = house.rows("SELECT photo FROM visits_finding WHERE note LIKE 'Signed off by M. Orrin%'")
    assert kept


def test_wiping_the_signature_wipes_what_was_kept(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = tech.goes_to(f"/crew/visits/{house.world['visits']['today']}/")
    page.locator("#sign-off[data-ready=yes]").wait_for()
    draw(page)
    page.get_by_role("button", name="Wipe").click()
    kept_so_often(page, "sign-off", 2)
    page.reload()
    page.locator("#sign-off[data-ready=yes]").wait_for()
    assert ink(page) == 0


@pytest.mark.parametrize(("link", "file"), [("The label", "label"), ("The safety data sheet", "safety")])
def test_label_and_safety_sheet_open_by_a_tap_without_a_signal(
    gives: Gives, house: House, link: str, file: str
) -> None:
    tech = brought(gives)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#help")
    with page.expect_download() as waiting:
        page.get_by_role("link", name=link, exact=True).click()
    content = Path(waiting.value.path()).read_bytes()
    assert content.startswith(b"%PDF-1.4 an invented") and file.encode() in content


def test_a_tag_scanned_without_a_signal_opens_its_unit(gives: Gives, house: House) -> None:
    """The phone's own camera opens the tag's address; nothing of it was seen before."""
    tech = brought(gives)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to("/t/qh-02/", wait_until="commit")
    page.wait_for_url("**/crew/units/**")
    expect(page.locator("h1")).to_have_text("QH-02")
    page.get_by_role("link", name="Take readings").first.click()
    page.locator("#reading[data-ready=yes]").wait_for()
    assert "visit=" in page.url, "within a visit of today, so that readings can be saved"
    page.goto(tech.address + "/t/KR-01/", wait_until="commit")
    expect(page.locator("#urgent-code")).to_have_value("KR-01")
    expect(page.locator("#tag > .said")).to_contain_text("not among today's units")
    page.goto(tech.address + "/crew/tag/")
    page.locator("#code").fill("QH-01")
    page.get_by_role("button", name="Look at the unit").click()
    page.wait_for_url("**/crew/units/**")
    expect(page.locator("h1")).to_have_text("QH-01")


def test_a_refused_photo_is_taken_anew_and_its_finding_is_not_doubled(gives: Gives, house: House) -> None:
    tech = brought(gives)
    tech.expects_no_signal = True  # the browser's console tells of the refusal
    page = unit_page(tech, house)
    page.locator("#note").fill("rust on the valve")
    page.set_input_files("#photo", photo("IMG_1.jpg", b"no picture at all"))
    expect(page.locator("#finding > .said")).to_contain_text("IMG_1.jpg is kept")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#unsent")).to_have_text("1 to mend", timeout=SENT_MS)
    tech.goes_to("/crew/unsent/")
    expect(page.locator("#entries")).to_contain_text("expected a JPEG, PNG or WebP picture")
    page.get_by_role("button", name="Mend it").click()
    page.locator("#finding[data-ready=yes]").wait_for()
    expect(page.locator("#note")).to_have_value("rust on the valve")
    page.set_input_files("#photo", photo("IMG_2.jpg", picture()))
    expect(page.locator("#finding > .said")).to_contain_text("IMG_2.jpg is kept")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#finding > .said")).to_contain_text("Kept on this phone")
    everything_is_sent(page)
    [(kept,)] = house.rows("SELECT photo FROM visits_finding WHERE note = 'rust on the valve'")
    assert kept


def test_what_needs_a_mended_post_waits_for_it(gives: Gives, house: House) -> None:
    """The photo of a finding that was refused goes after the finding, however long mending takes."""
    tech = brought(gives)
    tech.expects_no_signal = True
    page = unit_page(tech, house)
    page.locator("#note").fill("scale in the hose")
    page.set_input_files("#photo", photo("IMG_3.jpg", picture()))
    expect(page.locator("#finding > .said")).to_contain_text("IMG_3.jpg is kept")
    page.evaluate("document.querySelector('#kind option[value=note]').value = 'nonsense'")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#unsent")).to_have_text("1 not sent · 1 to mend", timeout=SENT_MS)
    tech.goes_to("/crew/unsent/")
    page.get_by_role("button", name="Mend it").click()
    page.locator("#finding[data-ready=yes]").wait_for()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.wait_for_timeout(1500)
    expect(page.locator("#unsent")).to_have_text("1 not sent")
    page.select_option("#kind", "note")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#finding > .said")).to_contain_text("Kept on this phone")
    everything_is_sent(page)
    [(kept,)] = house.rows("SELECT photo FROM visits_finding WHERE note = 'scale in the hose'")
    assert kept


def test_a_large_photo_waits_small_and_arrives_whole(gives: Gives, house: House) -> None:
    """Taken without a signal, with the browser reloaded before it is saved."""
    tech = brought(gives)
    large = picture(4000, 3000, noise=True)
    assert len(large) > 8 * 1024 * 1024, "more than the service takes"
    house.stop_server()
    tech.expects_no_signal = True
    page = unit_page(tech, house)
    page.locator("#note").fill("data plate")
    page.set_input_files("#photo", photo("IMG_4.jpg", large))
    expect(page.locator("#finding > .said")).to_contain_text("IMG_4.jpg is kept", timeout=SENT_MS)
    page.reload()
    page.locator("#finding[data-ready=yes]").wait_for()
    expect(page.locator("#finding > .said")).to_contain_text("IMG_4.jpg is kept")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#unsent")).to_contain_text("2 not sent")
    house.start_server()
    everything_is_sent(page)
    [(kept,)] = house.rows("SELECT photo FROM visits_finding WHERE note = 'data plate'")
    with Image.open(house.folder / "media" / kept) as found:
        assert max(found.size) == MOST_PHOTO_SIDE


def test_a_typed_choice_is_not_overwritten_by_what_another_circuit_had(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    visit = house.world["visits"]["today"]

    def read(which: str) -> Page:
        tech.goes_to(f"/crew/exchangers/{house.world['exchangers'][which]}/reading/?visit={visit}")
        tech.page.locator("#reading[data-ready=yes]").wait_for()
        return tech.page

    page = read("second")
    page.get_by_label("Heating").check()
    page.locator("#entering_water").fill("51")
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=SENT_MS)
    page.get_by_role("link", name="Take readings: B").click()
    page.locator("#reading[data-ready=yes]").wait_for()
    assert page.get_by_label("Heating").is_checked(), "the loop's mode comes along"
    page.get_by_label("Cooling").check()
    page.locator("#entering_water").fill("85")
    kept_so_often(page, "reading", 2)
    page = read("second_b")
    assert page.get_by_label("Cooling").is_checked() and page.locator("#entering_water").input_value() == "85"
    page = read("condenser")
    assert page.get_by_label("Cooling").is_checked(), "a condenser reads in cooling only"


def test_below_zero_is_typed_without_a_minus_on_the_number_pad(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    exchanger, visit = house.world["exchangers"]["first"], house.world["visits"]["today"]
    page = tech.goes_to(f"/crew/exchangers/{exchanger}/reading/?visit={visit}")
    page.locator("#reading[data-ready=yes]").wait_for()
    key = page.get_by_role("button", name="Above or below zero: suction line")
    expect(key).to_be_hidden()
    page.select_option("select[name=suction_line_unit]", "degC")
    page.locator("#suction_line").fill("2.5")
    key.click()
    expect(page.locator("#suction_line")).to_have_value("-2.5")
    expect(page.locator("#suction_line-is")).to_have_text("= 27.5 °F")
    key.click()
    expect(page.locator("#suction_line")).to_have_value("2.5")
    kept_so_often(page, "reading", 2)
    page.reload()
    expect(page.locator("#suction_line")).to_have_value("2.5")
    page.once("dialog", lambda asked: asked.accept())
    page.get_by_role("button", name="Clear what is typed").click()


def test_what_is_typed_but_not_saved_is_named_among_what_is_not_sent(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    exchanger, visit = house.world["exchangers"]["second"], house.world["visits"]["today"]
    page = tech.goes_to(f"/crew/exchangers/{exchanger}/reading/?visit={visit}")
    page.locator("#reading[data-ready=yes]").wait_for()
    page.locator("#leaving_water").fill("93.25")
    kept_so_often(page, "reading", 1)
    tech.goes_to("/crew/unsent/")
    line = page.get_by_role("link", name="Readings of QH-02 A, typed")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Keep it all as a file").click()
    kept = json.loads(Path(waiting.value.path()).read_text())
    assert "93.25" in json.dumps(kept["drafts"]) and kept["unsent"] == []
    [line_to_read] = kept["to_read"]
    assert kept["who"] == "Tamsin Brook" and "Readings of QH-02 A" in line_to_read
    assert "leaving water: 93.25; leaving water unit: degF" in line_to_read
    line.click()
    expect(page.locator("#leaving_water")).to_have_value("93.25")
    page.once("dialog", lambda asked: asked.accept())
    page.get_by_role("button", name="Clear what is typed").click()


def test_the_visit_says_which_units_are_read_saved_or_sent(gives: Gives, house: House) -> None:
    """Without a signal too: what this phone saved since counts."""
    tech = brought(gives)
    visit = house.world["visits"]["today"]
    tile = tech.page.locator("li", has=tech.page.get_by_role("link", name="QH-CH"))
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/exchangers/{house.world['exchangers']['condenser']}/reading/?visit={visit}")
    page.locator("#reading[data-ready=yes]").wait_for()
    page.locator("#entering_water").fill("81")
    page.get_by_role("button", name="Save the readings").click()
    expect(page.locator("#answer")).to_contain_text("the answer comes then")
    page.get_by_role("link", name="The visit's other units").click()
    expect(tile).to_contain_text("Read on this visit")
    house.start_server()
    everything_is_sent(page)
    page.reload()
    expect(tile).to_contain_text("Read on this visit")


def test_a_phone_whose_clock_is_hours_off_is_told_so_and_loses_nothing(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    page = tech.page
    page.add_init_script("const real = Date.now.bind(Date); Date.now = () => real() + 5 * 3600 * 1000;")
    tech.goes_to("/crew/")
    expect(page.locator("#clock-off")).to_contain_text("5 h fast")
    unit = house.world["units"]["second"]
    tech.goes_to(f"/crew/units/{unit}/?visit={house.world['visits']['today']}")
    page.locator("#note").fill("By a clock that is wrong")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#finding > .said")).to_contain_text("Kept on this phone")
    everything_is_sent(page)
    assert house.rows("SELECT count(*) FROM visits_finding WHERE note='By a clock that is wrong'") == [(1,)]


def test_two_tabs_with_one_form_keep_what_was_typed_in_either(gives: Gives, house: House) -> None:
    tech = gives("tech@example.org")
    exchanger, visit = house.world["exchangers"]["condenser"], house.world["visits"]["today"]
    path = f"/crew/exchangers/{exchanger}/reading/?visit={visit}"
    first = tech.goes_to(path)
    first.locator("#reading[data-ready=yes], #reading").first.wait_for()
    second = tech.context.new_page()
    second.goto(tech.address + path)
    first.locator("#entering_water").fill("84.6")
    kept_so_often(first, "reading", 1)
    second.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(second.locator("#entering_water")).to_have_value("84.6")
    second.locator("#leaving_water").fill("94.1")
    kept_so_often(second, "reading", 1)
    first.close()
    second.reload()
    expect(second.locator("#entering_water")).to_have_value("84.6")
    expect(second.locator("#leaving_water")).to_have_value("94.1")


@pytest.mark.parametrize("seen_meanwhile", [True, False], ids=["turned-to", "side-by-side"])
def test_what_one_tab_saved_is_not_saved_again_by_the_other(
    gives: Gives, house: House, seen_meanwhile: bool
) -> None:
    tech = gives("tech@example.org")
    note = f"Heard in one tab, {'turned to' if seen_meanwhile else 'side by side'}"
    unit, visit = house.world["units"]["second"], house.world["visits"]["today"]
    path = f"/crew/units/{unit}/?visit={visit}"
    first, second = tech.goes_to(path), tech.context.new_page()
    second.goto(tech.address + path)
    for tab in (first, second):
        tab.locator("#finding[data-ready=yes]").wait_for()
    first.locator("#finding [name=note]").fill(note)
    kept_so_often(first, "finding", 1)
    second.reload()
    second.locator("#finding[data-ready=yes]").wait_for()
    expect(second.locator("#finding [name=note]")).to_have_value(note)
    first.locator("#finding .send button").click()
    expect(first.locator("#finding > .said")).to_contain_text("Kept on this phone")
    if seen_meanwhile:
        second.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        expect(second.locator("#finding [name=note]")).to_have_value("")
    else:
        second.locator("#finding .send button").click()
    expect(second.locator("#finding > .said")).to_have_text("Saved or cleared in another tab.")
    everything_is_sent(second)
    assert house.rows(f"SELECT count(*) FROM visits_finding WHERE note='{note}'") == [(1,)]


def test_a_second_look_at_the_list_fetches_no_page_twice_until_something_was_sent(
    gives: Gives, house: House
) -> None:
    tech = brought(gives)
    of_units: list[str] = []
    tech.page.on("request", lambda one: "/crew/units/" in one.url and of_units.append(one.url))

    def looks_again() -> int:
        of_units.clear()
        tech.goes_to("/crew/")
        tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
        return len(of_units)

    assert looks_again() == 0
    page = unit_page(tech, house)
    page.locator("#note").fill("Looked at")
    page.get_by_role("button", name="Save the finding").click()
    expect(page.locator("#finding > .said")).to_contain_text("Kept on this phone")
    everything_is_sent(page)
    assert looks_again() > 0
    assert looks_again() == 0
