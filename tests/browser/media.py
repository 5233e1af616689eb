"""A page in another scheme or on paper, once its colours have changed: some of them fade."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

FADED = """() => new Promise(requestAnimationFrame).then(() => Promise.race([
    Promise.allSettled(document.getAnimations().map((one) => one.finished)),
    new Promise((met) => setTimeout(met, 2000)),
]))"""


def turn(page: Page, **media: Any) -> None:
    page.emulate_media(**media)
    page.evaluate(FADED)
