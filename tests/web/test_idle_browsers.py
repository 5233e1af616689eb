"""Browsers that nobody uses are signed out: 12 h for office, owner and client; 14 days for everyone."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from contractor.web import idle
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def used(person: Any, *, began: dt.timedelta, seen: dt.timedelta) -> Client:
    """A browser that signed in so long ago, and asked for something last so long ago."""
    client = Client()
    client.force_login(person)
    now, session = timezone.now(), client.session
    session[idle.BEGAN], session[idle.SEEN] = (now - began).timestamp(), (now - seen).timestamp()
    session.save()
    return client


@pytest.mark.parametrize(
    ("who", "home", "hours", "status"),
    [
        ("office", "/office/", 11, 200), ("office", "/office/", 13, 302), ("owner", "/office/", 13, 302),
        ("client", "/client/", 13, 302), ("assigned", "/crew/", 13, 200), ("assigned", "/crew/", 200, 200),
    ],
)  # fmt: skip
def test_who_is_signed_out_after_how_many_hours(
    cast: Cast, who: str, home: str, hours: int, status: int
) -> None:
    ago = dt.timedelta(hours=hours)
    assert used(getattr(cast, who), began=ago, seen=ago).get(home).status_code == status


@pytest.mark.parametrize("who", ["office", "assigned"])
def test_after_fourteen_days_everyone_signs_in_again_however_busy(cast: Cast, who: str) -> None:
    client = used(getattr(cast, who), began=dt.timedelta(days=14, minutes=1), seen=dt.timedelta(minutes=1))
    assert client.get("/account/").url == "/sign-in/?next=/account/"


def test_use_keeps_a_browser_signed_in_but_does_not_move_its_beginning(cast: Cast) -> None:
    client = used(cast.office, began=dt.timedelta(days=3), seen=dt.timedelta(hours=11))
    began = client.session[idle.BEGAN]
    client.get("/office/")
    now = timezone.now().timestamp()
    assert now - client.session[idle.SEEN] < 60 and client.session[idle.BEGAN] == began


def test_an_idle_browser_cannot_use_the_api_either(cast: Cast) -> None:
    ago = dt.timedelta(hours=13)
    assert used(cast.office, began=ago, seen=ago).get("/api/v1/me/").status_code == 401
