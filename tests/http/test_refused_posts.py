"""What a phone holds because the service refused it is known to the office until it arrives."""

from __future__ import annotations

import datetime as dt
import html
import uuid
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.http import idempotency
from contractor.http.models import RefusedPost
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
KEY = "8e03978e-40d5-43e8-bc93-6894a57f9324"
NAMED = "Ceiling locked, nobody with a key"


def post(cast: Cast, person: Person | None = None, key: str = KEY, **more: Any) -> Any:
    """A finding, as the outbox of a phone that signed in by the pages sends it."""
    phone = Client()
    phone.force_login(person or cast.assigned)
    body = {"id": str(uuid.uuid4()), "visit": str(cast.visit.pk), "kind": "note", "note": NAMED, **more}
    return phone.post("/api/v1/findings/", body, "application/json", headers={"Idempotency-Key": key})


def listed(cast: Cast) -> str:
    office = Client()
    office.force_login(cast.office)
    return office.get("/office/?only=posts-from-phones-that-were-refused").content.decode()


def test_a_refusal_is_told_to_the_office_with_whose_it_is_and_why(cast: Cast) -> None:
    assert post(cast, kind="nonsense").status_code == 400
    page = listed(cast)
    assert "Posts from phones that were refused" in page
    page = html.unescape(page)
    assert str(cast.assigned) in page and RefusedPost.objects.get().reason in page


def test_it_is_told_once_however_often_the_phone_tries(cast: Cast) -> None:
    post(cast, kind="nonsense")
    post(cast, kind="nonsense")
    assert RefusedPost.objects.count() == 1


def test_it_is_told_no_more_when_it_arrives_mended_under_its_key(cast: Cast) -> None:
    post(cast, kind="nonsense")
    post(cast, kind="nonsense", key="another")
    assert post(cast).status_code == 201
    assert [row.key for row in RefusedPost.objects.all()] == ["another"]


def test_of_two_people_with_one_key_each_has_their_own(cast: Cast) -> None:
    post(cast, kind="nonsense")
    assert post(cast, cast.other, kind="nonsense").status_code == 400
    assert RefusedPost.objects.count() == 2


def test_a_program_with_a_token_reads_its_refusal_itself(cast: Cast) -> None:
    program = as_person(cast.assigned)
    program.force_authenticate(cast.assigned, token=object())
    answer = program.post("/api/v1/findings/", {"kind": "nonsense"}, HTTP_IDEMPOTENCY_KEY=KEY)
    assert answer.status_code == 400 and not RefusedPost.objects.exists()


def test_refusals_go_with_the_answers_after_thirty_days(cast: Cast) -> None:
    post(cast, kind="nonsense")
    now = timezone.now()
    idempotency.purge(now + dt.timedelta(days=29))
    assert RefusedPost.objects.exists()
    idempotency.purge(now + dt.timedelta(days=31))
    assert not RefusedPost.objects.exists()
