"""Signing in with e-mail address and password, and what stops guessing."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from contractor.accounts import guard
from contractor.accounts.models import SignInCount, Token
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
ADDRESS = "/api/v1/sign-in/"


def try_to_sign_in(email: str, password: str, **more: str) -> object:
    client = APIClient()
    content = {"email": email, "password": password, "device": "van phone"}
    return client.post(ADDRESS, content, format="json", **more)


def test_the_right_password_gives_a_token_that_works(cast: Cast) -> None:
    answer = try_to_sign_in("Assigned@Example.org ".strip(), make.PASSWORD)
    assert answer.status_code == 200, answer.data
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {answer.data['token']}")
    assert client.get("/api/v1/me/").data["email"] == "assigned@example.org"


def test_only_a_digest_of_the_secret_is_kept(cast: Cast) -> None:
    secret = try_to_sign_in("assigned@example.org", make.PASSWORD).data["token"]
    kept = [str(value) for row in Token.objects.values() for value in row.values()]
    assert all(secret not in value for value in kept)


def test_an_answer_with_a_secret_is_not_to_be_stored(cast: Cast) -> None:
    assert try_to_sign_in("assigned@example.org", make.PASSWORD)["Cache-Control"] == "no-store"


def test_a_wrong_password_and_an_unknown_account_get_the_same_answer(cast: Cast) -> None:
    wrong = try_to_sign_in("assigned@example.org", "not it at all")
    unknown = try_to_sign_in("nobody@example.org", "not it at all")
    assert wrong.status_code == unknown.status_code == 401
    assert wrong.data == unknown.data
    assert wrong["WWW-Authenticate"].startswith("Bearer")


def test_a_disabled_person_cannot_sign_in(cast: Cast) -> None:
    cast.assigned.is_active = False
    cast.assigned.save()
    assert try_to_sign_in("assigned@example.org", make.PASSWORD).status_code == 401


def test_guessing_ends_in_429_that_says_how_long_to_wait(cast: Cast) -> None:
    for _ in range(guard.BOTH_LIMIT):
        assert try_to_sign_in("assigned@example.org", "wrong wrong wrong").status_code == 401
    answer = try_to_sign_in("assigned@example.org", make.PASSWORD)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= guard.WINDOW.total_seconds() + 1
    assert answer.data["type"] == "/api/v1/problems/too-many-sign-ins/"


def test_the_wait_ends_and_is_not_prolonged_by_trying(cast: Cast) -> None:
    now = timezone.now()
    waits = [
        guard.seconds_to_wait("a@example.org", "192.0.2.1", now + dt.timedelta(seconds=i)) for i in range(30)
    ]
    assert waits[: guard.BOTH_LIMIT] == [0] * guard.BOTH_LIMIT
    assert all(later < earlier for earlier, later in pairwise(waits[10:]))
    assert guard.seconds_to_wait("a@example.org", "192.0.2.1", now + guard.WINDOW) == 0


def test_a_stranger_cannot_lock_out_a_person_from_where_they_signed_in_before(cast: Cast) -> None:
    assert try_to_sign_in("assigned@example.org", make.PASSWORD, REMOTE_ADDR="192.0.2.7").status_code == 200
    for number in range(guard.ACCOUNT_LIMIT + 5):
        try_to_sign_in("assigned@example.org", "guess guess guess", REMOTE_ADDR=f"198.51.100.{number}")
    from_elsewhere = try_to_sign_in("assigned@example.org", make.PASSWORD, REMOTE_ADDR="203.0.113.9")
    from_home = try_to_sign_in("assigned@example.org", make.PASSWORD, REMOTE_ADDR="192.0.2.7")
    assert (from_elsewhere.status_code, from_home.status_code) == (429, 200)


def test_one_address_cannot_try_many_accounts(cast: Cast) -> None:
    answers = [
        try_to_sign_in(f"nobody{number}@example.org", "password1234", REMOTE_ADDR="198.51.100.1").status_code
        for number in range(guard.ADDRESS_LIMIT + 1)
    ]
    assert answers == [401] * guard.ADDRESS_LIMIT + [429]


def test_right_passwords_do_not_count_as_guesses(cast: Cast) -> None:
    for _ in range(guard.ADDRESS_LIMIT + 2):
        assert try_to_sign_in("assigned@example.org", make.PASSWORD).status_code == 200


def test_an_own_right_password_forgives_no_guess_at_others(cast: Cast) -> None:
    answers = []
    for number in range(guard.ADDRESS_LIMIT + 1):
        assert try_to_sign_in("assigned@example.org", make.PASSWORD).status_code in (200, 429)
        answers.append(try_to_sign_in(f"nobody{number}@example.org", "password1234").status_code)
    assert answers == [401] * guard.ADDRESS_LIMIT + [429]


def test_counts_hold_no_address_in_clear(cast: Cast) -> None:
    try_to_sign_in("assigned@example.org", "wrong wrong wrong")
    assert all("@" not in row.key and "." not in row.key for row in SignInCount.objects.all())


def test_a_token_stops_when_it_expires(cast: Cast) -> None:
    secret = try_to_sign_in("assigned@example.org", make.PASSWORD).data["token"]
    Token.objects.update(expires_at=timezone.now())
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    assert client.get("/api/v1/me/").status_code == 401


def test_signing_out_withdraws_the_token_in_use(cast: Cast) -> None:
    client = APIClient()
    secret = try_to_sign_in("assigned@example.org", make.PASSWORD).data["token"]
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    assert client.post("/api/v1/sign-out/").status_code == 204
    assert client.get("/api/v1/me/").status_code == 401


@pytest.mark.parametrize("header", ["Bearer", "Bearer a b", "Bearer \xff", "Bearer none-of-ours"])
def test_a_malformed_token_gets_401_with_a_problem(db: None, header: str) -> None:
    answer = APIClient().get("/api/v1/me/", HTTP_AUTHORIZATION=header)
    assert answer.status_code == 401
    assert answer["Content-Type"] == "application/problem+json"


def test_a_stranger_is_asked_to_sign_in(db: None) -> None:
    answer = as_person(None).get("/api/v1/me/")
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, 'Bearer realm="api"')
