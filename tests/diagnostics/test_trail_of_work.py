"""Work asked for, tried again and carried out, assessments and documents: all in the one trail, with who."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from contractor.trail.models import Change
from contractor.workqueue import running
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics import services
from diagnostics.models import Assessment
from reporting import services as reporting
from tests import make
from tests.cast import Cast, as_person, as_phone
from tests.diagnostics import world

pytestmark = pytest.mark.django_db


def trail(cast: Cast, table: str, row: object) -> list[tuple[str, str, dict[str, Any]]]:
    """As the owner lists it, first things first."""
    asked = {"table": table, "row": str(row)}
    rows = as_person(cast.owner).get("/api/v1/changes/", asked).data["results"]
    return [(row["by"], row["action"], row["fields_changed"]) for row in reversed(rows)]


def test_an_assessment_tells_who_asked_for_it_and_why_a_later_one_took_its_place(cast: Cast) -> None:
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned)
    item = services.request_assessment(reading, cast.assigned)
    assert running.run(item.pk) == "done"
    made = Assessment.objects.get()
    [(by, action, fields)] = trail(cast, "diagnostics.assessment", made.pk)
    assert (by, action) == ("assess for assigned@example.org", "created")
    assert fields["reading_id"] == [None, str(reading.pk)] and fields["verdict"] == [None, made.verdict]
    Assessment.objects.update(inputs_digest="0" * 64)
    services.assess_reading(reading.pk, because="a better probe")
    _, (by, action, fields) = trail(cast, "diagnostics.assessment", made.pk)
    assert action == "changed" and fields["superseded_because"] == ["", "a better probe"]


def test_a_work_item_tells_who_asked_first_who_asked_too_and_who_tried_it_again(cast: Cast) -> None:
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned)
    for person in (cast.assigned, cast.assigned, cast.office, cast.office):
        as_phone(person).post("/api/v1/assessments/", {"reading": str(reading.pk)})
    item = WorkItem.objects.get()
    WorkItem.objects.update(state="failed", problem={"title": "x"}, attempts=4)
    as_person(cast.owner).post(f"/api/v1/work-items/{item.pk}/retry/")
    first, also, again = trail(cast, "workqueue.workitem", item.pk)
    assert first[:2] == ("assigned@example.org", "created")
    assert first[2]["kind"] == [None, "assess"] and first[2]["asked_by_id"] == [None, str(cast.assigned.pk)]
    assert also == ("office@example.org", "changed", {"also_asked_by": [None, str(cast.office.pk)]})
    assert again == ("owner@example.org", "changed", {"state": ["failed", "waiting"]})


def test_work_that_is_rolled_back_leaves_no_trace(cast: Cast) -> None:
    from django.db import transaction

    with pytest.raises(RuntimeError), transaction.atomic():
        queue("noop", "1", asked_by=cast.office)
        raise RuntimeError
    assert not Change.objects.filter(table="workqueue.workitem").exists()


def test_a_document_tells_who_asked_who_released_and_who_withdrew(
    cast: Cast, settings: Any, tmp_path: Path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    visit = make.visit(cast.site, [cast.assigned])
    made = services.assess_reading(world.reading(visit, cast.exchanger, cast.assigned).pk)
    assert made is not None
    item = reporting.request_visit_report(str(made.pk), "a4", cast.assigned)
    assert running.run(item.pk) == "done"
    document = made.documents.get()
    for what, sent in (("release", {}), ("withdraw", {"because": "wrong unit"})):
        document.refresh_from_db()
        tag = f'"{document.pk}-{document.version}"'
        address = f"/api/v1/documents/{document.pk}/{what}/"
        assert as_person(cast.office).post(address, sent, headers={"If-Match": tag}).status_code == 200
    told = [(by, fields["state"][1]) for by, _, fields in trail(cast, "reporting.document", document.pk)]
    assert told == [
        ("visit_report for assigned@example.org", "prepared"),
        ("office@example.org", "released"),
        ("office@example.org", "withdrawn"),
    ]
    assert timezone.now() >= document.prepared_at
