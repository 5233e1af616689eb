"""A person with a browser: signs in, goes places, and everything that the console says against us is kept."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, BrowserType, ConsoleMessage, Error, Page

CHROMIUM = "/usr/bin/chromium"
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}
NO_SIGNAL = ("net::ERR_", "Failed to load resource")


def chromium() -> str:
    found = shutil.which("chromium") or CHROMIUM
    assert Path(found).exists(), "Chromium is missing: install Debian's package chromium"
    return found


@dataclass
class Hand:
    """One browser profile in one person's hand."""

    context: BrowserContext
    page: Page
    address: str
    complaints: list[str] = field(default_factory=list)
    expects_no_signal: bool = False

    def goes_to(self, path: str, **options: Any) -> Page:
        self.page.goto(self.address + path, **options)
        return self.page

    def settles_at(self, path: str) -> Page:
        """There, with its scripts run. A page under a service worker never counts as idle on the network."""
        self.goes_to(path)
        self.page.wait_for_timeout(400)
        return self.page

    def signs_in(self, email: str, password: str = "") -> Page:
        from tests.make import PASSWORD  # rows: not before Django is set up

        self.goes_to("/sign-in/")
        self.page.fill("input[name=username]", email)
        self.page.fill("input[name=password]", password or PASSWORD)
        self.page.press("input[name=password]", "Enter")
        self.page.wait_for_url(lambda url: "/sign-in/" not in url)
        return self.page

    def listen(self, page: Page) -> None:
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.complaints.append(f"{page.url}: {error}"))

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type != "error":
            return
        if self.expects_no_signal and any(words in message.text for words in NO_SIGNAL):
            return
        self.complaints.append(f"{message.location.get('url')}: {message.text}")


@contextmanager
def hand(
    kind: BrowserType, profile: Path, address: str, *, viewport: dict[str, int] | None = None, **options: Any
) -> Iterator[Hand]:
    """A profile that is kept on disk: opened again it holds what the last one left."""
    context = kind.launch_persistent_context(
        str(profile), executable_path=chromium(), args=["--no-sandbox"], viewport=viewport or PHONE, **options
    )  # fmt: skip
    found = Hand(context, context.pages[0] if context.pages else context.new_page(), address)
    found.listen(found.page)
    context.on("page", found.listen)
    context.set_default_timeout(20_000)
    try:
        yield found
    finally:
        with suppress(Error):  # a browser that was killed has nothing to close
            context.close()


def kill(profile: Path) -> None:
    """The browser of this profile, at once, as when a battery gives out."""
    for entry in Path("/proc").iterdir():
        if not entry.name.isdecimal():
            continue
        with suppress(OSError):
            words = (entry / "cmdline").read_bytes().split(b"\0")
            mine = f"--user-data-dir={profile}".encode() in words
            if mine and not any(word.startswith(b"--type=") for word in words):
                os.kill(int(entry.name), signal.SIGKILL)
