"""The pages: who may open which. A stranger is sent to sign in (302)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests import make
from tests.access.rows import ACTORS
from tests.access.world import World


@dataclass(frozen=True)
class PageRow:
    """of: the name in the world that fills the placeholder; form: what a POST sends, made from the world."""

    method: str
    route: str
    statuses: dict[str, int]
    of: str = ""
    form: Callable[[World], dict[str, Any]] | None = None

    @property
    def name(self) -> str:
        return f"{self.method} /{self.route}" + (f" of {self.of}" if self.of else "")


def page(method: str, route: str, statuses: str, **given: Any) -> PageRow:
    """`statuses` in the order of ACTORS: owner office | assigned other | client other_client | anonymous."""
    codes = [int(code) for code in statuses.replace("|", " ").split()]
    return PageRow(method, route, dict(zip(ACTORS, codes, strict=True)), **given)


OPEN = "200 200 | 200 200 | 200 200 | 200"
ALL = "200 200 | 200 200 | 200 200 | 302"
ALL_SEND = "302 302 | 302 302 | 302 302 | 302"
OFFICE_ONLY = "200 200 | 403 403 | 403 403 | 302"
CREW_ONLY = "200 200 | 200 200 | 403 403 | 302"
CLIENTS_ONLY = "403 403 | 403 403 | 200 200 | 302"
NEW = "some quite new words"

ROWS = [
    page("GET", "", "302 302 | 302 302 | 302 302 | 200"),
    page("GET", "sign-in/", "302 302 | 302 302 | 302 302 | 200"),
    page("POST", "sign-in/", "302 302 | 302 302 | 302 302 | 302",
         form=lambda world: {"username": world.other.email, "password": make.PASSWORD}),
    page("POST", "sign-out/", ALL_SEND),
    page("GET", "forgotten/", OPEN),
    page("POST", "forgotten/", OPEN, form=lambda world: {"email": "nobody@example.org"}),
    page("GET", "set-password/<str:secret>/", OPEN, of="password_secret"),
    page("POST", "set-password/<str:secret>/", ALL_SEND, of="password_secret",
         form=lambda world: {"new_password": NEW}),
    page("GET", "account/", ALL),
    page("POST", "account/", ALL_SEND, form=lambda world: {"name": "Someone", "units": "si"}),
    page("GET", "account/password/", ALL),
    page("POST", "account/password/", ALL_SEND,
         form=lambda world: {"current_password": make.PASSWORD, "new_password": NEW}),
    page("POST", "account/tokens/<int:pk>/end/", "404 404 | 302 404 | 404 404 | 302", of="token"),
    page("POST", "account/sessions/<int:pk>/end/", "404 404 | 302 404 | 404 404 | 302", of="page_session"),
    page("GET", "help/", ALL),
    page("GET", "office/", OFFICE_ONLY),
    page("GET", "office/search/", OFFICE_ONLY),
    page("GET", "client/", CLIENTS_ONLY),
    page("GET", "crew/", CREW_ONLY),
]  # fmt: skip
