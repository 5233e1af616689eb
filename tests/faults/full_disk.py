"""A phone, the office and the worker on a disk that fills up and is emptied again.

    WATERSIDE_VAR=FOLDER python -m tests.faults.full_disk

FOLDER is a small disk of its own. Prints what was seen as one line of JSON.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import time
import uuid
from collections import Counter
from pathlib import Path
from typing import Any

import django

VAR = Path(os.environ["WATERSIDE_VAR"])
BALLAST = VAR / "ballast"
SCREEN = {
    "entering_water": {"value": "85", "unit": "degF"},
    "leaving_water": {"value": "95", "unit": "degF"},
    "head_pressure": {"value": "330", "unit": "psig"},
    "liquid_line": {"value": "93", "unit": "degF"},
}
READINGS, WORKER_TRIES_FOR_S, ALL_DONE_WITHIN_S = 40, 8.0, 120.0


def fill_up() -> None:
    with BALLAST.open("ab", buffering=0) as file:
        for size in (1 << 16, 1 << 12):
            try:
                while True:
                    file.write(bytes(size))
            except OSError:
                continue


def make_room() -> None:
    BALLAST.unlink()


class Scene:
    def __init__(self) -> None:
        from contractor.accounts.models import Role
        from tests import make

        self.technician, self.office = make.person(), make.person(Role.OFFICE)
        site = make.site()
        start = dt.datetime(2026, 7, 6, 8, tzinfo=dt.UTC)
        self.visit = make.visit(site, [self.technician], window_start=start)
        self.exchanger = make.exchanger(make.unit(site), area_m2=0.9)
        self.start = start

    def body(self, number: int) -> dict[str, Any]:
        return {
            "id": str(uuid.uuid4()), "visit": str(self.visit.pk), "exchanger": str(self.exchanger.pk),
            "taken_at": (self.start + dt.timedelta(minutes=number)).isoformat(), "mode": "cooling",
            "purpose": "routine", "minutes_running": 20, "as_typed": SCREEN,
        }  # fmt: skip

    def post(self, body: dict[str, Any]) -> Any:
        from tests.cast import as_person

        headers = {"Idempotency-Key": body["id"]}
        client = as_person(self.technician)
        client.raise_request_exception = False
        return client.post("/api/v1/readings/", body, format="json", headers=headers, HTTP_HOST="localhost")


def kept_readings() -> list[str]:
    from contractor.visits.models import Reading

    return [str(pk) for pk in Reading.objects.values_list("pk", flat=True)]


def worker_meets_a_full_disk() -> dict[str, Any]:
    """Its work fails for want of room, and is done when there is some again."""
    from contractor.workqueue.models import WorkItem

    fill_up()
    before = WorkItem.objects.filter(state="done").count()
    time.sleep(WORKER_TRIES_FOR_S)
    waiting_while_full = WorkItem.objects.exclude(state="done").count()
    make_room()
    until = time.monotonic() + ALL_DONE_WITHIN_S
    while time.monotonic() < until and WorkItem.objects.exclude(state="done").exists():
        time.sleep(0.5)
    states = Counter(WorkItem.objects.values_list("kind", "state"))
    told = {f"{kind} {state}": count for (kind, state), count in states.items()}
    return {"done before": before, "waiting while full": waiting_while_full, "work": told}


def documents() -> dict[str, Any]:
    from django.conf import settings

    from reporting.files import read_checked
    from reporting.models import Document

    folder = Path(settings.MEDIA_ROOT)
    return {
        "documents": Document.objects.count(),
        "sound": sum(read_checked(one.file.name, one.sha256) is not None for one in Document.objects.all()),
        "left over": [str(path) for path in folder.rglob(".part-*")],
    }


def is_sound() -> str:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        return str(cursor.fetchone()[0])


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.config.settings")
    django.setup()
    from django.core.management import call_command

    from contractor.workqueue import embedded
    from tests.faults.conftest import SHORT

    call_command("migrate", verbosity=0, interactive=False)
    with embedded.worker(environment={**SHORT, "WATERSIDE_WORK_MAX_ATTEMPTS": "20"}) as worker:
        print(json.dumps({**through_a_full_disk(), "worker alive": worker.alive()}))


def through_a_full_disk() -> dict[str, Any]:
    from reporting.services import request_visit_report

    scene = Scene()
    bodies = [scene.body(number) for number in range(READINGS)]
    first = scene.post(bodies[0])
    fill_up()
    while_full = [scene.post(body) for body in bodies[1:]]
    kept_while_full = kept_readings()
    make_room()
    afterwards = [scene.post(body) for body in bodies]
    request_visit_report(str(scene.exchanger.pk), "a4", scene.office)
    refused = [answer for answer in while_full if answer.status_code != 201]
    taken = [body["id"] for body, said in zip(bodies[1:], while_full, strict=True) if said.status_code == 201]
    return {
        "first": first.status_code,
        "while full": sorted({answer.status_code for answer in while_full}),
        "refused": len(refused),
        "words": sorted({answer.json()["detail"] for answer in refused}),
        "try again after": sorted({answer.headers.get("Retry-After", "") for answer in refused}),
        "taken and kept": sorted([bodies[0]["id"], *taken]) == sorted(kept_while_full),
        "afterwards": sorted({answer.status_code for answer in afterwards}),
        "each kept once": sorted(kept_readings()) == sorted(body["id"] for body in bodies),
        **worker_meets_a_full_disk(),
        **documents(),
        "database": is_sound(),
    }


if __name__ == "__main__":
    main()
