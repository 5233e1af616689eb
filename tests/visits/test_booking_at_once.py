"""Many bookings of one person at the same moment: one is made, the others hear of the clash."""

from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.visits.models import CrewPlace, Visit
from contractor.visits.services import book_visit
from tests import make

START = timezone.now() + dt.timedelta(days=30)


@pytest.mark.django_db(transaction=True)
def test_of_ten_bookings_at_once_one_is_made(tmp_path: object) -> None:
    if connection.vendor == "sqlite" and connection.is_in_memory_db():
        pytest.fail("the test database must be a file for threads to meet in it")
    site, person = make.site(), make.person()

    def try_once(number: int) -> str:
        try:
            book_visit(
                {
                    "site": site,
                    "window_start": START,
                    "window_end": START + dt.timedelta(minutes=30 + number),
                },
                [Person(pk=person.pk)],
            )
            return "booked"
        except Problem as problem:
            return problem.kind
        finally:
            connections.close_all()

    with ThreadPoolExecutor(10) as pool:
        said = list(pool.map(try_once, range(10)))
    assert sorted(said) == ["booked", *["double-booked"] * 9]
    assert CrewPlace.objects.count() == Visit.objects.count() == 1
