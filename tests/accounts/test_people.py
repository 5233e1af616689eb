"""People, their roles, their passwords and their sign-ins."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from contractor.accounts import services
from contractor.accounts.models import Person, Role, Token
from contractor.http.problems import Problem
from contractor.trail.models import Change
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
NEW = "another four plain words"


def with_token(person: Person, name: str = "phone") -> APIClient:
    _, secret = services.make_token(person, name, timezone.now())
    client = APIClient()
    client.default_format = "json"
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client


def change(cast: Cast, person: Person, **changes: Any) -> Any:
    client = as_person(cast.owner)
    address = f"/api/v1/people/{person.pk}/"
    return client.patch(address, changes, HTTP_IF_MATCH=client.get(address)["ETag"])


def test_the_first_owner_is_made_by_a_command(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", NEW)
    call_command(
        "createsuperuser", email="First@Example.org", name="First Owner", interactive=False, verbosity=0
    )
    person = Person.objects.get()
    assert (person.email, person.role, person.check_password(NEW)) == ("first@example.org", "owner", True)


@pytest.mark.parametrize(("password", "why"), [("short", "too short"), ("password1234", "too common")])
def test_the_command_makes_no_owner_with_a_weak_password(
    monkeypatch: pytest.MonkeyPatch, password: str, why: str
) -> None:
    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", password)
    with pytest.raises(CommandError, match=why):
        call_command("createsuperuser", email="first@example.org", name="First Owner", interactive=False)
    assert not Person.objects.exists()


def test_the_owner_makes_a_person_who_sets_their_own_first_password(cast: Cast) -> None:
    content = {"email": "New@Example.org", "name": "New", "role": "technician"}
    made = as_person(cast.owner).post("/api/v1/people/", content)
    assert (made.status_code, made.data["email"]) == (201, "new@example.org")
    secret = as_person(cast.owner).post(f"{made['Location']}password-link/").data["secret"]
    answer = APIClient().post("/api/v1/set-password/", {"secret": secret, "new_password": NEW}, format="json")
    assert answer.status_code == 204
    assert services.check_credentials("new@example.org", NEW, "192.0.2.1", timezone.now())


def test_a_password_link_holds_once(cast: Cast) -> None:
    secret = services.password_link_secret(cast.other)
    services.set_password_by_link(secret, NEW, timezone.now())
    with pytest.raises(Problem) as refused:
        services.set_password_by_link(secret, NEW + " more", timezone.now())
    assert refused.value.kind == "link-not-valid"


@pytest.mark.parametrize("secret", ["", "a.b", "....", "MTIz.abc", "\x00.\x00"])
def test_a_made_up_password_link_does_not_hold(cast: Cast, secret: str) -> None:
    answer = APIClient().post("/api/v1/set-password/", {"secret": secret, "new_password": NEW}, format="json")
    assert answer.status_code == 400


def test_an_address_is_one_persons_whatever_its_capitals(cast: Cast) -> None:
    content = {"email": "OFFICE@example.org", "name": "Twin", "role": "office"}
    answer = as_person(cast.owner).post("/api/v1/people/", content)
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/email"


def test_the_office_sees_the_crew_and_itself_only(cast: Cast) -> None:
    listed = as_person(cast.office).get("/api/v1/people/").data["results"]
    assert {row["email"] for row in listed} == {
        "assigned@example.org",
        "other@example.org",
        "office@example.org",
    }
    assert as_person(cast.office).get(f"/api/v1/people/{cast.client.pk}/").status_code == 404


def test_a_disabled_person_loses_tokens_and_sessions_with_the_next_request(cast: Cast) -> None:
    phone, browser = with_token(cast.assigned), Client()
    browser.force_login(cast.assigned)
    assert phone.get("/api/v1/me/").status_code == browser.get("/api/v1/me/").status_code == 200
    assert change(cast, cast.assigned, is_active=False).status_code == 200
    assert phone.get("/api/v1/me/").status_code == 401
    assert browser.get("/api/v1/me/").status_code == 401


def test_one_who_is_let_in_again_does_not_get_old_sign_ins_back(cast: Cast) -> None:
    phone, browser = with_token(cast.assigned), Client()
    browser.force_login(cast.assigned)
    change(cast, cast.assigned, is_active=False)
    change(cast, cast.assigned, is_active=True)
    assert phone.get("/api/v1/me/").status_code == 401
    assert browser.get("/api/v1/me/").status_code == 401


def test_another_role_ends_the_sign_ins_of_the_old_one(cast: Cast) -> None:
    phone = with_token(cast.office)
    change(cast, cast.office, role="technician")
    assert phone.get("/api/v1/me/").status_code == 401


@pytest.mark.parametrize("changes", [{"is_active": False}, {"role": "office"}])
def test_the_last_owner_stays_owner(cast: Cast, changes: dict[str, Any]) -> None:
    answer = change(cast, cast.owner, **changes)
    assert (answer.status_code, answer.data["type"]) == (409, "/api/v1/problems/last-owner/")
    make.person(Role.OWNER)
    assert change(cast, cast.owner, **changes).status_code == 200


def test_ones_own_role_and_address_are_not_ones_own_to_change(cast: Cast) -> None:
    client = as_person(cast.client)
    tag = client.get("/api/v1/me/")["ETag"]
    answer = client.patch("/api/v1/me/", {"role": "owner", "email": "x@example.org"}, HTTP_IF_MATCH=tag)
    cast.client.refresh_from_db()
    assert (answer.status_code, cast.client.role, cast.client.email) == (400, "client", "client@example.org")


def test_a_new_password_ends_every_other_sign_in_but_not_this_one(cast: Cast) -> None:
    this, other = with_token(cast.assigned), with_token(cast.assigned, "old phone")
    content = {"current_password": make.PASSWORD, "new_password": NEW}
    assert this.post("/api/v1/me/password/", content).status_code == 204
    assert (this.get("/api/v1/me/").status_code, other.get("/api/v1/me/").status_code) == (200, 401)


@pytest.mark.parametrize(
    ("current", "new", "pointer"),
    [
        ("wrong", NEW, "#/current_password"),
        (make.PASSWORD, "short", "#/new_password"),
        (make.PASSWORD, "password1234", "#/new_password"),
        (make.PASSWORD, "assigned@example.org", "#/new_password"),
    ],
)
def test_passwords_that_are_refused(cast: Cast, current: str, new: str, pointer: str) -> None:
    content = {"current_password": current, "new_password": new}
    answer = as_person(cast.assigned).post("/api/v1/me/password/", content)
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize("password", [" leading and trailing ", "ünïcödé wörds ünd mehr", "x" * 200])
def test_long_strange_and_spaced_passwords_are_taken_whole(cast: Cast, password: str) -> None:
    services.change_password(cast.assigned, make.PASSWORD, password, timezone.now())
    assert services.check_credentials("assigned@example.org", password, "192.0.2.1", timezone.now())
    with pytest.raises(Problem):
        services.check_credentials("assigned@example.org", password[:-1], "192.0.2.1", timezone.now())


def test_tokens_are_listed_without_their_secrets_and_withdrawn(cast: Cast) -> None:
    phone, lost = with_token(cast.assigned), with_token(cast.assigned, "lost phone")
    rows = phone.get("/api/v1/tokens/").data["results"]
    assert {row["name"] for row in rows} == {"phone", "lost phone"}
    assert all("digest" not in row for row in rows)
    number = next(row["id"] for row in rows if row["name"] == "lost phone")
    assert phone.post(f"/api/v1/tokens/{number}/withdraw/").status_code == 204
    assert lost.get("/api/v1/me/").status_code == 401
    assert phone.post(f"/api/v1/tokens/{number}/withdraw/").status_code == 204


def test_making_and_withdrawing_a_token_leaves_a_trace(cast: Cast) -> None:
    phone = with_token(cast.assigned)
    token = Token.objects.get()
    phone.post(f"/api/v1/tokens/{token.pk}/withdraw/")
    traces = Change.objects.filter(table="accounts.token", row_id=str(token.pk)).order_by("id")
    assert [trace.action for trace in traces] == ["created", "changed"]
    assert traces[1].by == "assigned@example.org"


def test_use_of_a_token_is_noted_but_not_with_every_request(cast: Cast) -> None:
    phone = with_token(cast.assigned)
    phone.get("/api/v1/me/")
    first = Token.objects.get().last_used_at
    phone.get("/api/v1/me/")
    assert first is not None
    assert Token.objects.get().last_used_at == first
