"""Moments are told by the clock on the site's wall, wherever the site lies and whatever the season."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.test import Client

from contractor.accounts.models import Person
from contractor.visits.models import Reading
from contractor.web.templatetags.waterside import at_site
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
# 19:00 UTC on 10 December is 08:00 on the 11th in Auckland, 13 hours ahead in its summer (IANA's tables)
MOMENT = dt.datetime(2026, 12, 10, 19, tzinfo=dt.UTC)


def page(person: Person, path: str) -> str:
    client = Client()
    client.force_login(person)
    answer = client.get(path)
    assert answer.status_code == 200, path
    return re.sub(r"\s+", " ", answer.content.decode())


def test_every_page_of_a_visit_tells_its_start_by_the_sites_clock(cast: Cast) -> None:
    site = make.site(cast.customer, name="Kauri Wharf", time_zone="Pacific/Auckland")
    visit = make.visit(site, [cast.assigned], window_start=MOMENT, window_end=MOMENT + dt.timedelta(hours=4))
    reading = make.reading(visit, make.exchanger(make.unit(site, tag="KW-1")), cast.assigned, taken_at=MOMENT)
    office, span = cast.office, "from=2026-12-10&until=2026-12-12"
    assert "08:00 to 12:00" in page(office, f"/office/visits/?{span}")
    assert "Friday 11 December 2026, 08:00 to 12:00" in page(office, f"/office/visits/{visit.pk}/")
    assert "11 Dec, 08:00" in page(office, f"/office/visits/{visit.pk}/")
    assert "Friday 11 December 2026, 08:00" in page(office, f"/office/readings/{reading.pk}/")
    assert "11 Dec 2026, 08:00" in page(office, f"/office/sites/{site.pk}/")
    assert "Friday 11 December, 08:00 to 12:00" in page(cast.client, "/client/")
    assert "08:00" in page(cast.assigned, f"/crew/visits/{visit.pk}/")


def test_the_hour_that_comes_twice_keeps_which_of_both_it_is(cast: Cast) -> None:
    site = make.site(cast.customer, name="Elm Yard", time_zone="America/Los_Angeles")
    twice = dt.datetime(2026, 11, 1, 9, 30, tzinfo=dt.UTC)  # clocks there went back from 02:00 at 09:00 UTC
    shown = at_site(twice, site)
    assert shown is not None and (shown.hour, shown.minute, shown.timestamp()) == (1, 30, twice.timestamp())


@pytest.fixture
def in_los_angeles(cast: Cast) -> Reading:
    """Taken at 01:30:20 in the hour that came twice on 1 November 2026: for the second time."""
    site = make.site(cast.customer, name="Elm Yard", time_zone="America/Los_Angeles")
    at = dt.datetime(2026, 11, 1, 9, 30, 20, tzinfo=dt.UTC)
    visit = make.visit(site, [cast.assigned], window_start=at)
    return make.reading(visit, make.exchanger(make.unit(site, tag="EY-1")), cast.assigned, taken_at=at)


def corrected(cast: Cast, reading: Reading, **typed: str) -> tuple[int, str]:
    client = Client()
    client.force_login(cast.office)
    path = f"/office/readings/{reading.pk}/correct/"
    shown = re.search(r'name="taken_at" value="([^"]*)"', client.get(path).content.decode())
    assert shown is not None
    sent = {"taken_at": shown[1], "reason": "a slip", "entering_water": "85", "entering_water_unit": "degF"}
    answer = client.post(path, {**sent, "stage": "full", **typed})
    return answer.status_code, answer.content.decode()


def test_a_reading_of_the_hour_that_comes_twice_is_corrected_and_keeps_its_moment(
    cast: Cast, in_los_angeles: Reading
) -> None:
    assert corrected(cast, in_los_angeles)[0] == 302
    assert Reading.objects.get(supersedes=in_los_angeles).taken_at == in_los_angeles.taken_at


def test_of_the_hour_that_comes_twice_the_first_is_meant_and_one_that_never_comes_is_told(
    cast: Cast, in_los_angeles: Reading
) -> None:
    status, told = corrected(cast, in_los_angeles, taken_at="2026-03-08T02:30")
    assert status == 400 and "this hour never comes" in told
    assert corrected(cast, in_los_angeles, taken_at="2026-11-01T01:40")[0] == 302
    first = dt.datetime(2026, 11, 1, 8, 40, tzinfo=dt.UTC)  # 01:40 by summer time, seven hours behind
    assert Reading.objects.get(supersedes=in_los_angeles).taken_at == first


def test_a_new_site_is_proposed_the_time_zone_of_the_customers_last_one(cast: Cast) -> None:
    make.site(cast.customer, name="Kauri Wharf", time_zone="Pacific/Auckland")
    make.site(cast.other_customer, name="Elm Yard", time_zone="America/Los_Angeles")
    assert 'value="Pacific/Auckland"' in page(cast.office, f"/office/sites/new/?customer={cast.customer.pk}")
    assert 'value="America/Los_Angeles"' in page(cast.office, "/office/sites/new/")


def test_a_day_of_visits_is_the_sites_own(cast: Cast) -> None:
    site = make.site(cast.customer, name="Kauri Wharf", time_zone="Pacific/Auckland")
    make.visit(site, [cast.assigned], window_start=MOMENT, window_end=MOMENT + dt.timedelta(hours=4))
    for day, there in ((10, False), (11, True), (12, False)):
        asked = f"/office/visits/?from=2026-12-{day}&until=2026-12-{day}"
        assert ("Kauri Wharf" in page(cast.office, asked)) is there, day
