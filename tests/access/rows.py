"""How a row of the table is written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.access.world import World

ACTORS = ("owner", "office", "assigned", "other", "client", "other_client", "anonymous")
Body = Callable[[World], dict[str, Any]]


@dataclass(frozen=True)
class Row:
    """One method of one route, and the status that each actor must get.

    of       what fills the route's <placeholder>: a name in the world; "" where there is none
    body     what is sent, made from the world
    trace    False where a success leaves no Change, with the reason in `because`
    """

    method: str
    route: str
    statuses: dict[str, int]
    of: str = ""
    body: Body | None = None
    format: str = "json"
    trace: bool = True
    because: str = ""

    @property
    def name(self) -> str:
        return f"{self.method} {self.route}" + (f" of {self.of}" if self.of else "")


# what a phone may send twice: urgent visit, start and finish, readings and what is done to them, findings,
# photos, and asking for work
BY_PHONE = {
    "POST api/v1/visits/urgent/",
    "POST api/v1/visits/<uuid:pk>/start/",
    "POST api/v1/visits/<uuid:pk>/finish/",
    "POST api/v1/readings/",
    "POST api/v1/readings/<uuid:pk>/correct/",
    "POST api/v1/readings/<uuid:pk>/move/",
    "POST api/v1/readings/<uuid:pk>/set-aside/",
    "POST api/v1/findings/",
    "PATCH api/v1/findings/<uuid:pk>/",
    "POST api/v1/findings/<uuid:pk>/retire/",
    "POST api/v1/findings/<uuid:pk>/bring-back/",
    "POST api/v1/findings/<uuid:pk>/photo/",
    "POST api/v1/assessments/",
    "POST api/v1/assessments/reassess/",
    "POST api/v1/documents/",
    "POST api/v1/discharges/<uuid:pk>/acceptance/",
    "POST api/v1/descales/acid-is-in/",
    "POST api/v1/descales/<uuid:pk>/could-not-do/",
    *(
        f"POST api/v1/descales/<uuid:pk>/{what}/"
        for what in (
            "checks",
            "batches",
            "batch-out",
            "portions",
            "looks",
            "end-steps",
            "discharges",
            "held-waste",
            "sign-offs",
        )
    ),
}


def row(method: str, route: str, statuses: str, **given: Any) -> Row:
    """`statuses` in the order of ACTORS: owner office | assigned other | client other_client | anonymous."""
    codes = [int(code) for code in statuses.replace("|", " ").split()]
    return Row(method, f"api/v1/{route}", dict(zip(ACTORS, codes, strict=True)), **given)


# what a site's records answer: seen by the office, the crew of a visit there, and the site's client
SEEN = "200 200 | 200 404 | 200 404 | 401"
OFFICE_CHANGES = "200 200 | 403 404 | 403 404 | 401"
OFFICE_ADDS = "201 201 | 403 403 | 403 403 | 401"
ANYONE_LISTS = "200 200 | 200 200 | 200 200 | 401"


UNSEEN = "200 200 | 404 404 | 404 404 | 401"


def record(
    route: str,
    of: str,
    *,
    new: Body,
    changed: Body,
    lists: str = ANYONE_LISTS,
    seen: str = SEEN,
    office: str = OFFICE_CHANGES,
    to_retire: tuple[str, str] | None = None,
    to_bring_back: str = "",
) -> list[Row]:
    """The rows of a record that the office keeps: listed, added, read, changed, retired, brought back.

    to_retire      another thing to retire than `of`, and its statuses
    to_bring_back  the statuses of bringing back, where the retired one is not seen as the others are
    """
    detail = f"{route}<uuid:pk>/"
    retired, statuses = to_retire or (of, office)
    return [
        row("GET", route, lists),
        row("POST", route, OFFICE_ADDS, body=new),
        row("GET", detail, seen, of=of),
        row("PATCH", detail, office, of=of, body=changed),
        row("POST", f"{detail}retire/", statuses, of=retired),
        row("POST", f"{detail}bring-back/", to_bring_back or office, of=f"retired_{of}"),
    ]
