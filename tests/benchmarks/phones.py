"""Ten phones at once on the embedded setting: from a reading's post to its answer, asked as the page asks.

`python -m tests.benchmarks.phones [PHONES] [READINGS EACH]`, ten and six unless given. Prints median and 95th
percentile of the time from typed to answered. The answer is the assessment; the ranking follows it.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import time
import urllib.request
import uuid
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

import django

from tests.browser import house as houses
from tests.browser.house import House

ASK_EVERY_S = 0.5  # as contractor/web/static/web/crew/answer.js
GIVE_UP_S = 120.0
TYPED = {
    "entering_water": ("86.0", "degF"), "leaving_water": ("95.6", "degF"), "water_flow": ("8.7", "gpm"),
    "head_pressure": ("415", "psig"), "liquid_line": ("101.5", "degF"), "suction_pressure": ("130", "psig"),
    "suction_line": ("56", "degF"),
}  # fmt: skip


@dataclass
class Phone:
    address: str
    token: str

    def ask(self, method: str, path: str, body: Any = None) -> Any:
        headers = {"Accept": "application/json", "Authorization": f"Bearer {self.token}"}
        data = None
        if body is not None:
            data = json.dumps(body).encode()
            headers |= {"Content-Type": "application/json", "Idempotency-Key": f'"{uuid.uuid4()}"'}
        request = urllib.request.Request(self.address + path, data=data, headers=headers, method=method)
        with urllib.request.urlopen(request, timeout=60) as answer:
            return json.load(answer)

    def typed_to_answered_s(self, exchanger: str, visit: str) -> float:
        now = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
        as_typed = {name: {"value": value, "unit": unit} for name, (value, unit) in TYPED.items()}
        body = {
            "id": str(uuid.uuid4()), "visit": visit, "exchanger": exchanger, "mode": "cooling",
            "taken_at": now, "minutes_running": 20, "strainer": "clean", "as_typed": as_typed,
        }  # fmt: skip
        began = time.monotonic()
        posted = self.ask("POST", "/api/v1/readings/", body)
        while time.monotonic() - began < GIVE_UP_S:
            state = self.ask("GET", posted["work_item"])["state"]
            assert state != "failed"
            if state == "done":
                self.ask("GET", f"/api/v1/readings/{posted['id']}/assessment/")
                return time.monotonic() - began
            time.sleep(ASK_EVERY_S)
        raise AssertionError(f"no answer within {GIVE_UP_S:.0f} s")


def phone_of(house: House) -> Phone:
    from tests.make import PASSWORD

    nobody = Phone(house.address, "")
    body = {"email": "tech@example.org", "password": PASSWORD, "device": "a phone"}
    return Phone(house.address, nobody.ask("POST", "/api/v1/sign-in/", body)["token"])


def measure(house: House, phones: int, each: int) -> list[float]:
    """Seconds from typed to answered, of every reading of every phone; a first one, unmeasured, warms up."""
    visit, exchanger = house.world["visits"]["today"], house.world["exchangers"]["first"]
    hands = [phone_of(house) for _ in range(phones)]
    for _ in range(3):
        hands[0].typed_to_answered_s(exchanger, visit)

    def one(phone: Phone) -> list[float]:
        return [phone.typed_to_answered_s(exchanger, visit) for _ in range(each)]

    with ThreadPoolExecutor(phones) as pool:
        return [took for found in pool.map(one, hands) for took in found]


def percentile_95(values: list[float]) -> float:
    return sorted(values)[max(0, -(-len(values) * 95 // 100) - 1)]


def main() -> None:
    django.setup()
    phones = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    each = int(sys.argv[2]) if len(sys.argv) > 2 else 6
    with houses.running() as house:
        took = measure(house, phones, each)
    print(
        f"{phones} phones, {len(took)} readings: median {statistics.median(took):.2f} s, "
        f"95th percentile {percentile_95(took):.2f} s, longest {max(took):.2f} s"
    )


if __name__ == "__main__":
    main()
