"""Which units the office is told of before they reach their limit; which papers before they lapse."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.accounts.models import Certificate
from contractor.register.models import Cleaner
from contractor.register.sheets import PAPER_GOOD_FOR
from contractor.web.attention import due_soon, latest_results, matters
from diagnostics.models import Assessment, GrowthFit
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
NAME = "Units due by their growth and limit"


def from_now(days: float) -> dt.datetime:
    return timezone.now() + dt.timedelta(days=days)


def told(cast: Cast, exchanger: Any, verdict: str) -> Assessment:
    visit = make.visit(cast.site, [cast.assigned], window_start=from_now(-1), state="done")
    reading = make.reading(visit, exchanger, cast.assigned, taken_at=from_now(-1))
    return Assessment.objects.create(
        reading=reading, engine_version="1", inputs_digest="0" * 64, verdict=verdict,
        probability_over_limit=0.5, do_next="Read.", result={},
    )  # fmt: skip


def fit(exchanger: Any, days: float | None, **given: Any) -> GrowthFit:
    fields = {
        "exchanger": exchanger, "engine_version": "1", "inputs_digest": "0" * 64, "readings": 7,
        "unit": "m2K/W", "limit_value": 4e-4, "since": from_now(-300), "law": "falling_rate", "result": {},
        "reached_at": None if days is None else from_now(days),
        "reached_from": from_now(20), "reached_until": None,
    }  # fmt: skip
    return GrowthFit.objects.create(**{**fields, **given})


def names() -> list[str]:
    return [each.name for each in matters(timezone.now())]


def test_a_unit_due_within_three_months_is_told_with_its_interval_and_how_that_is_known(cast: Cast) -> None:
    row = fit(cast.exchanger, 60)
    [line] = due_soon(latest_results(), timezone.now()).look().lines
    assert line.words == str(cast.exchanger) and str(cast.exchanger.pk) in line.link
    assert f"{from_now(60):%B %Y}" in line.more and f"{from_now(20):%B %Y}" in line.more
    assert "to beyond ten years" in line.more
    assert "7 results; growth that slows down fits them best" in line.more
    assert row.said in line.more


def test_a_limit_that_should_have_come_already_asks_for_a_reading(cast: Cast) -> None:
    fit(cast.exchanger, -40)
    [line] = due_soon(latest_results(), timezone.now()).look().lines
    assert line.more.startswith("Read it again: by its growth the limit came about")


@pytest.mark.parametrize("days", [120, None])
def test_one_due_later_or_never_is_not_told_yet(cast: Cast, days: float | None) -> None:
    fit(cast.exchanger, days)
    assert NAME not in names()


def test_a_fit_that_was_superseded_is_not_told(cast: Cast) -> None:
    fit(cast.exchanger, 60, superseded_at=timezone.now())
    assert NAME not in names()


def test_fouled_units_are_told_elsewhere(cast: Cast) -> None:
    fit(cast.exchanger, 60)
    told(cast, cast.exchanger, "fouled")
    assert NAME not in names()


def test_the_soonest_comes_first(cast: Cast) -> None:
    later, sooner = make.exchanger(make.unit(cast.site)), make.exchanger(make.unit(cast.site))
    fit(later, 70), fit(sooner, 10)
    assert [line.words for line in due_soon(latest_results(), timezone.now()).look().lines] == [
        str(sooner),
        str(later),
    ]


def test_the_exchangers_page_says_when_and_how_sure_or_why_not(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    path = f"/office/exchangers/{cast.exchanger.pk}/"
    assert "When its limit comes" not in client.get(path).content.decode()
    row = fit(cast.exchanger, 60)
    text = client.get(path).content.decode()
    assert "When its limit comes" in text and "95 % interval" in text
    GrowthFit.objects.filter(pk=row.pk).update(why_not="Nobody knows when that began.")
    assert "Nobody knows when that began." in client.get(path).content.decode()


def test_the_number_of_queries_does_not_grow_with_the_units(cast: Cast) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as found:
            due_soon(latest_results(), timezone.now()).look()
        return len(found)

    fit(cast.exchanger, 60)
    one = queries()
    for _ in range(4):
        fit(make.exchanger(make.unit(cast.site)), 60)
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
