"""Ten phones at once on the embedded setting: from typed to what to do next, asked as the page asks.

`python -m tests.benchmarks.phones [PHONES] [READINGS EACH]`, ten and six unless given. One of the phones is a
real browser: it is timed in the page, from the tap on "Save the readings" to the answer on its screen. The
others speak to the service as the page's script does, request by request: who is signed in, the post, the
work item every half second, the answer, then the ranking of causes. Each posts its next reading as soon as it
has both. Prints, for the screen and for all, median and 95th percentile of the time to the answer, and to the
ranking that completes it.
"""

from __future__ import annotations

import http.cookiejar
import json
import os
import statistics
import sys
import tempfile
import time
import urllib.parse
import urllib.request
import uuid
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django
from playwright.sync_api import sync_playwright

from tests.browser import house as houses
from tests.browser.house import House
from tests.browser.phone import Hand, hand

EMAIL = "tech@example.org"
ASK_EVERY_S = 0.5  # as contractor/web/static/web/crew/answer.js
GIVE_UP_S = 120.0
WARM_UP = 3
TYPED = {
    "entering_water": ("86.0", "degF"), "leaving_water": ("95.6", "degF"), "water_flow": ("8.7", "gpm"),
    "head_pressure": ("415", "psig"), "liquid_line": ("101.5", "degF"), "suction_pressure": ("130", "psig"),
    "suction_line": ("56", "degF"),
}  # fmt: skip
TAP = """() => new Promise((met) => {
  const out = document.getElementById("answer"), began = performance.now();
  let answered = null;
  delete out.dataset.ranked;
  new MutationObserver((_, watch) => {
    if (out.dataset.answered && answered === null) answered = performance.now() - began;
    if (answered === null || out.dataset.ranked !== out.dataset.answered) return;
    watch.disconnect();
    met([answered / 1000, (performance.now() - began) / 1000]);
  }).observe(out, { attributes: true });
  document.querySelector("#reading button.wide").click();
})"""


@dataclass(frozen=True)
class Took:
    """Seconds from typed to the answer, and to the ranking of causes that completes it."""

    answered_s: float
    ranked_s: float


@dataclass
class Phone:
    """Signed in with a session, as a browser is."""

    address: str
    cookies: http.cookiejar.CookieJar = field(default_factory=http.cookiejar.CookieJar)

    def __post_init__(self) -> None:
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))

    def sign_in(self, email: str, password: str) -> None:
        self.opener.open(self.address + "/sign-in/", timeout=60).read()
        token = next(one.value for one in self.cookies if "csrf" in one.name)
        form = {"username": email, "password": password, "csrfmiddlewaretoken": token}
        data = urllib.parse.urlencode(form).encode()
        self.opener.open(self.address + "/sign-in/", data=data, timeout=60).read()

    def ask(self, path: str, body: Any = None, csrf: str = "") -> Any:
        headers, data = {"Accept": "application/json"}, None
        if body is not None:
            data = json.dumps(body).encode()
            headers |= {"Content-Type": "application/json", "Idempotency-Key": f'"{uuid.uuid4()}"'}
            headers["X-CSRFToken"] = csrf
        request = urllib.request.Request(self.address + path, data=data, headers=headers)
        with self.opener.open(request, timeout=60) as answer:
            return json.load(answer)

    def reads(self, exchanger: str, visit: str) -> Took:
        now = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
        as_typed = {name: {"value": value, "unit": unit} for name, (value, unit) in TYPED.items()}
        body = {
            "id": str(uuid.uuid4()), "visit": visit, "exchanger": exchanger, "mode": "cooling",
            "taken_at": now, "minutes_running": 20, "strainer": "clean", "as_typed": as_typed,
        }  # fmt: skip
        began = time.monotonic()
        csrf = self.ask("/crew/who/")["csrf"]
        posted = self.ask("/api/v1/readings/", body, csrf)
        self.until_done(lambda: self.ask(posted["work_item"]))
        self.ask(f"/crew/readings/{posted['id']}/told/")
        answered = time.monotonic() - began
        items = f"/api/v1/work-items/?kind=rank&subject={posted['id']}"
        self.until_done(lambda: self.ask(items)["results"][0])
        self.ask(f"/crew/readings/{posted['id']}/told/")
        return Took(answered, time.monotonic() - began)

    def until_done(self, item: Any) -> None:
        until = time.monotonic() + GIVE_UP_S
        while time.monotonic() < until:
            found = item()
            assert found["state"] != "failed", found
            if found["state"] == "done":
                return
            time.sleep(ASK_EVERY_S)
        raise AssertionError(f"no answer within {GIVE_UP_S:.0f} s")


def phone_of(house: House) -> Phone:
    from tests.make import PASSWORD

    phone = Phone(house.address)
    phone.sign_in(EMAIL, PASSWORD)
    return phone


def on_screen(tech: Hand, exchanger: str, visit: str) -> Took:
    """Typed into the page's own form; timed in the page from the tap to the words on screen."""
    page = tech.page
    for name, (value, unit) in TYPED.items():
        page.select_option(f"#reading [name={name}_unit]", unit)
        page.fill(f"#{name}", value)
    page.select_option("#strainer", "clean")
    page.fill("#minutes_running", "20")
    answered, ranked = page.evaluate(TAP)
    return Took(answered, ranked)


def measure(house: House, phones: int, each: int, screen: Hand) -> tuple[list[Took], list[Took]]:
    """What every reading took: on the screen, and on the phones beside it. A few, unmeasured, warm up."""
    visit, exchanger = house.world["visits"]["today"], house.world["exchangers"]["first"]
    hands = [phone_of(house) for _ in range(phones - 1)]
    screen.goes_to(f"/crew/exchangers/{exchanger}/reading/?visit={visit}")
    screen.page.locator("#reading[data-ready=yes]").wait_for()
    for _ in range(WARM_UP):
        on_screen(screen, exchanger, visit)
    with ThreadPoolExecutor(max(1, len(hands))) as pool:
        beside = [
            pool.submit(lambda one: [one.reads(exchanger, visit) for _ in range(each)], phone)
            for phone in hands
        ]
        seen = [on_screen(screen, exchanger, visit) for _ in range(each)]
        return seen, [took for done in beside for took in done.result()]


def percentile_95(values: Iterable[float]) -> float:
    ordered = sorted(values)
    return ordered[max(0, -(-len(ordered) * 95 // 100) - 1)]


def told(name: str, values: list[float]) -> str:
    return (
        f"{name}: {len(values)} readings, median {statistics.median(values):.2f} s, "
        f"95th percentile {percentile_95(values):.2f} s, longest {max(values):.2f} s"
    )


def main() -> None:
    django.setup()
    phones = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    each = int(sys.argv[2]) if len(sys.argv) > 2 else 6
    with (
        houses.running() as house, sync_playwright() as playwright, tempfile.TemporaryDirectory() as profile,
        hand(playwright.chromium, Path(profile), house.address) as screen,
    ):  # fmt: skip
        screen.signs_in(EMAIL)
        seen, beside = measure(house, phones, each, screen)
    every = [*seen, *beside]
    print(f"{phones} phones at once, one of them a browser")
    print(told("answered, on the screen", [one.answered_s for one in seen]))
    print(told("answered, all phones", [one.answered_s for one in every]))
    print(told("causes ranked, all phones", [one.ranked_s for one in every]))


if __name__ == "__main__":
    main()
