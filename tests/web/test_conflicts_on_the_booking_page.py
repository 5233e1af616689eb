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


LONG = {"starts": "02:00", "ends": "01:00"}
BOTH_ENDS = "Tue 04 May 2027 02:00 to Wed 05 May 2027 01:00"


def long_booking(cast: Cast, **more: Any) -> dict[str, Any]:
    return booking(cast, reason="routine", **{**LONG, **more})


def test_a_visit_of_23_hours_is_asked_about_with_both_its_ends(cast: Cast) -> None:
    """02:00 to 01:00 of the next day; 24 h less 1 h by hand."""
    answer = office(cast).post(BOOK, long_booking(cast))
    assert answer.status_code == 400 and booked() == 0
    assert f"From {BOTH_ENDS} is 23 hours." in words_of(answer)
    assert re.search(rf'<input type="checkbox" name="so_long"[^>]*value="{BOTH_ENDS}"', words_of(answer))


def test_a_visit_that_is_meant_so_long_is_taken_once_it_is_ticked(cast: Cast) -> None:
    client = office(cast)
    assert client.post(BOOK, long_booking(cast, so_long=BOTH_ENDS)).status_code == 302
    visit = Visit.objects.get(window_start__year=2027)
    assert visit.window_end - visit.window_start == dt.timedelta(hours=23)
    # another reason, with the same hours: not asked again
    moved = long_booking(cast, so_long=BOTH_ENDS, version=str(visit.version))
    assert client.post(f"/office/visits/{visit.pk}/move/", moved).status_code == 302


def test_a_tick_for_one_window_is_none_for_another(cast: Cast) -> None:
    other = long_booking(cast, so_long=BOTH_ENDS, starts="03:00")
    assert "Tue 04 May 2027 03:00 to Wed 05 May 2027 01:00 is 22 hours" in words_of(
        office(cast).post(BOOK, other)
    )
    assert booked() == 0


@pytest.mark.parametrize(("starts", "ends"), [("20:00", "06:00"), ("06:00", "22:00")])
def test_a_night_or_sixteen_hours_are_taken_without_asking(cast: Cast, starts: str, ends: str) -> None:
    client = office(cast)
    assert "so_long" not in re.findall(r'type="checkbox" name="(\w+)"', words_of(client.get(BOOK)))
    assert client.post(BOOK, long_booking(cast, starts=starts, ends=ends)).status_code == 302
    assert booked() == 1


def test_what_is_wrong_with_a_list_of_ticks_is_a_link_to_it(cast: Cast) -> None:
    """Who goes by keyboard follows the summary: a list of ticks has no field of its own to go to."""
    client = office(cast)
    client.post(BOOK, booking(cast))
    text = words_of(client.post(BOOK, booking(cast)))
    assert 'href="#id_crew">Crew</a>' in text and 'id="id_crew"' in text and 'href="#"' not in text
