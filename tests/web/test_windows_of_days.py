"""Visits by day: windows that end on another day, and days that an address names."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.test import Client

from contractor.visits.models import Visit
from contractor.visits.services import book_visit
from contractor.web.views import visits
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
BOOK = "/office/visits/new/"


def at(hour: int, day: int = 3) -> dt.datetime:
    return dt.datetime(2027, 5, day, hour, tzinfo=dt.UTC)


def page(cast: Cast, path: str) -> str:
    client = Client(raise_request_exception=False)
    client.force_login(cast.office)
    answer = client.get(path)
    assert answer.status_code == 200, path
    return re.sub(r"\s+", " ", answer.content.decode())


def booked_for_days(cast: Cast) -> Visit:
    fields = {"site": cast.site, "reason": "survey", "window_start": at(9), "window_end": at(16, day=5)}
    return book_visit(fields, [cast.assigned])


def test_a_window_that_ends_on_another_day_says_which(cast: Cast) -> None:
    visit = booked_for_days(cast)
    for path in ("/office/visits/?from=2027-05-01&until=2027-05-09", f"/office/visits/{visit.pk}/"):
        assert "09:00 to Wed 5 May, 16:00" in page(cast, path)


def test_changing_the_crew_of_work_of_several_days_leaves_its_window(cast: Cast) -> None:
    visit = booked_for_days(cast)
    text = page(cast, f"/office/visits/{visit.pk}/move/")
    values = dict(re.findall(r'name="(day|starts|ends|last_day|so_long|version)" value="([^"]*)"', text))
    assert values["last_day"] == "2027-05-05"
    client = Client()
    client.force_login(cast.office)
    sent: dict[str, Any] = {**values, "reason": "survey", "crew": str(cast.other.pk)}
    assert client.post(f"/office/visits/{visit.pk}/move/", sent).status_code == 302
    visit.refresh_from_db()
    assert (visit.window_start, visit.window_end) == (at(9), at(16, day=5))
    assert list(visit.crew.all()) == [cast.other]


def test_a_last_day_before_the_first_is_told_at_its_field(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    sent = {"site": str(cast.site.pk), "day": "2027-05-04", "starts": "09:00", "ends": "11:00",
            "last_day": "2027-05-03", "reason": "routine"}  # fmt: skip
    answer = client.post(BOOK, sent)
    assert answer.status_code == 400 and 'id="id_last_day_error"' in answer.content.decode()


@pytest.mark.parametrize(
    "query",
    [
        "from=2027-02-31",
        "from=9999-12-31",
        "until=0001-01-01",
        "from=soon",
        "from=2027-05-09&until=2027-05-01",
    ],
)
def test_a_day_that_cannot_be_in_an_address_is_let_pass(cast: Cast, query: str) -> None:
    page(cast, f"/office/visits/?{query}")
    page(cast, f"{BOOK}?day={query.split('=')[1][:10]}")


def test_days_the_wrong_way_round_show_what_lies_between(cast: Cast) -> None:
    booked_for_days(cast)
    assert "09:00 to" in page(cast, "/office/visits/?from=2027-05-09&until=2027-05-01")


def test_a_table_that_was_cut_says_so(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(visits, "MOST", 2)
    for hour in (9, 12):
        make.visit(cast.site, window_start=at(hour))
    span = "/office/visits/?from=2027-05-01&until=2027-05-09"
    assert "there are more" not in page(cast, span)
    make.visit(cast.site, window_start=at(15))
    assert "These are the first 2; there are more" in page(cast, span)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"day": "2027-03-28", "starts": "01:30", "ends": "04:00"}, "starts"),
        ({"day": "2027-03-27", "starts": "22:00", "ends": "01:15"}, "ends"),
    ],
)
def test_an_hour_that_the_clock_skips_is_told_at_its_field(
    cast: Cast, given: dict[str, str], field: str
) -> None:
    """Clocks in London go from 01:00 to 02:00 on the last Sunday of March, 28 March in 2027."""
    cast.site.time_zone = "Europe/London"
    cast.site.save()
    client = Client()
    client.force_login(cast.office)
    answer = client.post(BOOK, {"site": str(cast.site.pk), "reason": "routine", **given})
    assert answer.status_code == 400
    told = re.search(rf'id="id_{field}_error">(.*?)</ul>', answer.content.decode(), re.S)
    assert told is not None and "never comes on Sun 28 Mar 2027" in told[1]
    spans = {"day": "2027-03-27", "starts": "22:00", "ends": "02:00"}  # both of them are shown by the clock
    assert client.post(BOOK, {"site": str(cast.site.pk), "reason": "routine", **spans}).status_code == 302
