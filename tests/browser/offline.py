"""Seeded journeys without a signal: `python -m tests.browser.offline [HOW MANY] [FIRST SEED]`, else 100.

In each a technician types and saves readings, findings with and without a photo, and rows of a survey, while
the server stops and starts, the line is cut, replies are lost after the server has done its work, and the
browser is killed and restarted. In the end every value that was typed stands in the database exactly once.
"""

from __future__ import annotations

import io
import json
import os
import random
import sys
import tempfile
import time
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django
from PIL import Image
from playwright.sync_api import Playwright, expect, sync_playwright

from tests.browser import house as houses
from tests.browser.house import House
from tests.browser.phone import Hand, hand, kill

EMAIL = "tech@example.org"
HAPPENINGS = ("nothing", "stop", "start", "cut", "restore", "lose", "lose", "restart")
VALUES = ("entering_water", "leaving_water", "head_pressure", "suction_pressure", "liquid_line")
KINDS = ("reading", "reading", "finding", "photo", "survey")
SENT_WITHIN_S = 60
PATIENCE_MS = 60_000  # beside other work of the machine


@dataclass
class Typed:
    """What one save must leave: a note that is nobody else's, its values as typed, its photo."""

    kind: str
    note: str
    values: dict[str, str] = field(default_factory=dict)

    @property
    def notes(self) -> str:
        """The field that holds the note."""
        return "could_not_do" if self.kind == "survey" else "note"

    @property
    def has_photo(self) -> bool:
        return self.kind == "photo"


class Journey:
    def __init__(self, seed: int, playwright: Playwright, house: House, folder: Path) -> None:
        self.seed, self.random, self.playwright, self.house = seed, random.Random(seed), playwright, house
        self.profile = folder / f"phone-{seed}"
        self.stack = ExitStack()
        self.typed: list[Typed] = []
        self.told: list[str] = []
        self.open_browser()

    # --- what befalls the phone
    def open_browser(self) -> None:
        kept = hand(self.playwright.chromium, self.profile, self.house.address)
        self.tech: Hand = self.stack.enter_context(kept)
        self.tech.context.set_default_timeout(PATIENCE_MS)

    def kill_browser(self) -> None:
        kill(self.profile)
        self.stack.close()
        self.open_browser()

    def befall(self, what: str) -> None:
        self.told.append(what)
        line = self.house.proxy.line
        if what == "stop":
            self.house.stop_server()
        elif what == "start" and "server" not in self.house.processes:
            self.house.start_server()
        elif what == "cut":
            line.cut = True
        elif what == "restore":
            self.house.proxy.restore()
        elif what == "lose":
            left = [self.random.randint(1, 3)]
            line.lose = lambda method, path: self.loses(method, path, left)
        elif what == "restart":
            self.kill_browser()

    def loses(self, method: str, path: str, left: list[int]) -> bool:
        if method != "POST" or not path.startswith("/api/") or left[0] == 0:
            return False
        left[0] -= 1
        return True

    # --- what the technician does
    def go(self, path: str) -> None:
        """There, signed in if the service asks for it (a killed browser may forget a fresh cookie)."""
        self.tech.goes_to(path)
        if "/sign-in/" in self.tech.page.url:
            self.tech.signs_in(EMAIL)
            self.bring_along()
            self.tech.goes_to(path)

    def bring_along(self) -> None:
        self.tech.goes_to("/crew/")
        self.tech.page.locator("#brought[data-ready=yes]").wait_for(timeout=60_000)

    def begin(self) -> None:
        self.tech.signs_in(EMAIL)
        self.bring_along()

    def form_of(self, kind: str) -> tuple[str, str]:
        world, visits = self.house.world, self.house.world["visits"]
        which = self.random.choice(("first", "second", "second_b"))
        exchanger = world["exchangers"][which]
        if kind == "reading":
            return f"/crew/exchangers/{exchanger}/reading/?visit={visits['today']}", "#reading"
        if kind == "survey":
            return f"/crew/visits/{visits['survey']}/survey/", f"form.survey[data-exchanger='{exchanger}']"
        return f"/crew/units/{world['units'][which]}/?visit={visits['today']}", "#finding"

    def fill(self, selector: str, typed: Typed) -> None:
        page = self.tech.page
        for name, text in typed.values.items():
            page.locator(f"{selector} [name={name}]").fill(text)
        note = page.locator(f"{selector} [name={typed.notes}]")
        note.evaluate("e => { const d = e.closest('details'); if (d) d.open = true; }")
        note.fill(typed.note)
        if typed.has_photo:
            content = picture(self.random.randrange(256))
            photo = {"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": content}
            page.set_input_files(f"{selector} [type=file]", [photo])
        wanted = len(typed.values) + 1 + typed.has_photo
        self.all_is_kept(selector, wanted)

    def all_is_kept(self, selector: str, wanted: int) -> None:
        """Asked from here: the page's security policy lets nobody evaluate a waiting function there."""
        until = time.monotonic() + PATIENCE_MS / 1000
        form = self.tech.page.locator(selector)
        while int(form.get_attribute("data-kept") or 0) < wanted:
            assert time.monotonic() < until, (self.seed, self.told, selector, wanted)
            self.tech.page.wait_for_timeout(20)

    def save(self, selector: str) -> None:
        self.tech.page.locator(f"{selector} .send button:not(.plain)").click()

    def kept(self, selector: str) -> None:
        expect(self.tech.page.locator(f"{selector} > .said")).to_contain_text("Kept on this phone")

    def still_typed(self, path: str, selector: str, typed: Typed) -> bool:
        self.go(path)
        self.tech.page.locator(f"{selector}[data-ready=yes]").wait_for()
        page = self.tech.page
        there = page.locator(f"{selector} [name={typed.notes}]").input_value() == typed.note
        if there and typed.has_photo:
            expect(page.locator(f"{selector} > .said")).to_contain_text("IMG.jpg is kept")
        if there:
            for name, text in typed.values.items():
                assert page.locator(f"{selector} [name={name}]").input_value() == text, (self.told, name)
        return there

    def one_form(self, number: int) -> None:
        kind = self.random.choice(KINDS)
        path, selector = self.form_of(kind)
        typed = Typed(kind, f"journey {self.seed} form {number}")
        if kind in ("reading", "survey"):
            chosen = self.random.sample(VALUES, self.random.randint(1, len(VALUES)))
            typed.values = {name: f"{self.random.uniform(60, 120):.4f}" for name in chosen}
        self.typed.append(typed)
        self.go(path)
        self.tech.page.locator(f"{selector}[data-ready=yes]").wait_for()
        self.fill(selector, typed)
        when = self.random.choice(("none", "none", "typed", "saving", "saved"))
        self.told.append(f"{kind}, killed: {when}")
        if when == "typed":
            self.kill_browser()
            assert self.still_typed(path, selector, typed), (self.told, "a draft was lost")
        self.save(selector)
        if when == "saving":
            self.kill_browser()
            if self.still_typed(path, selector, typed):
                self.save(selector)
                self.kept(selector)
            return
        self.kept(selector)
        if when == "saved":
            self.kill_browser()

    def run(self) -> None:
        try:
            self.begin()
            for number in range(self.random.randint(3, 5)):
                self.befall(self.random.choice(HAPPENINGS))
                self.one_form(number)
            self.end()
        finally:
            self.stack.close()
            self.house.proxy.restore()
            self.befall("start")

    def end(self) -> None:
        self.befall("restore")
        self.befall("start")
        self.go("/crew/")
        self.tech.page.evaluate("dispatchEvent(new Event('online'))")
        sent = self.tech.page.locator("#unsent")
        expect(sent).to_have_text("Everything is sent", timeout=SENT_WITHIN_S * 1000)
        self.check()

    def check(self) -> None:
        for typed in self.typed:
            if typed.kind == "reading":
                question = "SELECT as_typed FROM visits_reading WHERE note = ?"
                rows = [values_of(row) for row in self.house.rows(question, typed.note)]
                assert rows == [typed.values], (self.seed, self.told, typed, rows)
                continue
            found = self.house.rows("SELECT photo FROM visits_finding WHERE note = ?", typed.note)
            assert len(found) == 1, (self.seed, self.told, typed, found)
            assert bool(found[0][0]) == typed.has_photo, (self.seed, self.told, typed, found)
            if typed.kind == "survey":
                every = self.house.rows("SELECT as_typed FROM visits_reading")
                same = [row for row in every if values_of(row) == typed.values]
                assert len(same) == 1, (self.seed, self.told, typed, len(same))


def values_of(row: tuple[str, ...]) -> dict[str, str]:
    return {name: entry["value"] for name, entry in json.loads(row[0]).items()}


def picture(shade: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (320, 240), (shade, 120, 90)).save(out, "JPEG")
    return out.getvalue()


def main() -> None:
    django.setup()
    expect.set_options(timeout=PATIENCE_MS)
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    failed, forms, began = 0, 0, time.monotonic()
    with (
        houses.running(worker=False) as house,
        sync_playwright() as playwright,
        tempfile.TemporaryDirectory() as folder,
    ):
        for seed in range(first, first + many):
            journey = Journey(seed, playwright, house, Path(folder))
            try:
                journey.run()
            except Exception as wrong:
                failed += 1
                print(f"journey {seed} FAILED: {wrong!r}"[:2000], journey.told, flush=True)
            forms += len(journey.typed)
            print(f"journey {seed}: {journey.told}", flush=True)
    spent = time.monotonic() - began
    print(
        f"{many - failed} of {many} journeys ({forms} forms) lost nothing and doubled nothing, {spent:.0f} s"
    )
    sys.exit(bool(failed))


if __name__ == "__main__":
    main()
