"""Content that is not JSON, or of another type: the answer says where it broke and what would be right."""

from __future__ import annotations

from typing import Any

import pytest

from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def post(cast: Cast, content: bytes | str, kind: str = "application/json") -> Any:
    return as_person(cast.owner).post("/api/v1/customers/", content, content_type=kind)


@pytest.mark.parametrize(
    ("content", "line", "column", "offset"),
    [
        ('{"name": "Block A",}', 1, 20, 19),
        ('{"name": "Block A"\n "code": 1}', 2, 2, 20),
        ("{'name': 1}", 1, 2, 1),
        ("[1, 2", 1, 6, 5),
        (b'{"name":\n "caf\xe9"}', 2, 6, 14),
    ],
)
def test_broken_json_is_refused_with_its_place(
    cast: Cast, content: bytes | str, line: int, column: int, offset: int
) -> None:
    answer = post(cast, content)
    assert (answer.status_code, answer.data["type"]) == (400, "/api/v1/problems/not-json/")
    assert (answer.data["line"], answer.data["column"], answer.data["offset"]) == (line, column, offset)
    assert f"line {line}, column {column}" in answer.data["errors"][0]["detail"]
    assert answer.data["errors"][0]["pointer"] == "#"
    assert "expected one JSON value" in answer.data["detail"]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_of_json_is_named(cast: Cast, number: str) -> None:
    answer = post(cast, f'{{"name": {number}}}')
    assert answer.status_code == 400
    assert number in answer.data["detail"] and "null" in answer.data["detail"]


def test_a_byte_order_mark_is_let_pass(cast: Cast) -> None:
    assert post(cast, b'\xef\xbb\xbf{"name": "Block A"}').status_code == 201


def test_another_media_type_is_told_which_ones_are_read(cast: Cast) -> None:
    answer = post(cast, "<a/>", "application/xml")
    assert answer.status_code == 415
    assert answer.data["expected"] == ["application/json", "multipart/form-data"]
    assert "application/xml" in answer.data["detail"] and "application/json" in answer.data["detail"]
    assert answer["Accept"] == "application/json, multipart/form-data"


def test_a_photo_is_told_to_come_as_a_form(cast: Cast) -> None:
    finding = as_person(cast.assigned).post(
        "/api/v1/findings/", {"visit": str(cast.visit.pk), "kind": "photo"}, headers={"Idempotency-Key": "1"}
    )
    answer = as_person(cast.assigned).post(
        f"/api/v1/findings/{finding.data['id']}/photo/", {}, headers={"Idempotency-Key": "2"}
    )
    assert (answer.status_code, answer.data["expected"]) == (415, ["multipart/form-data"])


def test_another_type_asked_for_is_told_which_ones_are_answered(cast: Cast) -> None:
    answer = as_person(cast.owner).get("/api/v1/me/", HTTP_ACCEPT="application/xml")
    assert (answer.status_code, answer.data["expected"]) == (406, ["application/json"])
    assert "application/json" in answer.data["detail"]
