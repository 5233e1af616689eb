"""Which units the office is told of before they reach their limit; which papers before they lapse."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.accounts.models import Certificate
from contractor.register.models import Cleaner, UnitEvent
from contractor.register.sheets import PAPER_GOOD_FOR
from contractor.web.attention import due_soon, matters
from contractor.web.trends import crossing
from diagnostics.models import Assessment
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
NAME = "Units due by their growth and limit"


def days_ago(days: float) -> dt.datetime:
    return timezone.now() - dt.timedelta(days=days)


def told(cast: Cast, exchanger: Any, days: float, fouling: float, **given: Any) -> Assessment:
    visit = make.visit(cast.site, [cast.assigned], window_start=days_ago(days), state="done")
    reading = make.reading(visit, exchanger, cast.assigned, taken_at=days_ago(days))
    result = {"limit": {"value": 4e-4, "unit": "m2K/W", "source": "stated"}}
    return Assessment.objects.create(
        **{"reading": reading, "engine_version": "1", "inputs_digest": "0" * 64, "verdict": "clean",
           "probability_over_limit": 0.1, "fouling_m2k_per_w": fouling, "do_next": "Read.",
           "result": result, **given}
    )  # fmt: skip


def grown(cast: Cast, exchanger: Any) -> None:
    for days, fouling in ((200, 1e-4), (100, 2e-4), (0, 3e-4)):
        told(cast, exchanger, days, fouling)


def names() -> list[str]:
    return [each.name for each in matters(timezone.now())]


def test_the_line_reaches_the_limit_when_a_hand_calculation_says() -> None:
    # by hand: 1e-4 in 100 days from 1e-4 reaches 4e-4 after 300 days
    first = dt.datetime(2027, 1, 1, tzinfo=dt.UTC)
    points = [(first + dt.timedelta(days=d), v) for d, v in ((0, 1e-4), (100, 2e-4), (200, 3e-4))]
    at = crossing(points, 4e-4)
    assert at is not None and abs(at - first - dt.timedelta(days=300)) < dt.timedelta(minutes=1)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 1e-4), (100, 2e-4)],  # two readings make no trend
        [(0, 1e-4), (5, 2e-4), (9, 3e-4)],  # too close together
        [(0, 3e-4), (100, 2e-4), (200, 1e-4)],  # falling
        [(0, 2e-4), (100, 2e-4), (200, 2e-4)],  # level
    ],
)
def test_no_date_is_named_where_the_readings_carry_none(points: list[tuple[int, float]]) -> None:
    first = dt.datetime(2027, 1, 1, tzinfo=dt.UTC)
    assert crossing([(first + dt.timedelta(days=d), v) for d, v in points], 4e-4) is None


def test_a_unit_due_within_three_months_is_told_with_how_that_is_known(cast: Cast) -> None:
    grown(cast, cast.exchanger)
    assert NAME not in names()  # due in 100 days
    told(cast, cast.exchanger, 1, 3.4e-4)
    lines = due_soon(timezone.now()).lines
    assert [line.words for line in lines] == [str(cast.exchanger)]
    assert "straight line through 4 readings" in lines[0].more


def test_what_was_read_before_a_descale_does_not_count(cast: Cast) -> None:
    grown(cast, cast.exchanger)
    told(cast, cast.exchanger, 1, 3.4e-4)
    UnitEvent.objects.create(unit=cast.unit, at=days_ago(50), what="descaled")
    assert NAME not in names()


def test_fouled_units_are_told_elsewhere(cast: Cast) -> None:
    grown(cast, cast.exchanger)
    told(cast, cast.exchanger, -0.01, 3.9e-4, verdict="fouled", probability_over_limit=0.97)
    assert NAME not in names()


def test_the_number_of_queries_does_not_grow_with_the_units(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as found:
            due_soon(timezone.now())
        return len(found)

    grown(cast, cast.exchanger)
    one = queries()
    for _ in range(4):
        grown(cast, make.exchanger(make.unit(cast.site)))
    assert queries() == one


def test_certificates_and_sheets_are_told_before_they_lapse(cast: Cast) -> None:
    today = timezone.now().date()
    soon, later = today + dt.timedelta(days=20), today + dt.timedelta(days=300)
    Certificate.objects.create(person=cast.assigned, kind="chemical_work", expires_on=soon)
    Certificate.objects.create(person=cast.other, kind="chemical_work", expires_on=soon)
    Certificate.objects.create(person=cast.other, kind="chemical_work", expires_on=later)  # renewed
    Cleaner.objects.create(name="Old", safety_sheet_on=today - (PAPER_GOOD_FOR - dt.timedelta(days=20)))
    Cleaner.objects.create(name="New", safety_sheet_on=today - dt.timedelta(days=100))
    found = {each.name: [line.words for line in each.lines] for each in matters(timezone.now())}
    assert found == {
        "Certificates of people about to lapse": [f"{cast.assigned}, chemical work"],
        "Cleaners' sheets about to lapse": ["Old"],
    }
