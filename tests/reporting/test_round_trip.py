"""Through the real queue: readings in, verdict out, report in hand."""

from __future__ import annotations

import time
from collections.abc import Iterator
from io import BytesIO

import pytest
from django.conf import settings
from pypdf import PdfReader

from contractor.workqueue import embedded
from contractor.workqueue.models import WorkItem
from diagnostics import services as diagnostics
from diagnostics.models import Assessment
from tests.cast import Cast, as_person, as_phone
from tests.diagnostics import world


@pytest.fixture
def worker(transactional_db: None) -> Iterator[None]:
    with embedded.worker(processes=1, finish_within_s=10):
        yield


def done(address: str, cast: Cast) -> dict[str, object]:
    """Follow the work item as a program would."""
    office = as_person(cast.office)
    until = time.monotonic() + 60
    while time.monotonic() < until:
        item: dict[str, object] = office.get(address).json()
        if item["state"] in ("done", "failed"):
            return item
        time.sleep(0.1)
    raise AssertionError(f"still {item['state']} after 60 s")


def test_a_reading_becomes_a_verdict_and_a_report_that_the_client_can_read(worker: None, cast: Cast) -> None:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned, day=300, fouling_m2k_per_w=world.HEAVY)
    technician, office, client = (as_phone(p) for p in (cast.assigned, cast.office, cast.client))

    asked = technician.post("/api/v1/assessments/", {"reading": str(reading.pk)})
    item = done(asked["Location"], cast)
    assert item["state"] == "done", item["problem"]
    told = technician.get(f"/api/v1/readings/{reading.pk}/assessment/").json()
    assert told["verdict"] == "fouled" and told["id"] == item["result"]["assessment"]  # type: ignore[index]

    asked = office.post("/api/v1/documents/", {"exchanger": str(cast.exchanger.pk), "paper": "letter"})
    item = done(asked["Location"], cast)
    assert item["state"] == "done", item["problem"]
    address = item["result"]["address"]  # type: ignore[index]
    assert client.get(address).status_code == 404, "not before the office has released it"
    tag = office.get(address)["ETag"]
    assert office.post(f"{address}release/", headers={"If-Match": tag}).status_code == 200
    pdf = client.get(f"{address}file/", headers={"Accept": "application/pdf"})
    text = PdfReader(BytesIO(pdf.content)).pages[0].extract_text()
    assert text.startswith("What to do next") and "Fouled." in text

    again = office.post("/api/v1/documents/", {"exchanger": str(cast.exchanger.pk), "paper": "letter"})
    item = done(again["Location"], cast)
    assert item["result"]["address"] == address, "the same report is not made twice"  # type: ignore[index]


def test_changed_facts_have_every_reading_assessed_again_as_one_piece_of_work(
    worker: None, cast: Cast
) -> None:
    world.know(cast.exchanger)
    readings = world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    item = diagnostics.request_reassessment(cast.exchanger, cast.office)
    told = done(f"/api/v1/work-items/{item.pk}/", cast)
    assert told["state"] == "done" and told["result"] == {"readings": 2, "changed": 2}
    assert told["progress"] == {"done": 2, "of": 2, "words": "all readings assessed"}
    assert set(Assessment.objects.current().values_list("reading", flat=True)) == {r.pk for r in readings}


def test_work_on_what_is_not_recorded_fails_with_words(worker: None, cast: Cast) -> None:
    from contractor.workqueue.services import queue

    missing = "00000000-0000-4000-8000-000000000000"
    for kind in ("assess", "reassess", "visit_report"):
        item = queue(kind, missing, asked_by=cast.office)
        told = done(f"/api/v1/work-items/{item.pk}/", cast)
        assert told["state"] == "failed" and told["problem"]["detail"], kind  # type: ignore[index]
        assert WorkItem.objects.get(pk=item.pk).attempts == 1, "an expected failure is not tried again"
    assert settings.WORK_MAX_ATTEMPTS > 1
