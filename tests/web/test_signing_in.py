"""Signing in to the pages: counted like the API's, the session rotated, listed and ended."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.core import mail
from django.test import Client
from django.utils import timezone

from contractor.accounts import guard
from contractor.accounts.models import PageSession, Person
from contractor.accounts.services import change_person
from contractor.web import idle
from contractor.web.tasks import password_letter
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def sign_in(client: Client, person: Person, password: str = make.PASSWORD, **more: Any) -> Any:
    return client.post("/sign-in/", {"username": person.email, "password": password, **more})


@pytest.mark.parametrize(
    ("who", "home"),
    [("owner", "/office/"), ("office", "/office/"), ("assigned", "/crew/"), ("client", "/client/")],
)
def test_everyone_lands_on_their_own_first_page(cast: Cast, who: str, home: str) -> None:
    client = Client()
    assert sign_in(client, getattr(cast, who)).url == home
    assert client.get("/").url == home
    assert client.get(home).status_code == 200


def test_one_comes_back_to_the_page_that_was_asked_for_and_to_no_other_host(cast: Cast) -> None:
    assert Client().get("/office/search/").url == "/sign-in/?next=/office/search/"
    assert sign_in(Client(), cast.office, next="/office/search/").url == "/office/search/"
    assert sign_in(Client(), cast.office, next="https://elsewhere.example/").url == "/office/"


def test_the_session_is_another_after_signing_in(cast: Cast) -> None:
    client = Client()
    client.get("/sign-in/")
    session = client.session
    session["seen"] = True
    session.save()
    before = client.session.session_key
    sign_in(client, cast.office)
    assert client.session.session_key != before


def test_a_wrong_password_is_told_without_telling_whether_the_account_exists(cast: Cast) -> None:
    known = sign_in(Client(), cast.office, "wrong wrong wrong")
    unknown = Client().post("/sign-in/", {"username": "nobody@example.org", "password": "wrong wrong wrong"})
    assert known.status_code == unknown.status_code == 401
    words = "The e-mail address or the password is not right."
    assert words in known.content.decode() and words in unknown.content.decode()


def test_too_many_attempts_are_slowed_down_like_the_apis(cast: Cast) -> None:
    for _ in range(guard.BOTH_LIMIT):
        assert sign_in(Client(), cast.office, "wrong wrong wrong").status_code == 401
    answer = sign_in(Client(), cast.office)
    assert answer.status_code == 429
    assert int(answer["Retry-After"]) > 0


def test_signing_in_does_not_count_as_a_change_of_the_person(cast: Cast) -> None:
    version = cast.office.version
    sign_in(Client(), cast.office)
    cast.office.refresh_from_db()
    assert cast.office.version == version
    assert cast.office.last_login is not None


def test_a_browser_is_listed_and_another_can_end_it(cast: Cast) -> None:
    here, lost = Client(headers={"User-Agent": "Here"}), Client(headers={"User-Agent": "Lost phone"})
    sign_in(here, cast.office)
    sign_in(lost, cast.office)
    text = here.get("/account/").content.decode()
    assert "Lost phone" in text and "Here" in text
    listed = PageSession.objects.get(device="Lost phone")
    here.post(f"/account/sessions/{listed.pk}/end/")
    assert lost.get("/office/").status_code == 302
    assert here.get("/office/").status_code == 200
    assert not PageSession.objects.filter(pk=listed.pk).exists()


def test_a_browser_that_was_left_to_lapse_is_not_told_as_signed_in(cast: Cast) -> None:
    """Office: 12 hours without use (contractor/web/idle.py); and Django's own end of a session."""
    here = Client(headers={"User-Agent": "Here"})
    for device, hours in (("Left at noon", 13), ("Used today", 3), ("Lapsed", 0)):
        other = Client(headers={"User-Agent": device})
        sign_in(other, cast.office)
        session = other.session
        session[idle.SEEN] = session[idle.BEGAN] = (timezone.now() - dt.timedelta(hours=hours)).timestamp()
        session.save()
        if device == "Lapsed":
            past = timezone.now() - dt.timedelta(minutes=1)
            Session.objects.filter(session_key=session.session_key).update(expire_date=past)
    sign_in(here, cast.office)
    text = here.get("/account/").content.decode()
    assert "Used today" in text and "Here" in text
    assert "Left at noon" not in text and "Lapsed" not in text


def test_signing_out_ends_the_session_and_its_line_in_the_list(cast: Cast) -> None:
    client = Client()
    sign_in(client, cast.office)
    client.post("/sign-out/")
    assert client.get("/office/").status_code == 302
    assert not PageSession.objects.filter(person=cast.office).exists()


def test_a_changed_password_ends_other_browsers_and_keeps_this_one(cast: Cast) -> None:
    here, other = Client(), Client()
    sign_in(here, cast.office)
    sign_in(other, cast.office)
    words = {"current_password": make.PASSWORD, "new_password": "some quite new words"}
    assert here.post("/account/password/", words).status_code == 302
    assert here.get("/account/").status_code == 200
    assert other.get("/account/").status_code == 302
    assert PageSession.objects.filter(person=cast.office).count() == 1


def test_a_disabled_person_is_out_with_the_next_request(cast: Cast) -> None:
    client = Client()
    sign_in(client, cast.assigned)
    change_person(cast.assigned, {"is_active": False}, cast.visit.created_at)
    assert client.get("/crew/").status_code == 302


def test_a_bad_new_password_is_told_at_its_field(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    answer = client.post("/account/password/", {"current_password": make.PASSWORD, "new_password": "short"})
    text = answer.content.decode()
    assert answer.status_code == 400
    assert 'id="id_new_password_error"' in text
    assert re.search(
        r'name="new_password"[^>]*aria-describedby="id_new_password_helptext id_new_password_error"', text
    )
    assert '<a href="#id_new_password">' in text


def test_a_forgotten_password_is_set_by_a_letter_whose_link_works_once(cast: Cast) -> None:
    Client().post("/forgotten/", {"email": cast.office.email.upper()})
    item = WorkItem.objects.get(kind="password_letter")
    password_letter(item, None)  # type: ignore[arg-type]
    [path] = re.findall(r"http://testserver(/set-password/\S+)", mail.outbox[0].body)
    assert mail.outbox[0].to == [cast.office.email]
    assert path.split("/")[2] not in str(item.payload)
    new = {"new_password": "some quite new words"}
    assert Client().post(path, new).url == "/sign-in/"
    assert sign_in(Client(), cast.office, "some quite new words").status_code == 302
    assert Client().post(path, new).status_code == 400


def test_asking_for_a_letter_tells_nothing_and_has_an_end(cast: Cast) -> None:
    known = Client().post("/forgotten/", {"email": cast.office.email})
    unknown = Client().post("/forgotten/", {"email": "nobody@example.org"})
    assert known.content.decode().replace(cast.office.email, "") == unknown.content.decode().replace(
        "nobody@example.org", ""
    )
    for _ in range(10):
        WorkItem.objects.update(state="done")
        Client().post("/forgotten/", {"email": cast.office.email})
    assert WorkItem.objects.filter(kind="password_letter").count() <= 5


def test_no_cache_keeps_a_page_of_somebody(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    assert "no-store" in client.get("/office/")["Cache-Control"]
