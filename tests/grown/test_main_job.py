"""The main job through every process of the grown setting: readings in, fouling out, report in hand."""

from __future__ import annotations

import http.client
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from redis import Redis

from tests.grown.by_hand import Grown
from tests.grown.client import Client
from tests.grown.firm import START, Firm, as_si_typed
from tests.grown.programs import Process

pytestmark = pytest.mark.needs_services


@pytest.fixture(scope="module")
def firm(grown: Grown) -> Firm:
    return Firm(grown)


def test_readings_become_a_verdict_and_a_released_report_that_only_the_right_client_reads(firm: Firm) -> None:
    office, technician, client = (firm.take_on(role) for role in ("office", "technician", "client"))

    customer = office.made("/api/v1/customers/", {"name": "Harbour Reach Offices"})
    firm.owner.made("/api/v1/client-accesses/", {"person": firm.ids["client"], "customer": customer["id"]})
    site = office.made(
        "/api/v1/sites/",
        {
            "customer": customer["id"],
            "name": "Quay House",
            "time_zone": "Europe/London",
            "water_source": "cooling_tower",
        },
    )
    unit = office.made("/api/v1/units/", {"site": site["id"], "tag": "HR-001", "refrigerant": "R410A"})
    exchanger = office.made("/api/v1/exchangers/", {"unit": unit["id"], "kind": "coaxial", "area_m2": 0.9})
    visit = office.made(
        "/api/v1/visits/",
        {
            "site": site["id"],
            "crew": [firm.ids["technician"]],
            "window_start": START.isoformat(),
            "window_end": (START + timedelta(hours=8)).isoformat(),
        },
    )

    posted = None
    for hours, purpose, fouling, water_k in (
        (1, "clean_reference", 0.0, 300.15),
        (2, "clean_reference", 0.0, 303.15),
        (5, "routine", 4e-4, 302.15),
    ):
        taken_at = START + timedelta(hours=hours)
        posted = technician.post(
            "/api/v1/readings/",
            {
                "visit": visit["id"],
                "exchanger": exchanger["id"],
                "taken_at": taken_at.isoformat(),
                "mode": "cooling",
                "purpose": purpose,
                "minutes_running": 20,
                "as_typed": as_si_typed(fouling, water_k, taken_at),
            },
        ).json
        technician.follow(posted["work_item"])
    assert posted is not None
    told = technician.get(f"/api/v1/readings/{posted['id']}/assessment/")
    assert told["verdict"] == "fouled", told
    told_fouling = told["fouling_resistance_m2k_per_w"]
    assert told_fouling["low"] < 4e-4 < told_fouling["high"], "the truth the readings were made from"

    asked = office.post("/api/v1/documents/", {"exchanger": exchanger["id"], "paper": "a4"}, expect=202)
    document = office.follow(asked.headers["Location"])["result"]["address"]
    assert client.ask("GET", document).status == 404, "not before the office has released it"
    tag = office.ask("GET", document).headers["ETag"]
    office.post(f"{document}release/", expect=200, If_Match=tag)
    assert [one["id"] for one in client.get("/api/v1/documents/")["results"]]
    pdf = client.ask("GET", f"{document}file/", Accept="application/pdf")
    first_page = PdfReader(BytesIO(pdf.content)).pages[0].extract_text()
    assert pdf.status == 200 and first_page.startswith("What to do next")
    assert firm.anyone.ask("GET", document).status == 401


def test_every_process_runs_the_command_and_environment_of_the_file(grown: Grown) -> None:
    """As the kernel tells it of the running processes, not as we meant to start them."""
    processes = {**grown.processes, "database": grown.stores.database, "broker": grown.stores.broker}
    assert processes.keys() == grown.services.keys()
    for name in grown.services.keys() - {"setup", "broker"}:
        words, command = words_of(processes[name], "cmdline"), grown.services[name].command[1:]
        assert " ".join(command) in " ".join(words), (name, words)
    for name in ("web", "worker-soon", "worker-bulk", "beat"):
        seen = dict(word.partition("=")[::2] for word in words_of(grown.processes[name], "environ"))
        assert grown.services[name].environment.items() <= seen.items(), name
    settings_of_broker = Redis.from_url(grown.stores.environment["REDIS_URL"]).config_get("*")
    options = grown.services["broker"].command[1:]
    for option, value in zip(options[::2], options[1::2], strict=True):
        assert settings_of_broker[option.removeprefix("--")] == value
    filled_in = (grown.folder / "site.conf").read_text()
    for name, value in grown.services["proxy"].environment.items():
        assert value in filled_in and name not in filled_in


def words_of(process: Process, what: str) -> list[str]:
    content = Path(f"/proc/{process.popen.pid}/{what}").read_bytes()
    return content.decode().rstrip("\0").split("\0")


def test_it_says_that_it_is_ready_and_plain_http_leads_to_https(grown: Grown) -> None:
    ready = Client(grown.address, grown.certificate).get("/healthz/ready")
    assert ready == {"ready": True, "database": True, "broker": True, "sweeper": True}
    plain = http.client.HTTPConnection("localhost", grown.http_port, timeout=5)
    plain.request("GET", "/api/v1/me/")
    answer = plain.getresponse()
    assert answer.status == 301 and answer.headers["Location"] == "https://localhost/api/v1/me/"


def test_every_process_stops_cleanly_and_leaves_nobody_behind(grown: Grown) -> None:
    """Last of this module: afterwards nothing of it runs."""
    grown.stop_all()
    assert set(grown.exit_codes.values()) == {0}, grown.exit_codes
    assert not any(grown.left_behind.values()), grown.left_behind
    assert set(grown.exit_codes) == {"setup", "web", "worker-soon", "worker-bulk", "beat", "proxy"}
