"""Pages that anyone may open."""

from tests.browser.shown import Shown

PAGES = [Shown("sign-in", "", "/sign-in/")]
