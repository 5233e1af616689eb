"""Server time and questions to the database of every page that is read, on what stands in the register:

    WATERSIDE_VAR=FOLDER python -m tests.benchmarks.pages [WORST]

The folder is the demo's, or a copy of a firm's; nothing is written. Each page is asked for some rows, five
times a row, as office and client read it; the slowest row's median counts. Prints the worst, then the rest.
What is held against the budget is the processor's time, which a busy machine does not stretch; the time by
the clock stands beside it.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

TIMES, ROWS = 5, 4
MOST_S = 0.1


@dataclass(frozen=True)
class Measured:
    route: str
    address: str
    median_s: float
    by_clock_s: float
    questions: int
    bytes_sent: int

    def __str__(self) -> str:
        over = "  over" if self.median_s > MOST_S else ""
        took, clock = 1000 * self.median_s, 1000 * self.by_clock_s
        cost = f"{took:7.1f} ms ({clock:7.1f} by the clock)  {self.questions:3d} questions"
        return f"{cost}  {self.bytes_sent / 1000:6.1f} kB  {self.route}{over}"


def prepared() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.config.settings")
    import django

    django.setup()
    from django.conf import settings

    settings.ALLOWED_HOSTS = ["testserver"]


def rows_of(model: Any, seen_by: Any) -> list[Any]:
    """Some rows, the newest and the oldest among them."""
    rows = list(model.objects.seen_by(seen_by).values_list("pk", flat=True))
    step = max(1, len(rows) // (ROWS - 1) if ROWS > 1 else 1)
    return list(dict.fromkeys([*rows[::step][: ROWS - 1], *rows[-1:]]))


def sources() -> dict[str, Callable[[Any], list[Any]]]:
    """By the start of a route: the rows whose pages are asked for."""
    from contractor.descales.models import Descale, HeldWaste
    from contractor.register.models import Exchanger, Site, Unit
    from contractor.visits.models import Reading, Visit
    from contractor.web.records.kinds import KINDS
    from reporting.models import Document

    models = {
        "office/visits/": Visit, "office/readings/": Reading, "office/documents/": Document,
        "office/descales/": Descale, "office/held-waste/": HeldWaste, "client/sites/": Site,
        "client/units/": Unit, "crew/visits/": Visit, "crew/units/": Unit, "crew/exchangers/": Exchanger,
        "crew/sites/": Site, "crew/descales/": Descale,
        **{f"office/{slug}/": kind.model for slug, kind in KINDS.items()},
    }  # fmt: skip
    return {start: lambda person, model=model: rows_of(model, person) for start, model in models.items()}


def routes(resolver: Any, before: str = "", inside: bool = False) -> Iterator[tuple[str, Any]]:
    """Every page that answers GET, with its view."""
    from django.urls import URLResolver

    for entry in resolver.url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from routes(entry, route, inside or entry.namespace == "web")
        elif inside and hasattr(entry.callback, "view_class"):
            kind: Any = entry.callback.view_class
            if hasattr(kind, "get") and "get" in kind.http_method_names:
                yield route, kind


def addresses(route: str, person: Any, known: dict[str, Callable[[Any], list[Any]]]) -> list[str]:
    if "<" not in route:
        return [f"/{route}" + ("?q=a" if route.endswith("search/") else "")]
    before, _, rest = route.partition("<")
    source = known.get(before)
    after = rest.partition(">")[2]
    return [f"/{before}{pk}{after}" for pk in source(person)] if source else []


def measure(client: Any, route: str, address: str) -> Measured | None:
    """None where the address does not answer with a page, as a form of what is over."""
    from django.db import connection

    connection.force_debug_cursor = True
    answer = client.get(address)
    connection.force_debug_cursor, asked = False, len(connection.queries_log)
    if answer.status_code != 200:
        return None
    took, by_clock = [], []
    for _ in range(TIMES):
        began, clock = time.process_time(), time.perf_counter()
        client.get(address)
        took.append(time.process_time() - began)
        by_clock.append(time.perf_counter() - clock)
    middle, clock = statistics.median(took), statistics.median(by_clock)
    return Measured(route, address, middle, clock, asked, len(answer.content))


def reader_of(route: str) -> str:
    start = route.partition("/")[0]
    return {"client": "client", "crew": "technician"}.get(start, "owner")


def every_page() -> list[Measured]:
    from django.contrib.auth import get_user_model
    from django.test import Client
    from django.urls import get_resolver

    readers: dict[str, tuple[Any, Any]] = {}
    for role in ("owner", "technician", "client"):
        person = get_user_model().objects.filter(role=role, is_active=True).first()
        if person is not None:
            client = Client(raise_request_exception=True)
            client.force_login(person)
            readers[role] = (client, person)
    known = sources()
    found: list[Measured] = []
    for route, _ in routes(get_resolver()):
        if reader_of(route) not in readers:
            continue
        client, person = readers[reader_of(route)]
        rows = [measure(client, route, address) for address in addresses(route, person, known)]
        answered = [row for row in rows if row is not None]
        if answered:
            found.append(max(answered, key=lambda row: row.median_s))
    return sorted(found, key=lambda row: -row.median_s)


def main() -> None:
    prepared()
    worst = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    found = every_page()
    print(f"the worst {worst} of {len(found)} pages, median of {TIMES} on the slowest of some rows:")
    for place, row in enumerate(found):
        if place == worst:
            print("the others:")
        print(row)
    print(f"{sum(row.median_s > MOST_S for row in found)} above {1000 * MOST_S:.0f} ms")


if __name__ == "__main__":
    main()
