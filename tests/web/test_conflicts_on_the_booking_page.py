"""Each conflict of a booking, met on the office's page: told where it belongs, in the words of the form."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.test import Client

from contractor.accounts.models import Certificate
from contractor.register.models import Rig
from contractor.visits.models import Visit
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
BOOK = "/office/visits/new/"
HELD = dt.date(2027, 12, 31)


def office(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.office)
    return client


def words_of(answer: Any) -> str:
    plain = answer.content.decode().replace("&#x27;", "'").replace("\N{NO-BREAK SPACE}", " ")
    return re.sub(r"\s+", " ", plain)


def booking(cast: Cast, **more: Any) -> dict[str, Any]:
    day = {"day": "2027-05-04", "starts": "09:00", "ends": "11:00", "reason": "descale", "no_chemical": "on"}
    return {"site": str(cast.site.pk), **day, "crew": [str(cast.assigned.pk), str(cast.other.pk)], **more}


def at_field(answer: Any, field: str) -> str:
    """What is told at one field, and nowhere else than there and in the summary."""
    assert answer.status_code == 409
    found = re.search(rf'<ul class="errorlist" id="id_{field}_error">(.*?)</ul>', words_of(answer))
    assert found, f"nothing is told at {field}"
    return re.sub(r"<[^>]+>", "", found[1])


def booked() -> int:
    return Visit.objects.filter(window_start__year=2027).count()


def test_a_rig_in_two_places_is_told_at_the_rigs_with_where_it_is(cast: Cast) -> None:
    rig = Rig.objects.create(name="Rig 1")
    client = office(cast)
    client.post(BOOK, booking(cast, rigs=str(rig.pk)))
    elsewhere = make.site(cast.other_customer, name="Elsewhere")
    again = booking(cast, rigs=str(rig.pk), site=str(elsewhere.pk), crew=str(cast.office.pk))
    told = at_field(client.post(BOOK, again), "rigs")
    assert f"Rig 1 is booked at {cast.site}" in told and booked() == 1


def test_noise_in_quiet_hours_is_told_at_the_time_and_goes_with_a_name(cast: Cast) -> None:
    cast.site.quiet_from, cast.site.quiet_until = dt.time(8), dt.time(10)
    cast.site.save()
    client = office(cast)
    told = at_field(client.post(BOOK, booking(cast, noisy="on")), "starts")
    assert "wants quiet from" in told
    assert "“Noise inside quiet hours, agreed with”" in told and "quiet_hours_agreed_with" not in told
    agreed = booking(cast, noisy="on", quiet_hours_agreed_with="the matron")
    assert client.post(BOOK, agreed).status_code == 302 and booked() == 1


def test_outside_access_hours_is_told_at_the_time_with_the_name_of_the_field_that_helps(cast: Cast) -> None:
    cast.site.access_from, cast.site.access_until = dt.time(10), dt.time(16)
    cast.site.save()
    told = at_field(office(cast).post(BOOK, booking(cast)), "starts")
    assert "“Outside access hours, agreed with”" in told and booked() == 0


def test_chemical_work_wants_a_second_person(cast: Cast) -> None:
    Certificate.objects.create(person=cast.assigned, kind="chemical_work", expires_on=HELD)
    alone = booking(cast, chemical_work="on", crew=str(cast.assigned.pk))
    told = at_field(office(cast).post(BOOK, alone), "crew")
    assert "nobody works with acid alone. Add a second person." in told and booked() == 0


def test_chemical_work_wants_certificates_that_hold_that_day(cast: Cast) -> None:
    client, acid = office(cast), booking(cast, chemical_work="on")
    assert "Nobody of this crew has a certificate" in at_field(client.post(BOOK, acid), "crew")
    lapsed = Certificate.objects.create(
        person=cast.assigned, kind="chemical_work", expires_on=dt.date(2027, 5, 3)
    )
    told = at_field(client.post(BOOK, acid), "crew")
    assert f"{cast.assigned}'s certificate for chemical work holds until 03 May 2027" in told
    Certificate.objects.filter(pk=lapsed.pk).update(expires_on=HELD)
    assert client.post(BOOK, acid).status_code == 302 and booked() == 1


def test_moving_a_visit_meets_the_same_conflicts(cast: Cast) -> None:
    client = office(cast)
    client.post(BOOK, booking(cast))
    client.post(BOOK, booking(cast, day="2027-05-05"))
    second = Visit.objects.get(window_start__date=dt.date(2027, 5, 5))
    moved = {**booking(cast), "version": str(second.version)}
    told = at_field(client.post(f"/office/visits/{second.pk}/move/", moved), "crew")
    assert f"{cast.assigned} is booked at {cast.site}" in told
    second.refresh_from_db()
    assert second.window_start.day == 5
