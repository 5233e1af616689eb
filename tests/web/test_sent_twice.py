"""A form sent twice, and two people at one record."""

from __future__ import annotations

from typing import Any

import pytest

from contractor.register.models import Customer
from contractor.visits.models import Visit
from contractor.web import once
from tests.cast import Cast
from tests.web.test_nothing_typed_is_lost import NEW, TYPED, browser, hidden_of

pytestmark = pytest.mark.django_db


def opened(cast: Cast) -> tuple[Any, dict[str, str]]:
    client = browser(cast.office)
    return client, hidden_of(client.get(NEW))


def test_a_button_pressed_twice_makes_one_and_both_lead_to_it(cast: Cast) -> None:
    client, fields = opened(cast)
    first, second = (client.post(NEW, {**fields, **TYPED}) for _ in range(2))
    assert (first.status_code, second.status_code) == (302, 302)
    assert first.url == second.url
    assert Customer.objects.filter(name=TYPED["name"]).count() == 1


def test_the_way_back_and_save_with_other_content_is_asked_about_then_done(cast: Cast) -> None:
    client, fields = opened(cast)
    client.post(NEW, {**fields, **TYPED})
    again = client.post(NEW, {**fields, **TYPED, "name": "Kiln Row Works"})
    assert again.status_code == 409 and once.SAVED_ALREADY in again.content.decode()
    assert "Kiln Row Works" in again.content.decode()
    assert client.post(NEW, {**hidden_of(again), **TYPED, "name": "Kiln Row Works"}).status_code == 302
    assert Customer.objects.filter(name__startswith="Kiln Row").count() == 2


def test_what_was_refused_goes_under_the_same_form_when_mended(cast: Cast) -> None:
    client, fields = opened(cast)
    refused = client.post(NEW, {**fields, "name": ""})
    assert refused.status_code == 400
    assert client.post(NEW, {**hidden_of(refused), **TYPED}).status_code == 302


def test_one_persons_key_is_not_anothers(cast: Cast) -> None:
    client, fields = opened(cast)
    client.post(NEW, {**fields, **TYPED})
    browser(cast.owner).post(NEW, {**fields, **TYPED, "name": "Kiln Row Works"})
    assert Customer.objects.filter(name__startswith="Kiln Row").count() == 2


def test_a_visit_is_booked_once(cast: Cast) -> None:
    client = browser(cast.office)
    path = "/office/visits/new/"
    typed = {"site": str(cast.site.pk), "day": "2027-03-02", "starts": "09:00", "ends": "11:00",
             "reason": "routine", "crew": str(cast.other.pk)}  # fmt: skip
    fields, before = hidden_of(client.get(path)), Visit.objects.count()
    answers = [client.post(path, {**fields, **typed}) for _ in range(2)]
    assert [one.status_code for one in answers] == [302, 302] and answers[0].url == answers[1].url
    assert Visit.objects.count() == before + 1


def test_who_comes_second_is_told_who_was_first_and_decides(cast: Cast) -> None:
    path = f"/office/customers/{cast.site.customer.pk}/edit/"
    first, second = browser(cast.owner), browser(cast.office)
    theirs, mine = hidden_of(first.get(path)), hidden_of(second.get(path))
    assert first.post(path, {**theirs, "name": "Harbour", "phone": "01632 960555"}).status_code == 302
    refused = second.post(path, {**mine, "name": "Harbour", "contact_name": "Ada Reed"})
    text = refused.content.decode()
    assert refused.status_code == 412
    assert cast.owner.email in text and "phone" in text and "Ada Reed" in text and "ETag" not in text
    assert (
        second.post(path, {**hidden_of(refused), "name": "Harbour", "contact_name": "Ada Reed"}).status_code
        == 302
    )
    cast.site.customer.refresh_from_db()
    assert cast.site.customer.contact_name == "Ada Reed"
