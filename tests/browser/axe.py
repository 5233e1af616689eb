"""axe-core, fetched by npm when a test asks for it, into a folder that is not kept in the repository."""

from __future__ import annotations

import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from playwright.sync_api import CDPSession, Page

from tests.browser.media import turn

VERSION = "4.10"
FOR_THE_SUN = "{type: 'rule', values: ['color-contrast-enhanced']}"  # 7 to 1; larger type 4.5 to 1
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
STANDARD = f"{{type: 'tag', values: {TAGS!r}}}"


@cache
def script() -> str:
    folder = Path(settings.BASE_DIR) / "var" / "npm"
    found = folder / "node_modules" / "axe-core" / "axe.min.js"
    if not found.exists():
        npm = shutil.which("npm")
        assert npm, "npm is missing: the accessibility checks need it to fetch axe-core"
        folder.mkdir(parents=True, exist_ok=True)
        quietly = ["--no-audit", "--no-fund", "--no-save", "--prefix", str(folder)]
        command = [npm, "install", *quietly, f"axe-core@{VERSION}"]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
    return found.read_text()


def pale(page: Page, *schemes: str) -> list[str]:
    """Words that stand off what is behind them by less than is readable in the sun."""
    return violations(page, *schemes, only=FOR_THE_SUN)


def violations(page: Page, *schemes: str, only: str = "") -> list[str]:
    """What axe finds on the page as it stands, in each scheme that is named: one line each, empty where
    nothing is wrong."""
    # in a world of its own, past the page's content security policy
    session = page.context.new_cdp_session(page)
    frame = session.send("Page.getFrameTree")["frameTree"]["frame"]["id"]
    world = session.send("Page.createIsolatedWorld", {"frameId": frame, "worldName": "axe"})
    where = {"contextId": world["executionContextId"], "awaitPromise": True, "returnByValue": True}
    session.send("Runtime.evaluate", {"expression": script() + "; 0", **where})
    found = []
    for scheme in schemes or ("",):
        if scheme:
            turn(page, color_scheme=scheme)
        found += [f"{scheme} {line}" for line in run(session, where, only or STANDARD)]
    session.detach()
    return found


def run(session: CDPSession, where: dict[str, Any], only: str) -> list[str]:
    # what passes is not described, which would take longer than finding what does not
    told = "resultTypes: ['violations'], selectors: false"
    asked = f"axe.run(document, {{runOnly: {only}, {told}}})"
    answer: dict[str, Any] = session.send("Runtime.evaluate", {"expression": asked, **where})
    assert "exceptionDetails" not in answer, answer
    return [
        f"{found['id']}: {node['html'][:160]} ({node['failureSummary'][:200]})"
        for found in answer["result"]["value"]["violations"]
        for node in found["nodes"]
    ]
