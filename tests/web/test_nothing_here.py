"""A 404 that helps: it says to each what they can do next, and nothing of what others may."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.cast import Cast

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("path", ["/nothing-here/", "/client/units/11111111-1111-4111-8111-111111111111/"])
def test_a_client_is_led_to_their_sites_and_told_of_nobodys_tools(cast: Cast, path: str) -> None:
    client = Client()
    client.force_login(cast.client)
    answer = client.get(path)
    text = answer.content.decode()
    assert answer.status_code == 404 and 'href="/client/"' in text
    assert "urgent visit" not in text and "/office/" not in text


def test_the_office_is_led_to_the_search(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.office)
    text = client.get("/office/units/11111111-1111-4111-8111-111111111111/").content.decode()
    assert 'href="/office/search/"' in text and "urgent visit" not in text


def test_a_technician_is_told_of_the_tag(cast: Cast) -> None:
    client = Client()
    client.force_login(cast.assigned)
    assert "code on its tag" in client.get("/nothing-here/").content.decode()


def test_a_stranger_is_led_to_the_door(db: None) -> None:
    assert 'href="/sign-in/"' in Client().get("/nothing-here/").content.decode()
