"""ETag, If-Match and If-None-Match (RFC 9110): two people who edit the same row do not undo each other."""

from __future__ import annotations

from typing import Any

import pytest

from contractor.accounts.models import Person
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def address(person: Person) -> str:
    return f"/api/v1/people/{person.pk}/"


def change(cast: Cast, tag: str | None, name: str = "Changed") -> Any:
    headers = {"HTTP_IF_MATCH": tag} if tag is not None else {}
    return as_person(cast.owner).patch(address(cast.other), {"name": name}, **headers)


def test_a_change_needs_if_match(cast: Cast) -> None:
    assert change(cast, None).status_code == 428


def test_the_present_tag_lets_a_change_through_and_gives_the_next(cast: Cast) -> None:
    first = as_person(cast.owner).get(address(cast.other))["ETag"]
    answer = change(cast, first)
    assert answer.status_code == 200
    assert answer["ETag"] not in (first, "")
    assert as_person(cast.owner).get(address(cast.other))["ETag"] == answer["ETag"]


def test_the_second_of_two_with_the_same_tag_is_told(cast: Cast) -> None:
    tag = as_person(cast.owner).get(address(cast.other))["ETag"]
    assert change(cast, tag, "First").status_code == 200
    late = change(cast, tag, "Second")
    assert (late.status_code, late.data["type"]) == (412, "/api/v1/problems/stale/")
    cast.other.refresh_from_db()
    assert cast.other.name == "First"


@pytest.mark.parametrize(
    ("made", "status"),
    [("*", 200), ("{tag}", 200), ('"nonsense", {tag}', 200), ("W/{tag}", 412), ('"nonsense"', 412)],
)
def test_forms_of_if_match(cast: Cast, made: str, status: int) -> None:
    tag = as_person(cast.owner).get(address(cast.other))["ETag"]
    assert change(cast, made.replace("{tag}", tag)).status_code == status


@pytest.mark.parametrize(("made", "status"), [("{tag}", 304), ("W/{tag}", 304), ("*", 304), ('"old"', 200)])
def test_forms_of_if_none_match(cast: Cast, made: str, status: int) -> None:
    client = as_person(cast.owner)
    tag = client.get(address(cast.other))["ETag"]
    answer = client.get(address(cast.other), HTTP_IF_NONE_MATCH=made.replace("{tag}", tag))
    assert (answer.status_code, answer["ETag"]) == (status, tag)
    assert bool(answer.content) == (status == 200)


def test_a_row_that_changes_between_reading_and_writing_is_not_overwritten(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    from contractor.accounts import services

    tag = as_person(cast.owner).get(address(cast.other))["ETag"]
    meanwhile = services.change_person

    def late(person: Person, *rest: Any) -> Person:
        someone = Person.objects.get(pk=person.pk)
        someone.phone = "0100"
        someone.save()
        return meanwhile(person, *rest)

    monkeypatch.setattr(services, "change_person", late)
    assert change(cast, tag).status_code == 412
