"""A sign-in that ran out while a form was filled: what was typed comes back, to its person alone."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from contractor.register.models import Customer
from contractor.web import held
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db
NEW = "/office/customers/new/"
TYPED = {"name": "Kiln Row Baths", "notes": "Ring twice.\nSide door."}
HIDDEN = re.compile(r'<input type="hidden" name="(\w+)" value="([^"]*)"')


def hidden_of(page: Any) -> dict[str, str]:
    return dict(HIDDEN.findall(page.content.decode()))


def browser(person: Any, **options: Any) -> Client:
    client = Client(**options)
    client.force_login(person)
    return client


def sign_in(client: Client, person: Any, then: str) -> Any:
    asked = {"username": person.email, "password": make.PASSWORD, "next": then}
    return client.post("/sign-in/", asked, follow=True)


def sent_after_sign_out(client: Client, path: str, typed: dict[str, str]) -> Any:
    fields = hidden_of(client.get(path))
    client.post("/sign-out/")
    return client.post(path, {**fields, **typed})


def test_what_was_typed_is_there_after_signing_in_and_is_kept_when_it_is_sent_again(cast: Cast) -> None:
    client = browser(cast.office)
    answer = sent_after_sign_out(client, NEW, TYPED)
    assert answer.url == f"/sign-in/?next={NEW}"
    page = sign_in(client, cast.office, NEW)
    text = page.content.decode()
    assert held.BACK in text and TYPED["name"] in text and "Side door." in text
    assert not Customer.objects.filter(name=TYPED["name"]).exists(), "nothing is kept unseen"
    assert client.post(NEW, {**hidden_of(page), **TYPED}).status_code == 302
    assert Customer.objects.get(name=TYPED["name"]).notes.splitlines() == TYPED["notes"].splitlines()
    assert TYPED["name"] not in client.get(NEW).content.decode(), "given back once"


def test_who_signs_in_next_at_that_browser_sees_nothing_of_it(cast: Cast) -> None:
    client = browser(cast.office)
    sent_after_sign_out(client, NEW, TYPED)
    assert TYPED["name"] not in sign_in(client, cast.owner, NEW).content.decode()
    client.post("/sign-out/")
    assert TYPED["name"] not in sign_in(client, cast.office, NEW).content.decode()


def test_a_stranger_can_put_nothing_into_a_session(cast: Cast) -> None:
    client = Client()
    for seal in ("", "forged:1abcde:signature"):
        client.post(NEW, {**TYPED, held.SEAL: seal})
        assert not client.session.get(held.HELD)


def test_too_much_is_not_held(cast: Cast) -> None:
    client = browser(cast.office)
    sent_after_sign_out(client, NEW, {**TYPED, "notes": "x" * (held.MOST_CHARACTERS + 1)})
    assert not client.session.get(held.HELD)


def test_passwords_are_never_held(cast: Cast) -> None:
    client = browser(cast.office)
    sent_after_sign_out(client, "/account/password/", {"current_password": "a", "new_password": "b"})
    assert not client.session.get(held.HELD)


def test_a_form_open_since_before_a_new_sign_in_comes_back_filled_in(cast: Cast) -> None:
    """The token of the older sign-in is refused; the words are not lost by it."""
    client = browser(cast.office, enforce_csrf_checks=True)
    fields = hidden_of(client.get(NEW))
    client.cookies["csrf"] = "another" * 4 + "tokn"
    answer = client.post(NEW, {**fields, **TYPED})
    assert (answer.status_code, answer.url) == (302, NEW)
    assert TYPED["name"] in client.get(NEW).content.decode()
    assert not Customer.objects.filter(name=TYPED["name"]).exists()


def test_without_a_seal_a_wrong_token_is_refused_as_ever(cast: Cast) -> None:
    client = browser(cast.office, enforce_csrf_checks=True)
    assert client.post(NEW, TYPED).status_code == 403


def test_a_form_made_for_somebody_else_fills_nobodys_page(cast: Cast) -> None:
    """A page of one person, posted from another site in the browser of a second: nothing is shown to them."""
    fields = hidden_of(browser(cast.owner).get(NEW))
    victim = browser(cast.office, enforce_csrf_checks=True)
    victim.post(NEW, {**fields, **TYPED})
    assert TYPED["name"] not in victim.get(NEW).content.decode()


def test_an_edit_comes_back_with_the_version_it_was_opened_at(cast: Cast) -> None:
    """So that what somebody else changed meanwhile is not overwritten unseen."""
    client, customer = browser(cast.office), cast.site.customer
    path = f"/office/customers/{customer.pk}/edit/"
    sent_after_sign_out(client, path, {"name": "Harbour Reach", "notes": "mine"})
    customer.phone = "01632 960555"
    customer.save()
    page = sign_in(client, cast.office, path)
    answer = client.post(path, {**hidden_of(page), "name": "Harbour Reach", "notes": "mine"})
    assert answer.status_code == 412 and "mine" in answer.content.decode()


def test_a_button_pressed_when_signed_out_leads_back_to_its_page(cast: Cast) -> None:
    client, path = browser(cast.office), f"/office/customers/{cast.site.customer.pk}/"
    client.post("/sign-out/")
    answer = client.post(f"{path}retire/", headers={"Referer": f"http://testserver{path}"})
    assert answer.url == f"/sign-in/?next={path}"
    assert held.NOT_PRESSED in client.get(answer.url).content.decode()
    assert sign_in(client, cast.office, path).redirect_chain[-1][0] == path
    elsewhere = Client().post(f"{path}retire/", headers={"Referer": "https://elsewhere.example/office/"})
    assert elsewhere.url == "/sign-in/?next=/"
    cast.site.customer.refresh_from_db()
    assert cast.site.customer.retired_at is None
