"""What a page looks like on paper: dark ink on white, without what only a screen can use.

Browsers print no backgrounds, so that ink is held against white whatever lies behind it on the screen.
"""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.media import turn

LEAST_CONTRAST = 4.5  # WCAG 2.2, 1.4.3: text of usual size
FAULTS = """(least) => {
  const shown = (e) => e.checkVisibility({visibilityProperty: true, opacityProperty: true});
  const light = (words) => {
    const [r, g, b, a = 1] = words.match(/[\\d.]+/g).map(Number);
    const linear = [r, g, b].map((one) => (one * a + 255 * (1 - a)) / 255)
      .map((s) => (s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4));
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  };
  const told = (e) => e.outerHTML.slice(0, 120), faults = [];
  for (const e of document.querySelectorAll("nav, button, .button, input[type=submit], select, [type=file]"))
    if (shown(e)) faults.push(`of no use on paper: ${told(e)}`);
  const paper = getComputedStyle(document.body).backgroundColor;
  if (light(paper) < 1) faults.push(`the paper is not white: ${paper}`);
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), seen = new Set();
  while (texts.nextNode()) {
    const e = texts.currentNode.parentElement;
    if (!texts.currentNode.data.trim() || seen.has(e) || !shown(e)) continue;
    seen.add(e);
    const style = getComputedStyle(e), ink = e instanceof SVGElement ? style.fill : style.color;
    const contrast = 1.05 / (light(ink) + 0.05);
    if (contrast < least) faults.push(`pale ink, ${contrast.toFixed(1)}: ${told(e)}`);
  }
  return seen.size ? faults : [...faults, "nothing is printed"];
}"""


def faults(page: Page, scheme: str) -> list[str]:
    """One line each; empty where it prints well. The page is left as on a screen."""
    turn(page, media="print", color_scheme=scheme)
    try:
        found: list[str] = page.evaluate(FAULTS, LEAST_CONTRAST)
        return found
    finally:
        turn(page, media="screen", color_scheme=scheme)
