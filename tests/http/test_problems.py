"""Every error is problem details (RFC 9457), whatever raised it."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import DataError, OperationalError
from django.test import Client
from rest_framework.test import APIClient

from contractor.accounts.models import Person
from contractor.http.problem_types import KNOWN_TYPES
from contractor.http.problems import MEDIA_TYPE, Problem, pointed
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def check(answer: object, status: int) -> dict[str, object]:
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == MEDIA_TYPE
    body = answer.json()
    assert {"type", "title", "status", "detail"} <= set(body)
    assert body["status"] == status
    return body


def test_an_unknown_address(db: None) -> None:
    body = check(Client().get("/api/v1/no-such-thing/"), 404)
    assert body["instance"] == "/api/v1/no-such-thing/"


def test_an_unknown_row(cast: Cast) -> None:
    check(as_person(cast.owner).get(f"/api/v1/people/{cast.site.pk}/"), 404)


def test_an_identifier_that_is_none(cast: Cast) -> None:
    check(as_person(cast.owner).get("/api/v1/people/17/"), 404)


def test_a_method_that_is_not_known_there(cast: Cast) -> None:
    answer = as_person(cast.owner).put("/api/v1/me/", {})
    check(answer, 405)
    assert "PATCH" in answer["Allow"]


def test_a_media_type_that_cannot_be_read(cast: Cast) -> None:
    check(as_person(cast.owner).post("/api/v1/people/", "<a/>", content_type="application/xml"), 415)


def test_a_media_type_that_cannot_be_answered(cast: Cast) -> None:
    check(as_person(cast.owner).get("/api/v1/me/", HTTP_ACCEPT="application/xml"), 406)


def test_content_that_is_not_json(cast: Cast) -> None:
    check(as_person(cast.owner).post("/api/v1/people/", "{", content_type="application/json"), 400)


def test_content_that_is_not_an_object(cast: Cast) -> None:
    check(as_person(cast.owner).post("/api/v1/people/", [1]), 400)


def test_wrong_fields_are_pointed_at_with_what_would_be_right(cast: Cast) -> None:
    content = {"email": "nobody", "role": "plumber", "colour": "red"}
    body = check(as_person(cast.owner).post("/api/v1/people/", content), 400)
    assert body["type"] == "/api/v1/problems/invalid/"
    assert body["errors"][0]["pointer"] == "#/colour"
    assert "email" in body["errors"][0]["detail"]
    del content["colour"]
    errors = check(as_person(cast.owner).post("/api/v1/people/", content), 400)["errors"]
    by_pointer = {error["pointer"]: error["detail"] for error in errors}
    assert set(by_pointer) == {"#/email", "#/name", "#/role"}
    assert "owner, office, technician, client" in by_pointer["#/role"]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("role", "owner"),
        ("email", "owner@example.org"),
        ("is_active", False),
        ("version", 9),
        ("is_staff", True),
    ],
)
def test_what_one_may_not_change_of_oneself_is_refused_by_name(cast: Cast, name: str, value: object) -> None:
    """Not dropped in silence (OWASP ASVS 5.0, 8.2.3 and 15.3.3), and nothing else of it is written."""
    client = as_person(cast.assigned)
    me = client.get("/api/v1/me/")
    answer = client.patch("/api/v1/me/", {"phone": "0100", name: value}, HTTP_IF_MATCH=me["ETag"])
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.data["errors"]] == [f"#/{name}"]
    assert "expected some of: name, phone" in answer.data["errors"][0]["detail"]
    assert client.get("/api/v1/me/").data == me.data


def test_an_empty_or_equal_change_makes_no_new_version(cast: Cast) -> None:
    client = as_person(cast.assigned)
    before = client.get("/api/v1/me/")
    for sent in ({}, {"name": before.data["name"]}):
        answer = client.patch("/api/v1/me/", sent, HTTP_IF_MATCH=before["ETag"])
        assert (answer.status_code, answer["ETag"]) == (200, before["ETag"])


def test_a_misspelt_filter_is_refused_with_the_known_ones(cast: Cast) -> None:
    body = check(as_person(cast.owner).get("/api/v1/people/?rolle=office"), 400)
    assert body["errors"][0]["parameter"] == "rolle"
    assert {"role", "limit", "cursor", "ordering"} <= set(body["known"])


@pytest.mark.parametrize(
    ("asked", "right"),
    [
        ("people/?role=plumber", "owner, office, technician, client"),
        ("people/?is_active=maybe", "true or false"),
        ("people/?ordering=password", "email, name, created_at"),
        ("people/?ordering=-name,shoe_size", "email, name, created_at"),
        ("tokens/?person=me", "UUID"),
        ("visits/?until=tomorrow", "2027-03-03T09:30:00Z"),
        ("visits/?until=0001-01-01T00:00:00%2B14:00", "2027-03-03T09:30:00Z"),
        ("visits/?until=9999-12-31T23:59:59-14:00", "2027-03-03T09:30:00Z"),
        ("documents/?assessment=99999999999999999999999", "a number"),
        ("instruments/?due_until=soon", "2027-03-03"),
    ],
)
def test_a_filter_or_order_that_is_not_understood_is_refused_with_what_would_be_right(
    cast: Cast, asked: str, right: str
) -> None:
    error = check(as_person(cast.owner).get(f"/api/v1/{asked}"), 400)["errors"][0]
    assert error["parameter"] == asked.partition("?")[2].partition("=")[0]
    assert right in error["detail"]


@pytest.mark.parametrize("asked", ["people/?is_active=true&ordering=-name,email", "people/?is_active=&role="])
def test_filters_and_orders_that_are_understood(cast: Cast, asked: str) -> None:
    assert as_person(cast.owner).get(f"/api/v1/{asked}").status_code == 200


@pytest.mark.parametrize("method", ["put", "delete", "options"])
def test_a_method_that_a_list_does_not_know(cast: Cast, method: str) -> None:
    answer = getattr(as_person(cast.office), method)("/api/v1/customers/")
    check(answer, 405)
    assert "POST" in answer["Allow"]


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        (r'{"\ud800": 1, "name": "x"}', "#"),
        (r'{"name": "\udfff"}', "#/name"),
        (r'{"a": [0, {"b/c": "\ud83d"}]}', "#/a/1/b~1c"),
    ],
)
def test_half_a_character_is_refused_where_it_stands(cast: Cast, sent: str, pointer: str) -> None:
    answer = as_person(cast.owner).post("/api/v1/customers/", sent, content_type="application/json")
    assert check(answer, 400)["errors"][0]["pointer"] == pointer


def test_a_whole_character_of_two_halves_is_kept(cast: Cast) -> None:
    sent = r'{"name": "\ud83d\udd27 Works"}'
    answer = as_person(cast.office).post("/api/v1/customers/", sent, content_type="application/json")
    assert answer.status_code == 201 and answer.data["name"] == "\U0001f527 Works"


def test_a_session_without_its_csrf_token(cast: Cast) -> None:
    browser = APIClient(enforce_csrf_checks=True)
    browser.force_login(cast.office)
    check(browser.post("/api/v1/me/password/", {}, format="json"), 403)


def test_a_host_that_is_not_ours(db: None) -> None:
    check(Client().get("/api/v1/me/", HTTP_HOST="elsewhere.example"), 400)


def test_the_database_being_away_is_503_with_a_time_to_come_back(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away(*args: object) -> None:
        raise OperationalError("server closed the connection: host db1 port 5432")

    monkeypatch.setattr(type(Person.objects.all()), "seen_by", away)
    answer = as_person(cast.owner).get("/api/v1/people/")
    body = check(answer, 503)
    assert int(answer["Retry-After"]) > 0
    assert "db1" not in str(body)


def test_a_fault_of_ours_tells_nothing_of_its_insides(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    def fault(*args: object) -> None:
        raise RuntimeError("secret insides")

    monkeypatch.setattr(type(Person.objects.all()), "seen_by", fault)
    client = as_person(cast.owner)
    client.raise_request_exception = False
    body = check(client.get("/api/v1/people/"), 500)
    assert "secret" not in str(body)


def test_every_kind_of_problem_says_at_its_address_what_it_means(db: None) -> None:
    listed = APIClient().get("/api/v1/problems/").json()
    assert [one["type"] for one in listed] == [f"/api/v1/problems/{kind}/" for kind in sorted(KNOWN_TYPES)]
    for one in listed:
        assert APIClient().get(one["type"]).json() == one
    check(APIClient().get("/api/v1/problems/no-such-kind/"), 404)


def test_an_undeclared_kind_of_problem_is_a_programming_error() -> None:
    with pytest.raises(LookupError):
        Problem("no-such-kind")


def test_pointers_lead_through_lists_and_escape_as_rfc_6901_says() -> None:
    errors = {"readings": [{}, {"head/low~": ["wrong"]}], "non_field_errors": ["all wrong"]}
    assert [error["pointer"] for error in pointed(errors)] == ["#/readings/1/head~1low~0", "#"]


def test_content_that_is_larger_than_is_read_here(cast: Cast, settings: Any) -> None:
    settings.MAX_CONTENT_BYTES = 100
    body = check(as_person(cast.owner).post("/api/v1/people/", {"name": "x" * 100}), 413)
    assert "100 bytes" in body["detail"]


def test_content_of_a_length_that_is_not_told(cast: Cast) -> None:
    check(as_person(cast.owner).post("/api/v1/people/", {}, HTTP_TRANSFER_ENCODING="chunked"), 411)


def test_json_that_is_nested_without_end(cast: Cast) -> None:
    deep = "[" * 100_000
    body = check(as_person(cast.owner).post("/api/v1/people/", deep, content_type="application/json"), 400)
    assert "nested" in body["detail"]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1" * 5000])
def test_numbers_that_are_none(cast: Cast, number: str) -> None:
    content = f'{{"name": {number}}}'
    check(as_person(cast.owner).post("/api/v1/people/", content, content_type="application/json"), 400)


def test_a_nul_character(cast: Cast) -> None:
    content = {"email": "a@example.org", "name": "a\x00b", "role": "office"}
    check(as_person(cast.owner).post("/api/v1/people/", content), 400)


def test_a_value_that_the_database_cannot_hold(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object) -> None:
        raise DataError("unsupported Unicode escape sequence")

    monkeypatch.setattr(type(Person.objects.all()), "seen_by", refuse)
    check(as_person(cast.owner).get("/api/v1/people/"), 400)
