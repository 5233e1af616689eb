"""The descale beside the tank: its stop rules without a signal are no milder than the engine's, and what is
recorded there arrives."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import subprocess
from typing import Any

import numpy as np
import pytest
from django.conf import settings
from playwright.sync_api import expect

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


def test_what_only_eyes_and_noses_tell_stops_it_too() -> None:
    blue = case(20, colour="blue", earlier=[{"colour": "faint_blue"}])
    steady = case(20, colour="faint_blue", earlier=[{"colour": "faint_blue"}])
    cases = [blue, steady, case(5, leak=True), case(5, fumes="brown"), case(5, gas_alarm=True), case(5)]
    assert on_the_phone(cases) == [["blue_deepening"], [], ["leak"], ["fumes"], ["gas_alarm"], []]


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
    page.get_by_role("link", name="Tank").click()
    page.locator("#look[data-ready=yes]").wait_for()
    page.locator("#temperature").fill("190")
    expect(page.locator("#stop")).to_contain_text("Warmer than")
    expect(page.locator("#stop")).to_contain_text("Drain and rinse now.")
    page.locator("#temperature").fill("90")
    expect(page.locator("#stop")).to_be_hidden()
    page.locator("#ph").fill("1.4")
    page.get_by_role("button", name="Record the look").click()
    expect(page.locator("#unsent")).to_contain_text("2 not sent")
    house.start_server()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(page.locator("#unsent")).to_have_text("Everything is sent", timeout=30_000)
    expect(page.locator("#do-now li").first).to_be_visible()
    assert house.rows("SELECT count(*) FROM descales_batch") == [(1,)]
    [(ph, typed)] = house.rows("SELECT ph, as_typed FROM descales_look")
    assert ph == 1.4 and json.loads(typed)["temperature"]["value"] == "90"


def test_a_check_before_acid_is_recorded(gives: Gives, house: House) -> None:
    tech = open_descale(gives, house)
    page = tech.goes_to(f"/crew/descales/{house.world['descale']}/#checks")
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
