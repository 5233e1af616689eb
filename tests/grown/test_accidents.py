"""Accidents under load in the grown setting: no acknowledged reading is lost or doubled, all work is done.

Phones post readings, each under its Idempotency-Key again and again until it is answered, as the phone pages
do; meanwhile the database ends at once (an immediate stop, recovered from its log at the next start),
a web process is killed, a worker's process is killed. Nothing but the database is started again by us.
"""

from __future__ import annotations

import os
import signal
import subprocess
import time
import uuid
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from threading import Thread
from typing import Any

import pytest

from tests.grown import by_hand
from tests.grown.by_hand import Grown
from tests.grown.client import Answer, Client
from tests.grown.firm import START, Firm, as_si_typed
from tests.grown.programs import wait_until

pytestmark = pytest.mark.needs_services
PHONES, READINGS_EACH = 4, 12
AGAIN_AFTER_S, GIVE_UP_AFTER_S, ALL_DONE_WITHIN_S = 0.3, 120.0, 240.0
SHORT = {
    "WATERSIDE_WORK_HEARTBEAT": "1",
    "WATERSIDE_WORK_LOST_AFTER": "5",
    "WATERSIDE_WORK_SWEEP_EVERY": "1",
    "WATERSIDE_WORK_BACK_OFF": "1",
}
SERVING = ("web", "worker-soon", "worker-bulk", "beat")
ON_SCREEN = as_si_typed(2e-4, 302.15, START)


@pytest.fixture(scope="module")
def grown() -> Iterator[Grown]:
    with by_hand.running(**SHORT) as found:
        yield found


@dataclass(frozen=True)
class Site:
    technician: Client
    visit: str
    exchanger: str


@pytest.fixture(scope="module")
def site(grown: Grown) -> Site:
    firm = Firm(grown)
    office, technician = firm.take_on("office"), firm.take_on("technician")
    customer = office.made("/api/v1/customers/", {"name": "Harbour Reach Offices"})
    place = {"customer": customer["id"], "name": "Quay House", "time_zone": "Europe/London"}
    quay = office.made("/api/v1/sites/", {**place, "water_source": "cooling_tower"})
    unit = office.made("/api/v1/units/", {"site": quay["id"], "tag": "HR-001", "refrigerant": "R410A"})
    surface = office.made("/api/v1/exchangers/", {"unit": unit["id"], "kind": "coaxial", "area_m2": 0.9})
    window = {"window_start": START.isoformat(), "window_end": (START + timedelta(hours=8)).isoformat()}
    crew = {"site": quay["id"], "crew": [firm.ids["technician"]]}
    visit = office.made("/api/v1/visits/", {**crew, **window})
    return Site(technician, visit["id"], surface["id"])


@dataclass
class Phone:
    """Posts its readings one after another and gives none up before it is answered."""

    site: Site
    number: int
    accepted: dict[str, str] = field(default_factory=dict)
    refusals: list[Answer] = field(default_factory=list)
    cut_off: int = 0
    trouble: str = ""

    def post_all(self) -> None:
        try:
            for count in range(READINGS_EACH):
                self.post(START + timedelta(minutes=10 + PHONES * count + self.number))
        except Exception as problem:
            self.trouble = repr(problem)

    def post(self, taken_at: Any) -> None:
        body = {
            "id": str(uuid.uuid4()), "visit": self.site.visit, "exchanger": self.site.exchanger,
            "taken_at": taken_at.isoformat(), "mode": "cooling", "purpose": "routine", "minutes_running": 20,
            "as_typed": ON_SCREEN,
        }  # fmt: skip
        until = time.monotonic() + GIVE_UP_AFTER_S
        while time.monotonic() < until:
            try:
                said = self.site.technician.ask(
                    "POST", "/api/v1/readings/", body, Idempotency_Key=f'"{body["id"]}"'
                )
            except OSError:
                self.cut_off += 1
            else:
                if said.status in (201, 202):
                    self.accepted[body["id"]] = said.json["work_item"]
                    return
                self.refusals.append(said)
            time.sleep(AGAIN_AFTER_S)
        raise AssertionError(f"{body['id']} was not taken within {GIVE_UP_AFTER_S} s")


def under_load(site: Site, accident: Callable[[], None]) -> list[Phone]:
    phones = [Phone(site, number) for number in range(PHONES)]
    threads = [Thread(target=phone.post_all) for phone in phones]
    for thread in threads:
        thread.start()
    while sum(len(phone.accepted) for phone in phones) < PHONES:
        assert any(thread.is_alive() for thread in threads), [phone.trouble for phone in phones]
        time.sleep(0.05)
    accident()
    for thread in threads:
        thread.join()
    assert [phone.trouble for phone in phones] == [""] * PHONES
    return phones


def all_is_kept_once_and_done(site: Site, phones: list[Phone]) -> None:
    accepted = {key: address for phone in phones for key, address in phone.accepted.items()}
    assert len(accepted) == PHONES * READINGS_EACH
    kept = Counter(reading["id"] for reading in pages(site, f"/api/v1/readings/?visit={site.visit}"))
    assert not accepted.keys() - kept.keys(), "acknowledged and lost"
    assert set(kept.values()) == {1}
    for address in accepted.values():
        site.technician.follow(address, ALL_DONE_WITHIN_S)
    assessed = Counter(
        one["reading"]
        for one in pages(site, f"/api/v1/assessments/?exchanger={site.exchanger}")
        if one["superseded_at"] is None
    )
    assert {key: assessed[key] for key in accepted} == dict.fromkeys(accepted, 1)


def pages(site: Site, address: str) -> Iterator[dict[str, Any]]:
    next_page: str | None = address
    while next_page:
        page = site.technician.get(next_page)
        yield from page["results"]
        next_page = page["next"]


def test_a_database_that_ends_at_once_and_comes_back(grown: Grown, site: Site) -> None:
    serving = {
        name: grown.processes[name].popen.pid for name in ("web", "worker-soon", "worker-bulk", "beat")
    }
    database = grown.stores.database

    def ends() -> None:
        database.end_by(signal.SIGQUIT)
        time.sleep(3)
        database.start_again()
        wait_until(grown.stores.database_answers, database)

    phones = under_load(site, ends)
    refused = [answer for phone in phones for answer in phone.refusals]
    assert refused, "nobody noticed that the database was away"
    for answer in refused:
        assert answer.status == 503, (answer.status, answer.content[:500])
        assert answer.headers["Content-Type"] == "application/problem+json"
        assert int(answer.headers["Retry-After"]) >= 1
        assert "Nothing was written" in answer.json["detail"]
    all_is_kept_once_and_done(site, phones)
    for name, pid in serving.items():
        assert (grown.processes[name].popen.poll(), grown.processes[name].popen.pid) == (None, pid), name


@pytest.mark.parametrize("name", ["web", "worker-soon"])
def test_a_process_that_is_killed_in_the_middle(grown: Grown, site: Site, name: str) -> None:
    parent = grown.processes[name].popen.pid

    def killed() -> None:
        for pid in children_of(parent):
            os.kill(pid, signal.SIGKILL)

    all_is_kept_once_and_done(site, under_load(site, killed))
    assert grown.processes[name].popen.poll() is None


def children_of(pid: int) -> list[int]:
    found = subprocess.run(["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True)
    children = [int(word) for word in found.stdout.split()]
    assert children, f"{pid} has no processes of its own"
    return children
