"""The descale beside the tank: its stop rules without a signal are no milder than the engine's, and what is
recorded there arrives."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
import subprocess
from typing import Any

import numpy as np
import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from diagnostics.engine.descaling.end_point import BathRules, Look, judge
from tests.browser.conftest import Gives
from tests.browser.house import House
from tests.browser.phone import Hand

pytestmark = pytest.mark.needs_browser
STOP = settings.BASE_DIR / "contractor" / "web" / "static" / "web" / "crew" / "stop.js"
RUNNER = settings.BASE_DIR / "tests" / "web" / "stops_on_the_phone.mjs"
START = dt.datetime(2026, 5, 4, 9, 0, tzinfo=dt.UTC)
LIMITS = {"cap_k": 323.15, "copper_mg_per_l": 60.0, "iron_mg_per_l": 300.0}
RULES = BathRules(
    acids=("sulfamic",), start_strength=0.05, cap_k=323.15, copper_limit_mg_per_l=60.0,
    iron_limit_mg_per_l=300.0, out_by_s={1: 7200.0},
)  # fmt: skip


def on_the_phone(cases: list[dict[str, Any]]) -> list[Any]:
    node = shutil.which("node")
    assert node, "node is missing: install Debian's package nodejs"
    done = subprocess.run(
        [node, str(RUNNER), str(STOP)], input=json.dumps(cases), capture_output=True, text=True, check=True
    )  # fmt: skip
    found: list[Any] = json.loads(done.stdout)
    return found


def at(minutes: float) -> str:
    return (START + dt.timedelta(minutes=minutes)).isoformat()


def case(minutes: float, **last: Any) -> dict[str, Any]:
    earlier = last.pop("earlier", [])
    looks = [{"at": at(0), **one} for one in earlier] + [{"at": at(minutes), **last}]
    batch = {"at": at(0), "out_by": at(120)}
    return {"limits": LIMITS, "batch": batch, "looks": looks, "now": at(minutes)}


@pytest.mark.parametrize(
    ("code", "read", "minutes"),
    [("too_warm", {"temperature_k": 323.4}, 20), ("copper", {"copper_mg_per_l": 61.0}, 20),
     ("iron", {"iron_mg_per_l": 301.0}, 20), ("oil", {"oil": True}, 20), ("time_up", {"ph": 1.5}, 121)],
)  # fmt: skip
def test_one_look_that_stops_the_engine_stops_the_phone(
    code: str, read: dict[str, Any], minutes: int
) -> None:
    engine = judge([Look(0.0, ph=1.5, temperature_k=300.0), Look(minutes * 60.0, **read)], RULES)
    assert engine.action == "stop" and code in engine.reasons
    assert code in on_the_phone([case(minutes, **read)])[0]
    just_within = {name: value * 0.98 for name, value in read.items() if isinstance(value, float)}
    assert on_the_phone([case(20, **just_within)])[0] == []


@pytest.mark.parametrize(("code", "step"), [("level_rising", 0.012), ("level_falling", -0.012)])
def test_a_level_that_stops_the_engine_stops_the_phone(code: str, step: float) -> None:
    levels = [0.30 + step * n for n in range(5)]
    looks = [Look(n * 300.0, ph=1.5, level_m=level) for n, level in enumerate(levels)]
    assert code in judge(looks, RULES).reasons
    assert on_the_phone([levels_case([n * 5.0 for n in range(5)], levels)])[0] == [code]
    assert on_the_phone([levels_case([0.0, 10.0, 20.0], [0.30, 0.302, 0.299])])[0] == []


def test_the_phone_and_the_engine_agree_on_every_tank_level_of_four_hundred_seeded_series() -> None:
    """Slopes around what can be told, noise of reading, uneven times, longer than the window."""
    series = [a_series(np.random.default_rng(seed)) for seed in range(400)]
    engine = [
        [
            code
            for code in judge(
                [Look(m * 60.0, ph=1.5, level_m=v) for m, v in zip(*one, strict=True)], RULES
            ).reasons
            if code.startswith("level_")
        ]
        for one in series
    ]
    assert on_the_phone([levels_case(*one) for one in series]) == engine
    assert {code for codes in engine for code in codes} == {"level_rising", "level_falling"}
    assert 80 < sum(not codes for codes in engine) < 320, "some stop, some do not"


def a_series(rng: np.random.Generator) -> tuple[list[float], list[float]]:
    minutes = np.sort(rng.choice(np.arange(0, 100), size=int(rng.integers(2, 12)), replace=False))
    slope = rng.normal(0.0, 0.0012)
    levels = 0.3 + slope * minutes + rng.normal(0.0, 0.003, len(minutes))
    return [float(m) for m in minutes], [float(v) for v in levels]


def levels_case(minutes: list[float], levels: list[float]) -> dict[str, Any]:
    looks = [{"at": at(m), "level_m": level} for m, level in zip(minutes, levels, strict=True)]
    return {
        "limits": LIMITS,
        "batch": {"at": at(0), "out_by": at(120)},
        "looks": looks,
        "now": at(minutes[-1]),
    }


def test_bubbles_without_acid_used_stop_the_phone_where_they_stop_the_engine() -> None:
    """Four hundred seeded logs of two hours: titrations that fall, stand still or scatter, bubbles now and
    then missing. The phone says it wherever the engine does, and nowhere else."""
    logs = [a_log(np.random.default_rng(9_000 + seed)) for seed in range(400)]
    engine = [
        "bubbles_without_acid"
        in judge([Look(m * 60.0, ph=1.5, strength=s, bubbles=b) for m, s, b in log], RULES).reasons
        for log in logs
    ]
    cases = [
        {"limits": {**LIMITS, "start_strength": RULES.start_strength, "strength_per_drop": 0.005},
         "batch": {"at": at(0), "out_by": at(121)}, "now": at(log[-1][0]),
         "looks": [{"at": at(m), "strength": s, "bubbles": "few" if b else "none"} for m, s, b in log]}
        for log in logs
    ]  # fmt: skip
    assert [codes == ["bubbles_without_acid"] for codes in on_the_phone(cases)] == engine
    assert 20 < sum(engine) < 380, "some stop, some do not"


def a_log(rng: np.random.Generator) -> list[tuple[float, float | None, bool]]:
    minutes = [0.0, 3.0, 6.0, *(float(m) for m in range(10, int(rng.integers(30, 120)), 10))]
    falls = float(rng.choice([0.0, 0.0, rng.uniform(0.0, 4e-4)]))
    whole = rng.random() < 0.8
    return [
        (m, float(0.05 - falls * m + rng.normal(0.0, 5e-4)) if m % 20 == 10 or m >= 60 else None,
         whole or bool(rng.random() < 0.9))
        for m in minutes
    ]  # fmt: skip


def test_bubbles_in_plain_water_before_any_acid_stop_it() -> None:
    engine = judge([Look(0.0, batch=0, bubbles=True)], RULES)
    assert engine.action == "stop" and engine.reasons == ("bubbles_without_acid",)
    before = {"limits": LIMITS, "batch": None, "looks": [{"at": at(0), "bubbles": "few"}], "now": at(0)}
    assert on_the_phone([before]) == [["bubbles_without_acid"]]


def test_what_only_eyes_and_noses_tell_stops_it_too() -> None:
    blue = case(20, colour="blue", earlier=[{"colour": "faint_blue"}])
    steady = case(20, colour="faint_blue", earlier=[{"colour": "faint_blue"}])
    after_a_faint_bath = {**case(5, colour="blue"), "earlier": "faint_blue"}
    cases = [
        blue,
        steady,
        after_a_faint_bath,
        case(5, leak=True),
        case(5, fumes="brown"),
        case(5, gas_alarm=True),
        case(5),
    ]
    assert on_the_phone(cases) == [
        ["blue_deepening"],
        [],
        ["blue_deepening"],
        ["leak"],
        ["fumes"],
        ["gas_alarm"],
        [],
    ]


def test_the_clock_and_the_next_look() -> None:
    batch = {"at": at(0), "out_by": at(120)}
    due = [
        {"due": True, "batch": batch, "looks": [{"at": at(m)}] if m is not None else []}
        for m in (None, 0, 4, 25)
    ]
    assert on_the_phone(due) == [0, 3 * 60_000, 6 * 60_000, 35 * 60_000]
    assert on_the_phone([{"clock": 3_900_000}, {"clock": 61_000}, {"clock": -61_000}]) == [
        "1 h 05 min", "1 min 01 s", "over by 1 min 01 s",
    ]  # fmt: skip


def open_descale(gives: Gives, house: House) -> Hand:
    tech = gives("tech@example.org")
    tech.goes_to("/crew/")
    tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)
    return tech


def test_beside_the_tank_without_a_signal(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    [(batches,)] = house.rows("SELECT count(*) FROM descales_batch")
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#help")
    for words in ("By the roller door", "01632 960997", "4 Mill Lane", "15 minutes of water"):
        expect(page.locator("#help")).to_contain_text(words)
    page.get_by_role("link", name="Dose").click()
    page.locator("#batch[data-ready=yes]").wait_for()
    page.locator("#product_mass").fill("3")
    page.locator("#water").fill("8")
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator("#clock [data-left]")).to_contain_text("left")
    expect(page.locator("#clock [data-next]")).to_contain_text("Next look")
    page.get_by_role("link", name="Tank").click()
    page.locator("#look[data-ready=yes]").wait_for()
    page.locator("#temperature").fill("190")
    expect(page.locator("#stop")).to_contain_text(re.compile(r"Warmer than \d+\.\d\s°F, the cap"))
    expect(page.locator("#stop")).to_contain_text("Drain and rinse now.")
    page.locator("#look button").scroll_into_view_if_needed()
    expect(page.locator("#stop h2")).to_be_in_viewport()
    page.locator("#temperature").fill("90")
    expect(page.locator("#stop")).to_be_hidden()
    page.locator("#ph").fill("1.4")
    page.get_by_role("button", name="Record the look").click()
    expect(page.locator("#unsent")).to_contain_text("2 not sent")
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    expect(page.locator("#do-now li").first).to_be_visible()
    assert house.rows("SELECT count(*) FROM descales_batch") == [(batches + 1,)]
    [(ph, typed)] = house.rows("SELECT ph, as_typed FROM descales_look ORDER BY created_at DESC LIMIT 1")
    assert ph == 1.4 and json.loads(typed)["temperature"]["value"] == "90"


def test_a_check_before_acid_is_recorded(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#checks/hold_test")
    form = page.locator("#check-hold_test[data-ready=yes]")
    form.get_by_label("Held, minutes").fill("15")
    form.get_by_label("Pressure before").fill("58")
    form.get_by_label("Pressure after").fill("58")
    form.get_by_role("button", name="Record").click()
    expect(form.locator("> .said")).to_contain_text("Kept on this phone")
    expect(page.locator("#unsent")).to_have_text("Everything is sent")
    [(outcome, duration)] = house.rows(
        "SELECT outcome, duration_s FROM descales_check WHERE kind = 'hold_test'"
    )
    assert (outcome, duration) == ("passed", 900.0)
    assert tech.complaints == []


def test_what_is_told_late_keeps_its_own_time_and_the_dose_list_shrinks(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#dose")
    shut = page.locator("[data-shut] li")
    expect(shut.first).to_be_visible()
    before = shut.count()
    page.goto(page.url.replace("#dose", "#checks/protection_on"))
    page.locator("#check-protection_on[data-ready=yes]").get_by_role("button", name="Record").click()
    page.goto(page.url.split("#")[0] + "#dose")
    expect(shut).to_have_count(before - 1)
    page.goto(page.url.replace("#dose", "#tank"))
    page.locator("#look[data-ready=yes]").wait_for()
    page.locator("#ph").fill("1.7")
    late = dt.datetime.now() - dt.timedelta(minutes=7)
    page.locator("#when-look").fill(f"{late:%H:%M}")
    page.get_by_role("button", name="Record the look").click()
    expect(page.locator("#log li").first).to_contain_text(f"{late:%H:%M} pH 1.7")
    expect(page.locator("#unsent")).to_have_text("Everything is sent")
    [(at,)] = house.rows("SELECT at FROM descales_look WHERE ph = 1.7")
    told = dt.datetime.fromisoformat(f"{at}").replace(tzinfo=dt.UTC)
    assert abs(told - late.astimezone(dt.UTC)) < dt.timedelta(minutes=1)
    assert tech.complaints == []


def test_one_step_at_a_time_without_a_signal(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#checks/locked_out")
    shown = page.locator("#checks .steps > li:visible")
    expect(shown).to_have_count(1)
    expect(page.locator("#checks [data-count]")).to_contain_text("Step 2 of 15")
    page.locator("#check-locked_out[data-ready=yes]").get_by_role("button", name="Record").click()
    expect(page.locator("#checks [data-count]")).to_contain_text("Kept on this phone. Step 3 of 15")
    page.locator("#checks").get_by_role("button", name="Back").click()
    expect(shown.locator("h3")).to_contain_text("2. Stop the machine")
    expect(shown.locator("h3 + p")).to_have_text("Passed")
    page.locator("#checks").get_by_role("button", name="Next").click()
    page.locator("#checks").get_by_role("button", name="Next").click()
    expect(shown.locator("h3")).to_contain_text("4. Shut and tag")
    page.locator("#checks").get_by_role("button", name="Back").click()
    expect(shown.locator("h3")).to_be_focused()
    page.reload()
    page.goto(page.url.split("#")[0] + "#checks/locked_out")
    expect(shown).to_have_count(1)
    expect(shown.locator("h3 + p")).to_have_text("Passed")
    page.locator("summary", has_text="All steps").first.click()
    expect(
        page.locator("#checks .all-steps a[data-done=passed]", has_text="lock out and tag out")
    ).to_be_visible()
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    assert house.rows("SELECT outcome FROM descales_check WHERE kind = 'locked_out'") == [("passed",)]


def test_what_is_let_out_and_held_and_a_signature_arrive(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#waste")
    out = page.locator("#discharge[data-ready=yes]")
    out.locator("#d-water").select_option("final_rinse")
    out.locator("#d-ph").fill("4.2")
    expect(page.locator("#against")).to_contain_text("Below pH 5")
    out.locator("#d-ph").fill("7.1")
    expect(page.locator("#against")).to_have_text("")
    out.locator("#d-volume").fill("30")
    out.get_by_role("button", name="Record what was let out").click()
    expect(out.locator("> .said")).to_contain_text("Kept on this phone")
    held = page.locator("#held-waste[data-ready=yes]")
    held.get_by_role("button", name="Record what is held").click()
    expect(held.locator("> .said")).to_have_text("Say where it stands.")
    held.locator("#h-where").fill("Bunded tank by the gate")
    held.locator("#h-whose").fill("Larkfield Homes")
    held.get_by_role("button", name="Record what is held").click()
    expect(held.locator("> .said")).to_contain_text("Kept on this phone")
    sign(page)
    expect(page.locator("#unsent")).to_contain_text("3 not sent")
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    mine = house.world["descale"].replace("-", "")
    assert house.rows("SELECT water, route, ph FROM descales_discharge WHERE descale_id = ?", mine) == [
        ("final_rinse", "sewer", 7.1)
    ]
    assert house.rows('SELECT "where", whose FROM descales_heldwaste WHERE descale_id = ?', mine) == [
        ("Bunded tank by the gate", "Larkfield Homes")
    ]
    [(name, strokes)] = house.rows("SELECT name, strokes FROM descales_signoff")
    assert name == "R. Hale" and len(json.loads(strokes)[0]) >= 5


def sign(page: Any) -> None:
    page.get_by_role("link", name="Sign", exact=True).click()
    form = page.locator("#signature[data-ready=yes]")
    form.get_by_label("Name").fill("R. Hale")
    form.get_by_role("button", name="Keep the signature").click()
    expect(form.locator("> .said")).to_contain_text("Draw the signature in the box, or tick")
    page.locator("#pad").scroll_into_view_if_needed()
    box = page.locator("#pad").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 90, steps=5)
    page.mouse.up()
    form.get_by_role("button", name="Keep the signature").click()
    expect(form.locator("> .said")).to_contain_text("Kept on this phone")


def test_a_descale_that_cannot_be_done_is_told_with_its_reason(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    page = tech.goes_to(f"/crew/descales/{house.world['barred']}/#checks")
    page.locator("#could-not summary").click()
    form = page.locator("#could-not-do[data-ready=yes]")
    form.get_by_label("Why").select_option("valve_does_not_hold")
    form.get_by_role("button", name="It could not be done").click()
    expect(form.locator("> .said")).to_have_text("Say in words why it could not be done.")
    form.get_by_label("In words").fill("The supply valve passes")
    form.get_by_role("button", name="It could not be done").click()
    expect(form.locator("> .said")).to_contain_text("Kept on this phone")
    expect(page.locator("#unsent")).to_have_text("Everything is sent")
    barred = house.world["barred"].replace("-", "")
    [(state, why)] = house.rows("SELECT state, could_not_because FROM descales_descale WHERE id = ?", barred)
    assert (state, why) == ("could_not_do", "valve_does_not_hold")
    [(instead,)] = house.rows("SELECT because FROM descales_descale WHERE instead_of_id = ?", barred)
    assert "The supply valve passes" in instead
    assert tech.complaints == []


def test_label_and_safety_sheet_open_without_a_signal_and_go_at_sign_out(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    house.stop_server()
    tech.expects_no_signal = True
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#help")
    for name in ("The label", "The safety data sheet"):
        address = page.get_by_role("link", name=name).get_attribute("href")
        first = page.evaluate("async (a) => (await (await fetch(a)).text()).slice(0, 5)", address)
        assert first == "%PDF-", name
    house.start_server()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")
    left = page.evaluate("async () => (await caches.keys()).filter((name) => name.startsWith('pages-'))")
    assert left == []


def the_kept_page_knows_the_bath(page: Page) -> None:
    """What opens without a signal is the page as the service made it after the bath was told."""
    for _ in range(100):
        text = page.evaluate("async () => (await (await caches.match(location.pathname))?.text()) || ''")
        if '"out_by": "' in text:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the page on the phone is older than the bath")


def test_a_bath_that_is_out_stays_out_when_the_page_comes_back(gives: Gives, house: House) -> None:
    """The service knows the bath; that it is out only the phone does. Nothing is ever sent of that."""
    tech = open_descale(gives, house)
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#dose")
    page.locator("#batch[data-ready=yes]").wait_for()
    page.locator("#product_mass").fill("3")
    page.locator("#water").fill("8")
    page.get_by_role("button", name="Start the clock").click()
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    page.reload()
    expect(page.locator("#clock")).to_be_visible()
    the_kept_page_knows_the_bath(page)
    house.stop_server()
    tech.expects_no_signal = True
    page.get_by_role("link", name="Tank").click()
    page.locator("#batch-is-out[data-ready=yes]").wait_for()
    page.get_by_role("button", name="The batch is out").click()
    expect(page.locator("#clock")).to_be_hidden()
    page.reload()
    page.locator("#look[data-ready=yes]").wait_for()
    page.wait_for_timeout(1500)
    expect(page.locator("#clock")).to_be_hidden()
    expect(page.locator("#batch-is-out")).to_be_hidden()
