"""A 50-row list through the API against a plain `.values()` JSON view of the same rows, as a ratio in one
run.

    python -m tests.benchmarks.listing [SECONDS]

Both answer through the same middleware, in this process, for the same signed-in person, turn by turn so that
a busy machine disturbs both alike. The plain view does the least that could answer: one query of the same
columns of the same fifty rows, and JSON. The aim is a quarter of its rate or more.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from statistics import median

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

AIM, ROWS = 0.25, 50


def main(seconds: float) -> int:
    import django

    django.setup()
    from django.test.utils import setup_databases, teardown_databases

    places = setup_databases(verbosity=0, interactive=False)
    try:
        return measure(seconds)
    finally:
        teardown_databases(places, verbosity=0)


def measure(seconds: float) -> int:
    from django.test.utils import override_settings
    from django.utils import timezone

    from contractor.accounts.services import make_token
    from tests import make

    office = make.person("office")
    _, secret = make_token(office, "benchmark", timezone.now())
    site = make.site()
    for _ in range(3 * ROWS):
        make.unit(site, place="plant room 2", model="WS-036", serial="A1", capacity_w=10_550.0)
    headers = {"HTTP_AUTHORIZATION": f"Bearer {secret}"}
    with override_settings(ROOT_URLCONF="tests.benchmarks.plain_view", ALLOWED_HOSTS=["testserver"]):
        ratio = compare(f"/api/v1/units/?limit={ROWS}", "/plain/units/", headers, seconds)
    print(f"ratio {ratio:.2f}, aim {AIM}")
    return 0 if ratio >= AIM else 1


def compare(ours: str, plain: str, headers: dict[str, str], seconds: float) -> float:
    from django.test import Client

    client = Client()
    rows = {
        ours: client.get(ours, **headers).json()["results"],
        plain: client.get(plain, **headers).json()["rows"],
    }
    assert [row["id"] for row in rows[ours]] == [row["id"] for row in rows[plain]]
    took: dict[str, list[float]] = {ours: [], plain: []}
    until = time.perf_counter() + seconds
    while time.perf_counter() < until:
        for address in took:
            took[address].append(timed(lambda: client.get(address, **headers)))  # noqa: B023
    typical = {address: median(times) for address, times in took.items()}
    for name, address in (("plain", plain), ("API", ours)):
        print(f"{name:6} {1 / typical[address]:6.0f} answers/s at the median   {address}")
    return typical[plain] / typical[ours]


def timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 20))
