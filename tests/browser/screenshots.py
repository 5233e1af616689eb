"""Pictures of every page at both widths in light and dark: `python -m tests.browser.screenshots [FOLDER]
[PART OF A NAME]`. The folder is var/screenshots unless given."""

from __future__ import annotations

import os
import sys
import tempfile
from itertools import product
from pathlib import Path

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

django.setup()

from django.conf import settings  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402

from tests.browser import house as houses  # noqa: E402
from tests.browser.phone import DESK, PHONE, Hand, hand  # noqa: E402
from tests.browser.shown import Shown, every_page  # noqa: E402

WIDTHS = {"390": PHONE, "1280": DESK}
SCHEMES = ("light", "dark")


def look(person: Hand, page: Shown, house: houses.House, path: Path) -> None:
    person.settles_at(page.address(house.world))
    if page.then:
        person.page.evaluate(page.then)
        person.page.wait_for_timeout(600)
    person.page.screenshot(path=str(path), full_page=True)
    print(path)


def one_person(person: Hand, pages: list[Shown], house: houses.House, folder: Path, width: str) -> None:
    for page in pages:
        for scheme in SCHEMES:
            person.page.emulate_media(color_scheme=scheme)
            look(person, page, house, folder / f"{page.name}-{width}-{scheme}.png")


def everybody(pages: list[Shown], folder: Path, profiles: Path) -> None:
    with houses.running() as house, sync_playwright() as playwright:
        for who, width in product(sorted({page.who for page in pages}), WIDTHS):
            profile = profiles / f"{who or 'nobody'}-{width}"
            with hand(playwright.chromium, profile, house.address, viewport=WIDTHS[width]) as person:
                if who:
                    person.signs_in(f"{who}@example.org")
                one_person(person, [page for page in pages if page.who == who], house, folder, width)


def main() -> None:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else Path(settings.BASE_DIR) / "var" / "screenshots")
    part = sys.argv[2] if len(sys.argv) > 2 else ""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as profiles:
        everybody([page for page in every_page() if part in page.name], folder, Path(profiles))


if __name__ == "__main__":
    main()
