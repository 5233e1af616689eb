"""Lists: as many questions to the database for many rows as for few; filters, order, pages."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.register.models import Cleaner, ClientAccess, GaugeSet, OperatingTable, Rig
from contractor.visits.models import Finding
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def access(cast: Cast, number: int) -> Any:
    given = ClientAccess.objects.create(person=make.person("client"), customer=cast.customer)
    return make.list_site(given, cast.site)


def table_row(cast: Cast, number: int) -> Any:
    return OperatingTable.objects.create(name=f"T{number}").rows.create(mode="cooling")


def instrument(cast: Cast, number: int) -> Any:
    gauges = GaugeSet.objects.create(name=f"G{number}")
    return gauges.instruments.create(reading="amps", repeating=0, random=0, relative=True)


def reading(cast: Cast, number: int) -> Any:
    return make.reading(cast.visit, make.exchanger(make.unit(cast.site)), make.person())


def finding(cast: Cast, number: int) -> Any:
    return Finding.objects.create(visit=cast.visit, unit=cast.unit, found_by=cast.assigned, kind="note")


# queries of a list for the office, without sign-in: the rows, and one more for each kind of row below it
MAKERS: dict[str, tuple[int, Callable[[Cast, int], Any]]] = {
    "customers": (1, lambda cast, n: make.customer()),
    "sites": (1, lambda cast, n: make.site(make.customer())),
    "units": (1, lambda cast, n: make.unit(make.site())),
    "exchangers": (1, lambda cast, n: make.exchanger(make.unit())),
    "unit-events": (1, lambda cast, n: make.unit().events.create(at=timezone.now(), what="descaled")),
    "water-tests": (1, lambda cast, n: make.site().water_tests.create(taken_at=timezone.now())),
    "client-accesses": (2, access),
    "operating-tables": (2, table_row),
    "operating-table-rows": (1, table_row),
    "gauge-sets": (1, lambda cast, n: GaugeSet.objects.create(name=f"G{n}", holder=make.person())),
    "instruments": (1, instrument),
    "cleaners": (1, lambda cast, n: Cleaner.objects.create(name=f"C{n}")),
    "cleaner-lots": (1, lambda cast, n: Cleaner.objects.create(name=f"C{n}").lots.create(lot="1")),
    "rigs": (1, lambda cast, n: Rig.objects.create(name=f"R{n}")),
    "changes": (1, lambda cast, n: make.customer()),
    "visits": (3, lambda cast, n: make.visit(make.site(), [make.person()])),
    "readings": (1, reading),
    "findings": (1, finding),
}


@pytest.mark.parametrize("address", MAKERS)
@pytest.mark.parametrize("who", ["office", "assigned", "client"])
def test_a_list_asks_as_often_for_many_rows_as_for_few(cast: Cast, address: str, who: str) -> None:
    expected, made = MAKERS[address]
    client = as_person(getattr(cast, who))
    for number in range(3):
        made(cast, number)
    counts = []
    for more in (0, 30):
        for number in range(3, 3 + more):
            made(cast, number)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            answer = client.get(f"/api/v1/{address}/?limit=200")
        counts.append(len(queries))
    if answer.status_code == 403:
        assert who != "office"
        return
    assert counts[0] == counts[1]
    assert counts[1] <= expected
    if who == "office":
        assert len(answer.data["results"]) >= 33
        assert counts[1] == expected


def ids(answer: Any) -> list[str]:
    return [row["id"] for row in answer.data["results"]]


def test_retired_rows_are_hidden_until_asked_for(cast: Cast) -> None:
    old = make.unit(cast.site, tag="OLD-1", retired_at=timezone.now())
    client = as_person(cast.office)
    assert ids(client.get("/api/v1/units/")) == [str(cast.unit.pk)]
    assert ids(client.get("/api/v1/units/?retired=yes")) == [str(old.pk)]
    assert ids(client.get("/api/v1/units/?retired=all&ordering=tag")) == [str(cast.unit.pk), str(old.pk)]
    assert client.get(f"/api/v1/units/{old.pk}/").status_code == 200


@pytest.mark.parametrize("asked", ["retired=maybe", "site=not-a-uuid", "colour=blue", "limit=0", "limit=999"])
def test_a_filter_that_is_not_understood_is_refused_not_ignored(cast: Cast, asked: str) -> None:
    answer = as_person(cast.office).get(f"/api/v1/units/?{asked}")
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_units_are_found_by_customer_site_kind_and_part_of_a_tag(cast: Cast) -> None:
    theirs = make.unit(
        make.site(cast.other_customer), tag="LC-101", kind="water_cooled_chiller", refrigerant="R134a"
    )
    client = as_person(cast.office)
    for asked, found in (
        (f"customer={cast.customer.pk}", cast.unit),
        (f"site={theirs.site_id}", theirs),
        ("kind=water_cooled_chiller", theirs),
        ("refrigerant=R410A", cast.unit),
        ("tag__icontains=a-0", cast.unit),
        ("tag__iexact=lc-101", theirs),
    ):
        assert ids(client.get(f"/api/v1/units/?{asked}")) == [str(found.pk)], asked


def test_visits_are_found_by_day_crew_and_state(cast: Cast) -> None:
    in_three_days = timezone.now() + dt.timedelta(days=3)
    later = make.visit(cast.site, [cast.other], window_start=in_three_days, state="done", urgent=True)
    client = as_person(cast.office)
    middle = (timezone.now() + dt.timedelta(days=1)).strftime("%Y-%m-%dT%H:%M:%SZ")
    for asked, found in (
        (f"since={middle}", later),
        (f"until={middle}", cast.visit),
        (f"crew={cast.other.pk}", later),
        ("state=booked", cast.visit),
        ("open=true", cast.visit),
        ("open=false", later),
        ("urgent=true", later),
    ):
        assert ids(client.get(f"/api/v1/visits/?{asked}")) == [str(found.pk)], asked


def test_readings_are_found_by_unit_mode_purpose_and_time(cast: Cast) -> None:
    first = make.reading(cast.visit, cast.exchanger, cast.assigned)
    later = {
        "mode": "heating",
        "purpose": "clean_reference",
        "taken_at": timezone.now() + dt.timedelta(days=2),
    }
    second = make.reading(cast.visit, make.exchanger(make.unit(cast.site)), cast.assigned, **later)
    client = as_person(cast.office)
    middle = (timezone.now() + dt.timedelta(days=1)).strftime("%Y-%m-%dT%H:%M:%SZ")
    for asked, found in (
        (f"unit={cast.unit.pk}", first),
        (f"exchanger={second.exchanger_id}", second),
        ("mode=heating", second),
        ("purpose=routine", first),
        (f"taken_from={middle}", second),
        (f"taken_until={middle}", first),
    ):
        assert ids(client.get(f"/api/v1/readings/?{asked}")) == [str(found.pk)], asked
    assert ids(client.get("/api/v1/readings/?ordering=taken_at")) == [str(first.pk), str(second.pk)]
    assert ids(client.get("/api/v1/readings/")) == [str(second.pk), str(first.pk)]


def test_pages_neither_lose_nor_double_a_row_when_names_are_alike(cast: Cast) -> None:
    for number in range(7):
        make.site(
            make.customer(), name="Main building", created_at=timezone.now() - dt.timedelta(days=number)
        )
    client, found, address = as_person(cast.office), [], "/api/v1/sites/?limit=2&ordering=name"
    while address:
        page = client.get(address)
        found += ids(page)
        address = page.data["next"]
    assert len(found) == len(set(found)) == 9
