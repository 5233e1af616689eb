"""Whoever signs in to the demo as a technician finds visits to do, on the day of the run and after."""

from __future__ import annotations

import datetime as dt

import pytest

from contractor.accounts.models import Person, Role
from contractor.demo.booking import book_coming
from contractor.visits.models import Visit
from contractor.web.technician.selectors import rounds
from tests import make

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 3, 30, 22, 30, tzinfo=dt.UTC)  # in London it is half past eleven at night


def world() -> list[Person]:
    for hours in ({}, {"access_from": dt.time(6), "access_until": dt.time(7, 30)}, {}, {}):
        make.site(time_zone="Europe/London", **hours)
    return [make.person(Role.TECHNICIAN), make.person(Role.TECHNICIAN)]


def test_everyone_of_the_crew_has_a_visit_today_and_one_to_come() -> None:
    crew = world()
    assert book_coming(NOW) == 4
    for person in crew:
        found = rounds(person, NOW)
        assert [len(found.today), len(found.coming)] == [1, 1]
        assert found.bring, "and its pages come along on the phone"


def test_run_again_nothing_is_booked_twice_and_the_next_day_something_is() -> None:
    world()
    book_coming(NOW)
    assert book_coming(NOW) == 0 and Visit.objects.count() == 4
    assert book_coming(NOW + dt.timedelta(days=3)) == 4


def test_a_visit_keeps_to_the_hours_in_which_one_is_let_in() -> None:
    world()
    book_coming(NOW)
    for visit in Visit.objects.select_related("site"):
        at = visit.window_start.astimezone(visit.site.zone).time()
        assert at == (visit.site.access_from or dt.time(9))
