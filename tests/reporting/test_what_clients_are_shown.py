"""Clients see what was read, and what it tells, only where it stands behind a released report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from contractor.register.models import Exchanger, GaugeSet
from contractor.trail.models import Change
from contractor.visits.models import Reading
from diagnostics.models import Assessment
from diagnostics.services import assess_reading
from reporting import services
from reporting.models import Document
from tests import make
from tests.cast import Cast, as_person
from tests.diagnostics import world

pytestmark = pytest.mark.django_db
DAYS = (100, 200, 300)


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def told(cast: Cast) -> dict[int, Assessment]:
    """One assessment of each of three days, of one exchanger."""
    world.know(cast.exchanger)
    made = {}
    for day in DAYS:
        visit = make.visit(cast.site, [cast.assigned])
        reading = world.reading(visit, cast.exchanger, cast.assigned, day=day)
        made[day] = assess_reading(reading.pk)
    return made  # type: ignore[return-value]


def report(cast: Cast, assessment: Assessment) -> Document:
    document = services.prepare_visit_report(str(assessment.pk), "a4")
    return services.release(document, cast.office, timezone.now())


def withdraw(cast: Cast, document: Document) -> None:
    services.withdraw(document, cast.office, "wrong unit", timezone.now())


def days_shown(cast: Cast, told: dict[int, Assessment], **asked: str) -> tuple[list[int], list[int]]:
    """Days of the assessments and of the readings that the client finds, by list and by address."""
    client = as_person(cast.client)
    assessments = {row["id"] for row in client.get("/api/v1/assessments/", asked).data["results"]}
    readings = {row["id"] for row in client.get("/api/v1/readings/", asked).data["results"]}
    for each in told.values():
        found = client.get(f"/api/v1/assessments/{each.pk}/").status_code
        assert found == (200 if each.pk in assessments or asked else 404)
        beside = client.get(f"/api/v1/readings/{each.reading_id}/assessment/").status_code
        assert beside == (200 if str(each.reading_id) in readings or asked else 404)
    return (
        [day for day, each in told.items() if each.pk in assessments],
        [day for day, each in told.items() if str(each.reading_id) in readings],
    )


def test_before_any_report_a_client_sees_nothing(cast: Cast, told: dict[int, Assessment]) -> None:
    assert days_shown(cast, told) == ([], [])


def test_a_prepared_report_shows_nothing_yet(cast: Cast, told: dict[int, Assessment]) -> None:
    services.prepare_visit_report(str(told[200].pk), "a4")
    assert days_shown(cast, told) == ([], [])


def test_a_released_report_shows_its_reading_and_those_before(
    cast: Cast, told: dict[int, Assessment]
) -> None:
    report(cast, told[200])
    assert days_shown(cast, told) == ([100, 200], [100, 200])


def test_a_report_of_one_exchanger_shows_nothing_of_another(cast: Cast, told: dict[int, Assessment]) -> None:
    other = make.exchanger(cast.unit, name="other")
    reading = make.reading(cast.visit, other, cast.assigned, taken_at=told[100].reading.taken_at)
    report(cast, told[300])
    assert as_person(cast.client).get(f"/api/v1/readings/{reading.pk}/").status_code == 404


def test_withdrawing_takes_away_again_down_to_the_report_before(
    cast: Cast, told: dict[int, Assessment]
) -> None:
    first, second = report(cast, told[100]), report(cast, told[300])
    assert days_shown(cast, told) == ([100, 200, 300], [100, 200, 300])
    withdraw(cast, second)
    assert days_shown(cast, told) == ([100], [100])
    withdraw(cast, first)
    assert days_shown(cast, told) == ([], [])


def test_withdrawing_an_older_report_changes_nothing(cast: Cast, told: dict[int, Assessment]) -> None:
    first, _ = report(cast, told[100]), report(cast, told[300])
    withdraw(cast, first)
    assert days_shown(cast, told) == ([100, 200, 300], [100, 200, 300])


@pytest.mark.parametrize("order", ["made_at", "-made_at", "reading__taken_at", "-reading__taken_at"])
def test_no_order_or_filter_brings_out_what_is_not_reported(
    cast: Cast, told: dict[int, Assessment], order: str
) -> None:
    report(cast, told[100])
    client = as_person(cast.client)
    late = told[300]
    for asked in (
        {}, {"reading": str(late.reading_id)}, {"exchanger": str(cast.exchanger.pk)}, {"current": "false"},
        {"visit": str(late.reading.visit_id)}, {"taken_from": late.reading.taken_at.isoformat()},
    ):  # fmt: skip
        answer = client.get("/api/v1/assessments/", {"ordering": order, **asked})
        assert answer.status_code == 200
        assert {row["id"] for row in answer.data["results"]} <= {told[100].pk}, asked


def test_the_crew_and_the_office_see_all_of_it(cast: Cast, told: dict[int, Assessment]) -> None:
    for person in (cast.assigned, cast.office, cast.owner):
        assert len(as_person(person).get("/api/v1/assessments/").data["results"]) == len(DAYS)
        assert len(as_person(person).get("/api/v1/readings/").data["results"]) == len(DAYS)


def test_what_clients_are_shown_leaves_a_trace(cast: Cast, told: dict[int, Assessment]) -> None:
    report(cast, told[100])
    change = Change.objects.filter(table="visits.showntoclients").latest("id")
    assert change.fields["until"][1] == str(told[100].reading.taken_at)


def test_a_client_does_not_get_the_firms_own_words(cast: Cast) -> None:
    gauges = GaugeSet.objects.create(name="van 2")
    reading: Reading = make.reading(
        cast.visit, cast.exchanger, cast.assigned, gauge_set=gauges, note="they never clean it",
        correction_reason="typed by the trainee",
    )  # fmt: skip
    make.shown_to_clients(Exchanger.objects.get(pk=cast.exchanger.pk), reading.taken_at)
    cast.visit.urgent, cast.visit.opened_by_tag = True, "HR-A-001"
    cast.visit.save()
    client, office = as_person(cast.client), as_person(cast.office)
    for address, hidden in (
        (f"/api/v1/readings/{reading.pk}/", ("note", "correction_reason", "gauge_set")),
        (f"/api/v1/visits/{cast.visit.pk}/", ("opened_by_tag",)),
    ):
        shown = client.get(address).json()
        told = office.get(address).json()
        for name in hidden:
            assert told[name] and not shown[name], name
