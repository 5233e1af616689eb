"""Booking: nobody in two places at once, the site's hours hold, a visit runs its course."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from contractor.http.problems import Problem
from contractor.register import services as register
from contractor.register.models import Site
from contractor.trail.models import Change
from contractor.visits import services
from contractor.visits.hours import within_access_hours
from contractor.visits.models import CrewPlace, Visit
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

LONDON = ZoneInfo("Europe/London")


def at(hour: int, minute: int = 0, day: int = 3) -> dt.datetime:
    return dt.datetime(2027, 3, day, hour, minute, tzinfo=LONDON)


def book(site: Site, crew: list[Any], start: dt.datetime, end: dt.datetime, **given: Any) -> Visit:
    return services.book_visit({"site": site, "window_start": start, "window_end": end, **given}, crew)


def test_a_booking_holds_its_crew_for_the_window(cast: Cast) -> None:
    visit = book(cast.site, [cast.other], at(9), at(12))
    place = visit.crew_places.get()
    assert (place.person, place.holds_from, place.holds_until) == (cast.other, at(9), at(12))


def test_an_overlapping_window_is_refused_with_the_name_of_the_clash(cast: Cast) -> None:
    cast.site.time_zone = "Europe/London"
    cast.site.save()
    first = book(cast.site, [cast.other], at(9), at(12))
    with pytest.raises(Problem) as refused:
        book(make.site(cast.other_customer), [cast.assigned, cast.other], at(11, 59), at(14))
    assert refused.value.status_code == 409
    assert str(refused.value.detail) == (
        f"{cast.other} is booked at Harbour Reach, Block A, Wed 03 Mar 2027 09:00 to 12:00."
    )
    assert refused.value.more["clashes"][0]["visit"] == str(first.pk)  # type: ignore[index]
    assert Visit.objects.filter(window_start=at(11, 59)).count() == 0


def test_windows_that_only_touch_do_not_clash(cast: Cast) -> None:
    book(cast.site, [cast.other], at(9), at(12))
    book(cast.site, [cast.other], at(12), at(14))
    book(cast.site, [cast.other], at(7), at(9))
    assert CrewPlace.objects.filter(person=cast.other).count() == 3


def test_moving_a_window_onto_another_booking_is_refused(cast: Cast) -> None:
    book(cast.site, [cast.other], at(9), at(12))
    later = book(cast.site, [cast.other], at(13), at(15))
    with pytest.raises(Problem, match="is booked at"):
        services.change_visit(later, {"window_start": at(11)})
    services.change_visit(Visit.objects.get(pk=later.pk), {"window_start": at(12)})
    assert later.crew_places.get().holds_from == at(12)


def test_adding_a_busy_person_to_a_crew_is_refused(cast: Cast) -> None:
    book(cast.site, [cast.other], at(9), at(12))
    second = book(cast.site, [cast.assigned], at(10), at(11))
    with pytest.raises(Problem, match="is booked at"):
        services.change_visit(second, {}, [cast.assigned, cast.other])
    services.change_visit(second, {}, [])
    assert not second.crew_places.exists()


def test_a_visit_called_off_or_finished_frees_its_crew(cast: Cast) -> None:
    for release in (
        lambda visit: services.call_off(visit, "frost", timezone.now()),
        lambda visit: services.finish_visit(cast.office, visit, at(10)),
    ):
        release(book(cast.site, [cast.other], at(9), at(12)))
        services.call_off(book(cast.site, [cast.other], at(9), at(12)), "again", timezone.now())


@pytest.mark.parametrize("late", ["insert", "update"])
def test_the_database_itself_refuses_the_second_place(cast: Cast, late: str) -> None:
    hold = {"holds_from": at(9), "holds_until": at(12)}
    one, two = make.visit(cast.site), make.visit(cast.site)
    CrewPlace.objects.create(visit=one, person=cast.other, **hold)
    with pytest.raises(IntegrityError), transaction.atomic():
        if late == "insert":
            CrewPlace.objects.create(visit=two, person=cast.other, holds_from=at(11), holds_until=at(13))
        else:
            place = CrewPlace.objects.create(visit=two, person=cast.other)
            CrewPlace.objects.filter(pk=place.pk).update(**hold)
    CrewPlace.objects.create(visit=make.visit(cast.site), person=cast.assigned, **hold)
    CrewPlace.objects.create(
        visit=make.visit(cast.site), person=cast.other, holds_from=at(12), holds_until=at(13)
    )


def test_a_window_outside_the_access_hours_is_refused_unless_someone_agreed(cast: Cast) -> None:
    site = register.change_site(
        cast.site, {"time_zone": "Europe/London", "access_from": dt.time(7), "access_until": dt.time(18)}
    )
    with pytest.raises(Problem) as refused:
        book(site, [], at(17), at(19))
    assert refused.value.kind == "outside-access-hours"
    assert "07:00 to 18:00 (Europe/London)" in str(refused.value.detail)
    assert book(site, [], at(17), at(19), outside_hours_agreed_with="the caretaker")
    assert book(site, [], at(17), at(19), urgent=True)
    assert book(site, [], at(7), at(18))


# by hand, access 07:00 to 18:00 and 22:00 to 06:00 local time
@pytest.mark.parametrize(
    ("opens", "closes", "start", "end", "allowed"),
    [
        (7, 18, at(7), at(18), True),
        (7, 18, at(6, 59), at(9), False),
        (7, 18, at(9), at(18, 1), False),
        (7, 18, at(18), at(19), False),
        (7, 18, at(16), at(10, day=4), True),  # two days' work, home for the night
        (7, 18, at(17), at(8, day=4), False),  # 15 hours in one go: the site is locked all night
        (7, 18, at(17), at(7, day=4), False),
        (22, 6, at(23), at(2, day=4), True),
        (22, 6, at(22), at(6, day=4), True),
        (22, 6, at(21), at(23), False),
        (22, 6, at(5), at(7), False),
    ],
)
def test_access_hours_follow_the_clock_on_the_wall(
    opens: int, closes: int, start: dt.datetime, end: dt.datetime, allowed: bool
) -> None:
    site = Site(time_zone="Europe/London", access_from=dt.time(opens), access_until=dt.time(closes))
    assert within_access_hours(site, start.astimezone(dt.UTC), end.astimezone(dt.UTC)) is allowed


@given(
    start=st.datetimes(dt.datetime(2027, 1, 1), dt.datetime(2027, 12, 31), timezones=st.just(dt.UTC)),
    minutes=st.integers(1, 600),
)
def test_a_site_without_access_hours_lets_in_at_any_time(start: dt.datetime, minutes: int) -> None:
    assert within_access_hours(Site(time_zone="Europe/London"), start, start + dt.timedelta(minutes=minutes))


def test_a_window_that_ends_before_it_starts_is_refused(cast: Cast) -> None:
    with pytest.raises(Problem, match="must end after it starts"):
        book(cast.site, [], at(12), at(9))


def test_nobody_goes_to_a_retired_site(cast: Cast) -> None:
    services.call_off(cast.visit, "sold", timezone.now())
    register.retire_site(cast.site, timezone.now())
    with pytest.raises(Problem, match="is retired"):
        book(cast.site, [], at(9), at(12))


def test_a_site_with_an_open_visit_is_not_retired(cast: Cast) -> None:
    with pytest.raises(Problem, match="a visit is still open"):
        register.retire_site(cast.site, timezone.now())
    cast.site.refresh_from_db()
    assert not cast.site.is_retired


def test_clients_and_people_who_left_are_in_no_crew(cast: Cast) -> None:
    left = make.person(is_active=False)
    for person in (cast.client, left):
        with pytest.raises(Problem, match="expected people of the crew"):
            book(cast.site, [person], at(9), at(12))


def test_a_visit_runs_from_booked_to_done_and_repeats_are_harmless(cast: Cast) -> None:
    visit = book(cast.site, [cast.assigned], at(9), at(12))
    services.start_visit(cast.assigned, visit, at(9, 5))
    services.start_visit(cast.assigned, visit, at(9, 30))
    assert (visit.state, visit.started_at) == ("under_way", at(9, 5))
    services.finish_visit(cast.assigned, visit, at(11))
    services.finish_visit(cast.assigned, visit, at(11, 30))
    assert (visit.state, visit.finished_at) == ("done", at(11))
    for late in (
        lambda: services.start_visit(cast.assigned, visit, at(12)),
        lambda: services.call_off(visit, "too late", timezone.now()),
        lambda: services.change_visit(visit, {"window_end": at(16)}),
    ):
        with pytest.raises(Problem, match="This visit is done"):
            late()


def test_calling_off_wants_a_reason(cast: Cast) -> None:
    with pytest.raises(Problem, match="Say why"):
        services.call_off(cast.visit, "  ", timezone.now())


def test_every_change_of_a_crew_leaves_a_trace(cast: Cast) -> None:
    visit = book(cast.site, [cast.assigned], at(9), at(12))
    place = visit.crew_places.get()
    services.change_visit(visit, {}, [cast.other])
    said = Change.objects.filter(table="visits.crewplace", row_id=str(place.pk)).order_by("id")
    assert [change.action for change in said] == ["created", "deleted"]
    assert said[1].fields["person_id"] == [str(cast.assigned.pk), None]


def test_open_visits_of_a_day_are_those_whose_window_touches_it_at_the_site(cast: Cast) -> None:
    services.call_off(cast.visit, "not this one", timezone.now())
    late = book(cast.site, [], at(23), at(23, 59))
    over = book(cast.site, [], at(23, 30), at(2, day=4))
    book(cast.site, [], at(0, 30, day=5), at(2, day=5))
    days = [set(Visit.objects.open_on(dt.date(2027, 3, day), LONDON)) for day in (2, 3, 4)]
    assert days == [set(), {late, over}, {over}]
    assert set(Visit.objects.overdue(at(1, day=4))) == {late}


def test_booking_over_the_api_answers_with_the_clash(cast: Cast) -> None:
    book(cast.site, [cast.other], at(9), at(12))
    sent = {
        "site": str(cast.site.pk),
        "window_start": at(10),
        "window_end": at(11),
        "crew": [str(cast.other.pk)],
    }
    answer = as_person(cast.office).post("/api/v1/visits/", sent)
    assert (answer.status_code, answer.data["type"]) == (409, "/api/v1/problems/double-booked/")
    assert answer.data["errors"][0]["pointer"] == "#/crew"
    answer = as_person(cast.office).post("/api/v1/visits/", {**sent, "crew": [str(cast.assigned.pk)]})
    assert answer.status_code == 201
    assert answer.data["crew_names"] == [cast.assigned.name]
    assert answer["ETag"] == f'"{answer.data["id"]}-1"'


def test_a_state_is_not_set_by_hand(cast: Cast) -> None:
    address = f"/api/v1/visits/{cast.visit.pk}/"
    answer = as_person(cast.office).patch(address, {"state": "done"}, headers={"If-Match": "*"})
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/state"


def test_a_window_longer_than_a_fortnight_is_no_plan(cast: Cast) -> None:
    start = timezone.now() + dt.timedelta(days=3)
    fields = {
        "site": cast.site,
        "window_start": start,
        "window_end": start + dt.timedelta(days=14, minutes=1),
    }
    with pytest.raises(Problem) as refused:
        services.book_visit(fields)
    assert refused.value.errors[0]["pointer"] == "#/window_end"
    assert "at most 14" in refused.value.errors[0]["detail"]
    visit = services.book_visit({**fields, "window_end": start + dt.timedelta(days=14)})
    with pytest.raises(Problem, match="at most 14"):
        services.change_visit(visit, {"window_end": start + dt.timedelta(days=20)})
