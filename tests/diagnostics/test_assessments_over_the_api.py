"""Who sees which assessment, in which keys; asking for one; lists that cost the same however long."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.visits.models import Reading
from contractor.workqueue import running
from contractor.workqueue.models import WorkItem
from diagnostics import services
from diagnostics.batch.results import KEYS
from diagnostics.models import Assessment
from tests import make
from tests.cast import Cast, as_person, as_phone
from tests.diagnostics import world

pytestmark = pytest.mark.django_db
LIST = "/api/v1/assessments/"


@pytest.fixture
def assessed(cast: Cast) -> Assessment:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned, day=300, fouling_m2k_per_w=world.HEAVY)
    made = services.assess_reading(reading.pk)
    assert made is not None
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    return made


def copies(cast: Cast, of: Assessment, count: int) -> None:
    """More rows like this one, each of a reading of its own."""
    for day in range(count):
        reading = world.reading(cast.visit, cast.exchanger, cast.assigned, day=400 + day)
        Assessment.objects.create(
            reading=reading, engine_version=of.engine_version, inputs_digest=of.inputs_digest,
            verdict=of.verdict, probability_over_limit=of.probability_over_limit, do_next=of.do_next,
            result=of.result,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("who", "sees"),
    [("owner", True), ("office", True), ("assigned technician", True), ("other technician", False),
     ("client", True), ("other client", False)],
)  # fmt: skip
def test_an_assessment_is_seen_by_whoever_sees_the_site(
    cast: Cast, assessed: Assessment, who: str, sees: bool
) -> None:
    client = as_person(cast.people()[who])
    assert [row["id"] for row in client.get(LIST).data["results"]] == ([assessed.pk] if sees else [])
    assert client.get(f"{LIST}{assessed.pk}/").status_code == (200 if sees else 404)
    assert client.get(f"/api/v1/readings/{assessed.reading_id}/assessment/").status_code == (
        200 if sees else 404
    )


def test_a_stranger_sees_nothing(cast: Cast, assessed: Assessment) -> None:
    for address in (LIST, f"{LIST}{assessed.pk}/", f"/api/v1/readings/{assessed.reading_id}/assessment/"):
        assert as_person(None).get(address).status_code == 401


def test_an_assessment_answers_in_the_keys_of_the_batch_output(cast: Cast, assessed: Assessment) -> None:
    answer = as_person(cast.office).get(f"{LIST}{assessed.pk}/").json()
    for key in KEYS:
        assert answer[key] == assessed.result[key], key
    assert answer["current"] is True
    assert answer["exchanger"] == str(cast.exchanger.pk) and answer["site"] == str(cast.site.pk)
    assert "variance_shares" in answer["more"] and not set(answer["more"]) & set(KEYS)


def test_a_client_sees_what_stands_and_not_what_was_superseded(cast: Cast, assessed: Assessment) -> None:
    Assessment.objects.filter(pk=assessed.pk).update(superseded_at=timezone.now(), superseded_because="x")
    assert as_person(cast.client).get(LIST).data["results"] == []
    assert as_person(cast.client).get(f"{LIST}{assessed.pk}/").status_code == 404
    assert len(as_person(cast.office).get(LIST).data["results"]) == 1


def test_an_assessment_of_a_corrected_reading_no_longer_stands(cast: Cast, assessed: Assessment) -> None:
    Reading.objects.filter(pk=assessed.reading_id).update(superseded_at=timezone.now())
    office = as_person(cast.office)
    assert office.get(LIST, {"current": "true"}).data["results"] == []
    assert [row["current"] for row in office.get(LIST, {"current": "false"}).data["results"]] == [False]


@pytest.mark.parametrize(
    ("name", "value", "found"),
    [("verdict", "fouled", 1), ("verdict", "clean", 0), ("current", "true", 1), ("current", "false", 0),
     ("taken_from", "2024-01-01T00:00:00Z", 1), ("taken_until", "2024-01-01T00:00:00Z", 0)],
)  # fmt: skip
def test_the_list_can_be_narrowed(
    cast: Cast, assessed: Assessment, name: str, value: str, found: int
) -> None:
    assert len(as_person(cast.office).get(LIST, {name: value}).data["results"]) == found


@pytest.mark.parametrize("name", ["exchanger", "unit", "site", "visit", "reading"])
def test_the_list_can_be_narrowed_to_one_place(cast: Cast, assessed: Assessment, name: str) -> None:
    places = {"exchanger": cast.exchanger, "unit": cast.unit, "site": cast.site, "visit": cast.visit,
              "reading": assessed.reading}  # fmt: skip
    office = as_person(cast.office)
    assert len(office.get(LIST, {name: str(places[name].pk)}).data["results"]) == 1
    other = make.exchanger().pk
    assert office.get(LIST, {name: str(other)}).data["results"] == []


def test_the_list_can_be_ordered_by_when_it_was_read_page_by_page(cast: Cast, assessed: Assessment) -> None:
    copies(cast, assessed, 4)
    office, told = as_person(cast.office), []
    page = office.get(LIST, {"ordering": "reading__taken_at", "limit": 2}).data
    while True:
        told += [row["id"] for row in page["results"]]
        if page["next"] is None:
            break
        page = office.get(page["next"]).data
    in_order = Assessment.objects.order_by("reading__taken_at").values_list("pk", flat=True)
    assert told == list(in_order)


def test_a_misspelt_filter_is_refused(cast: Cast) -> None:
    answer = as_person(cast.office).get(LIST, {"verdikt": "fouled"})
    assert answer.status_code == 400 and answer.data["errors"][0]["parameter"] == "verdikt"


def test_the_list_takes_as_many_queries_for_one_row_as_for_many(cast: Cast, assessed: Assessment) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert as_person(cast.assigned).get(LIST).status_code == 200
        return len(seen)

    one = queries()
    copies(cast, assessed, 12)
    assert queries() == one <= 2


def test_asking_for_an_assessment_is_answered_with_the_work_to_follow(
    cast: Cast, assessed: Assessment
) -> None:
    answer = as_phone(cast.assigned).post(LIST, {"reading": str(assessed.reading_id)})
    assert answer.status_code == 202 and answer["Retry-After"]
    item = WorkItem.objects.get(kind="assess", subject=str(assessed.reading_id))
    assert answer["Location"] == f"/api/v1/work-items/{item.pk}/"
    assert item.asked_by == cast.assigned


@pytest.mark.parametrize(
    ("who", "status"),
    [("client", 403), ("other client", 403), ("other technician", 400), ("anonymous", 401)],
)
def test_who_may_not_ask_for_an_assessment(cast: Cast, assessed: Assessment, who: str, status: int) -> None:
    answer = as_phone(cast.people()[who]).post(LIST, {"reading": str(assessed.reading_id)})
    assert answer.status_code == status
    assert not WorkItem.objects.exists()


def test_a_reading_one_may_not_see_is_refused_in_our_words(cast: Cast, assessed: Assessment) -> None:
    answer = as_phone(cast.other).post(LIST, {"reading": str(assessed.reading_id)})
    error = answer.data["errors"][0]
    assert error["pointer"] == "#/reading" and "expected the id of one that is" in error["detail"]


def test_a_corrected_reading_is_not_assessed_anew(cast: Cast, assessed: Assessment) -> None:
    Reading.objects.filter(pk=assessed.reading_id).update(superseded_at=timezone.now())
    answer = as_phone(cast.office).post(LIST, {"reading": str(assessed.reading_id)})
    assert answer.status_code == 409 and answer.data["type"].endswith("/no-longer-counts/")


def test_a_reading_that_waits_for_its_assessment_says_so(cast: Cast) -> None:
    reading = world.reading(cast.visit, cast.exchanger, cast.assigned)
    answer = as_person(cast.assigned).get(f"/api/v1/readings/{reading.pk}/assessment/")
    assert answer.status_code == 404 and answer.data["type"].endswith("/not-assessed-yet/")
    assert answer["Retry-After"] == "2"


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_nobody_changes_an_assessment(cast: Cast, assessed: Assessment, method: str) -> None:
    answer: Any = getattr(as_person(cast.owner), method)(f"{LIST}{assessed.pk}/", {"verdict": "clean"})
    assert answer.status_code in (403, 405)
    assert Assessment.objects.get(pk=assessed.pk).verdict == "fouled"


def test_a_history_is_assessed_anew_as_one_item_and_the_old_answers_stay(
    cast: Cast, assessed: Assessment
) -> None:
    Assessment.objects.update(inputs_digest="0" * 64)
    WorkItem.objects.all().delete()
    sent = {"exchanger": str(cast.exchanger.pk), "because": "a clean visit was added"}
    answer = as_phone(cast.assigned).post(f"{LIST}reassess/", sent)
    assert answer.status_code == 202 and answer["Location"].endswith(f"{answer.data['id']}/")
    [item] = WorkItem.objects.all()
    assert (item.kind, item.lane, item.subject) == ("reassess", "bulk", str(cast.exchanger.pk))
    assert running.run(item.pk) == "done"
    item.refresh_from_db()
    readings = Reading.objects.standing().filter(exchanger=cast.exchanger).count()
    assert (item.progress_done, item.result["readings"]) == (readings, readings)
    assessed.refresh_from_db()
    assert (assessed.superseded_because, assessed.superseded_at is None) == (sent["because"], False)
    new = Assessment.objects.current().get(reading=assessed.reading_id)
    assert new.pk != assessed.pk and new.result["reference"], "it says which reference it stood on"
