"""Booking: a rig is in one place, quiet hours hold, chemical work wants two people and their papers."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client

from contractor.accounts.models import Certificate
from contractor.http.problems import Problem
from contractor.register.models import Rig, Site
from contractor.visits import services
from contractor.visits.hours import touches_quiet_hours
from contractor.visits.models import RigPlace, Visit
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

LONDON = ZoneInfo("Europe/London")


def at(hour: int, minute: int = 0, day: int = 3) -> dt.datetime:
    return dt.datetime(2027, 3, day, hour, minute, tzinfo=LONDON)


def book(site: Site, crew: list[Any], hours: tuple[int, int], rigs: Any = (), **given: Any) -> Visit:
    window = {"window_start": at(hours[0]), "window_end": at(hours[1])}
    return services.book_visit({"site": site, **window, **given}, crew, rigs)


def certify(person: Any, until: str, kind: str = "chemical_work") -> Certificate:
    return Certificate.objects.create(person=person, kind=kind, expires_on=until)


@pytest.fixture
def rig() -> Rig:
    return Rig.objects.create(name="Rig 1")


def test_a_rig_is_not_booked_twice_at_once_and_the_clash_is_named(cast: Cast, rig: Rig) -> None:
    first = book(cast.site, [cast.other], (9, 12), [rig])
    with pytest.raises(Problem) as refused:
        book(make.site(cast.other_customer), [cast.assigned], (11, 14), [rig])
    assert refused.value.status_code == 409
    assert str(refused.value.detail) == f"Rig 1 is booked at {cast.site}, Wed 03 Mar 2027 09:00 to 12:00."
    assert refused.value.more["clashes"][0]["visit"] == str(first.pk)  # type: ignore[index]


def test_rigs_whose_windows_only_touch_or_whose_visit_is_called_off_are_free(cast: Cast, rig: Rig) -> None:
    first = book(cast.site, [cast.other], (9, 12), [rig])
    book(cast.site, [cast.other], (12, 14), [rig])
    services.call_off(first, "sold", at(8))
    book(cast.site, [cast.other], (10, 11), [rig])
    assert RigPlace.objects.filter(rig=rig).count() == 3


def test_moving_a_visit_takes_its_rigs_along_and_is_refused_where_one_is_taken(cast: Cast, rig: Rig) -> None:
    book(cast.site, [cast.other], (9, 12), [rig])
    later = book(cast.site, [cast.assigned], (13, 15), [rig])
    with pytest.raises(Problem, match="Rig 1 is booked at"):
        services.change_visit(later, {"window_start": at(11)})


def test_rigs_can_be_changed_and_a_retired_one_is_refused(cast: Cast, rig: Rig) -> None:
    visit = book(cast.site, [cast.other], (9, 12), [rig])
    services.change_visit(visit, {}, rigs=[])
    assert not visit.rig_places.exists()
    old = Rig.objects.create(name="Rig 0", retired_at=at(8))
    with pytest.raises(Problem):
        services.change_visit(Visit.objects.get(pk=visit.pk), {}, rigs=[old])


@pytest.mark.parametrize(
    ("start", "end", "touches"),
    [
        (at(20), at(23), True),
        (at(19), at(22), False),  # ends as the quiet begins
        (at(7), at(9), False),  # starts as the quiet ends
        (at(6), at(9), True),
        (at(9), at(9, day=5), True),  # a night lies between
        (at(9), at(17), False),
    ],
)
def test_quiet_hours_over_midnight_by_hand(start: dt.datetime, end: dt.datetime, touches: bool) -> None:
    site = make.site(time_zone="Europe/London", quiet_from=dt.time(22), quiet_until=dt.time(7))
    assert touches_quiet_hours(site, start, end) is touches


def test_noise_in_quiet_hours_wants_the_name_of_who_agreed(cast: Cast) -> None:
    site = make.site(
        cast.customer, time_zone="Europe/London", quiet_from=dt.time(12), quiet_until=dt.time(14)
    )
    with pytest.raises(Problem, match=r"wants quiet from 12:00 to 14:00 \(Europe/London\)"):
        book(site, [cast.other], (11, 13), noisy=True)
    quiet = book(site, [cast.other], (11, 13))
    with pytest.raises(Problem, match="wants quiet"):
        services.change_visit(quiet, {"noisy": True})
    quiet = Visit.objects.get(pk=quiet.pk)
    services.change_visit(quiet, {"noisy": True, "quiet_hours_agreed_with": "the manager"})
    assert Visit.objects.get(pk=quiet.pk).noisy


def test_nobody_is_booked_alone_for_chemical_work(cast: Cast) -> None:
    certify(cast.other, "2027-12-31")
    with pytest.raises(Problem, match="nobody works with acid alone"):
        book(cast.site, [cast.other], (9, 12), chemical_work=True)
    both = book(cast.site, [cast.other, cast.assigned], (9, 12), chemical_work=True)
    with pytest.raises(Problem, match="nobody works with acid alone"):
        services.change_visit(both, {}, [cast.other])


def test_a_certificate_that_lapses_before_the_day_keeps_its_person_from_chemical_work(cast: Cast) -> None:
    certify(cast.other, "2027-12-31")
    certify(cast.assigned, "2027-03-02")
    with pytest.raises(Problem, match=f"{cast.assigned}'s certificate for chemical work holds until 02 Mar"):
        book(cast.site, [cast.other, cast.assigned], (9, 12), chemical_work=True)
    certify(cast.assigned, "2027-03-03")  # renewed: it holds on the day itself
    assert book(cast.site, [cast.other, cast.assigned], (9, 12), chemical_work=True).chemical_work


def test_somebody_of_the_crew_must_hold_a_certificate_for_chemical_work(cast: Cast) -> None:
    certify(cast.other, "2027-12-31", kind="first_aid")
    with pytest.raises(Problem, match="has a certificate for chemical work on record"):
        book(cast.site, [cast.other, cast.assigned], (9, 12), chemical_work=True)


def test_a_descale_is_chemical_work_unless_the_office_says_that_nothing_goes_in(cast: Cast) -> None:
    with pytest.raises(Problem, match="nobody works with acid alone"):
        book(cast.site, [cast.other], (9, 12), reason="descale")
    assert not book(cast.site, [cast.other], (9, 12), reason="descale", chemical_work=False).chemical_work
    certify(cast.assigned, "2027-12-31")
    booked = book(cast.site, [cast.assigned, cast.office], (9, 12), reason="descale")
    assert booked.chemical_work


def test_a_visit_that_becomes_a_descale_becomes_chemical_work(cast: Cast) -> None:
    visit = book(cast.site, [cast.other], (9, 12), reason="routine")
    with pytest.raises(Problem, match="nobody works with acid alone"):
        services.change_visit(visit, {"reason": "descale"})
    visit = services.change_visit(
        Visit.objects.get(pk=visit.pk), {"reason": "descale", "chemical_work": False}
    )
    assert not services.change_visit(visit, {"reason": "descale", "notes": "brushes only"}).chemical_work


def test_the_api_tells_a_descale_without_a_word_of_chemicals_from_one_that_denies_them(cast: Cast) -> None:
    sent = {"site": str(cast.site.pk), "window_start": at(9).isoformat(), "window_end": at(12).isoformat(),
            "crew": [str(cast.other.pk)], "reason": "descale"}  # fmt: skip
    refused = as_person(cast.office).post("/api/v1/visits/", sent, format="json")
    assert refused.status_code == 409
    assert refused.json()["type"].endswith("/crew-not-fit-for-chemical-work/")
    booked = as_person(cast.office).post("/api/v1/visits/", {**sent, "chemical_work": False}, format="json")
    assert booked.status_code == 201 and booked.json()["chemical_work"] is False


def test_the_api_books_rigs_and_hides_them_from_clients(cast: Cast, rig: Rig) -> None:
    sent = {"site": str(cast.site.pk), "window_start": at(9).isoformat(), "window_end": at(12).isoformat(),
            "crew": [str(cast.other.pk)], "rigs": [str(rig.pk)]}  # fmt: skip
    answer = as_person(cast.office).post("/api/v1/visits/", sent, format="json")
    assert (answer.status_code, answer.json()["rigs"]) == (201, [str(rig.pk)])
    again = as_person(cast.office).post("/api/v1/visits/", {**sent, "crew": []}, format="json")
    assert again.status_code == 409 and again.json()["type"].endswith("/rig-booked-twice/")
    assert again.json()["errors"][0]["pointer"].endswith("/rigs")
    seen = as_person(cast.client).get(f"/api/v1/visits/{answer.json()['id']}/")
    assert seen.json()["rigs"] == []


def test_the_booking_page_says_the_refusal_at_its_field(cast: Cast, rig: Rig) -> None:
    client = Client()
    client.force_login(cast.office)
    sent = {"site": str(cast.site.pk), "day": "2027-03-03", "starts": "09:00", "ends": "11:00",
            "reason": "descale", "crew": [str(cast.other.pk)],
            "rigs": [str(rig.pk)]}  # fmt: skip
    page = client.post("/office/visits/new/", sent)
    assert page.status_code == 409
    assert "nobody works with acid alone" in page.content.decode()
