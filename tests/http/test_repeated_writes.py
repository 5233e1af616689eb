"""Idempotency-Key: what a phone sends twice happens once."""

from __future__ import annotations

import datetime as dt
import threading
from typing import Any

import pytest
from django.db import connection, transaction
from django.utils import timezone

from contractor.accounts import api as accounts_api
from contractor.accounts.models import Person
from contractor.http import idempotency
from contractor.http.models import KeptAnswer
from contractor.trail.models import Change
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/people/"
KEY = "8e03978e-40d5-43e8-bc93-6894a57f9324"
CONTENT = {"email": "new@example.org", "name": "New Person", "role": "technician"}


def send(cast: Cast, content: dict[str, Any] = CONTENT, key: str = KEY, person: Person | None = None) -> Any:
    return as_person(person or cast.owner).post(ADDRESS, content, HTTP_IDEMPOTENCY_KEY=key)


def test_a_repeat_gets_the_first_answer_to_the_byte_and_writes_nothing(cast: Cast) -> None:
    first = send(cast)
    changes = Change.objects.count()
    again = send(cast)
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.content == first.content
    assert [again[name] for name in ("Location", "ETag")] == [first[name] for name in ("Location", "ETag")]
    assert Person.objects.filter(email="new@example.org").count() == 1
    assert Change.objects.count() == changes


def test_the_key_may_be_quoted_as_the_draft_says_or_not(cast: Cast) -> None:
    assert send(cast, key=f'"{KEY}"').data["id"] == send(cast, key=KEY).data["id"]


def test_the_same_content_in_another_order_is_the_same(cast: Cast) -> None:
    assert send(cast).data == send(cast, dict(reversed(CONTENT.items()))).data


def test_another_content_under_the_same_key_is_422(cast: Cast) -> None:
    send(cast)
    answer = send(cast, {**CONTENT, "name": "Other"})
    assert (answer.status_code, answer.data["type"]) == (422, "/api/v1/problems/idempotency-key-reused/")


def test_another_address_under_the_same_key_is_422(cast: Cast) -> None:
    send(cast)
    answer = as_person(cast.owner).post(f"{ADDRESS}{cast.other.pk}/end-sign-ins/", HTTP_IDEMPOTENCY_KEY=KEY)
    assert answer.status_code == 422


def test_two_people_may_have_the_same_key(cast: Cast) -> None:
    send(cast)
    assert send(cast, person=cast.office).status_code == 403
    assert KeptAnswer.objects.count() == 1


def test_a_refusal_is_not_kept_so_that_the_same_key_may_bring_what_was_mended(cast: Cast) -> None:
    first = send(cast, {**CONTENT, "email": "none"})
    again = send(cast, {**CONTENT, "email": "none"})
    assert (first.status_code, again.status_code) == (400, 400)
    assert again.content == first.content
    assert again["Content-Type"] == "application/problem+json"
    assert send(cast).status_code == 201


def test_403_is_not_kept_so_that_it_can_be_mended(cast: Cast) -> None:
    assert send(cast, person=cast.office).status_code == 403
    cast.office.role = "owner"
    cast.office.save()
    assert send(cast, person=cast.office).status_code == 201


def test_a_fault_is_not_kept_and_leaves_nothing_behind(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    def fault(self: Any, serializer: Any) -> None:
        Person.objects.create_user("half@example.org", None, name="Half", role="office")
        raise RuntimeError

    with monkeypatch.context() as patch:
        patch.setattr(accounts_api.PersonViewSet, "perform_create", fault)
        with pytest.raises(RuntimeError):
            send(cast)
    assert not Person.objects.filter(email="half@example.org").exists()
    assert send(cast).status_code == 201


@pytest.mark.parametrize("key", [" ", '""', "a" * 81, "kéy", 'a"b', "two words"])
def test_a_key_that_is_none_is_refused_or_taken_for_absent(cast: Cast, key: str) -> None:
    answer = send(cast, key=key)
    assert answer.status_code in ((201,) if not key.strip() else (400,))


def test_where_a_phone_writes_the_key_is_compulsory(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(accounts_api.PersonViewSet, "key_required", frozenset({"create"}))
    answer = as_person(cast.owner).post(ADDRESS, CONTENT)
    assert (answer.status_code, answer.data["type"]) == (400, "/api/v1/problems/idempotency-key-missing/")
    assert send(cast).status_code == 201


def test_answers_are_kept_thirty_days(cast: Cast) -> None:
    send(cast)
    now = timezone.now()
    assert idempotency.purge(now + dt.timedelta(days=29)) == 0
    assert idempotency.purge(now + dt.timedelta(days=31)) == 1


def test_a_repeat_while_the_first_still_runs_is_told_so(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(idempotency, "fingerprint", lambda request: "same")
    KeptAnswer.objects.create(
        person=cast.owner, key=KEY, method="POST", path=ADDRESS, fingerprint="same", status=None
    )
    answer = send(cast)
    assert (answer.status_code, answer["Retry-After"]) == (409, "1")


@pytest.mark.django_db(transaction=True)
def test_the_same_key_from_twenty_threads_at_once_writes_once(cast: Cast) -> None:
    answers: list[Any] = []
    barrier = threading.Barrier(20)

    def one() -> None:
        try:
            barrier.wait()
            for _ in range(60):
                answer = send(cast)
                if answer.status_code != 409:
                    break
                assert answer["Retry-After"] == "1"
            answers.append((answer.status_code, answer.content))
        finally:
            connection.close()

    threads = [threading.Thread(target=one) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 20
    assert len({content for status, content in answers if status == 201}) == 1
    assert {status for status, _ in answers} <= {201, 409}
    assert Person.objects.filter(email="new@example.org").count() == 1


@pytest.mark.needs_services
@pytest.mark.django_db(transaction=True)
def test_postgresql_tells_a_repeat_that_the_first_still_runs(cast: Cast) -> None:
    told: list[Any] = []

    def second() -> None:
        try:
            told.append(send(cast))
        finally:
            connection.close()

    class First:
        user = cast.owner

    with transaction.atomic():
        idempotency.claim_key(First(), KEY)  # type: ignore[arg-type]
        thread = threading.Thread(target=second)
        thread.start()
        thread.join(10)
    assert (told[0].status_code, told[0]["Retry-After"]) == (409, "1")
