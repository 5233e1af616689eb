"""Pages that anyone may open."""

from tests.browser.shown import Shown

PAGES: list[Shown] = []
