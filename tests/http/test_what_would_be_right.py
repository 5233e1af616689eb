"""What is missing, null, empty or no known word is told with what would be right."""

from __future__ import annotations

import pytest
from rest_framework import serializers

from contractor.http.problems import pointed
from contractor.http.serializers import KnownChoiceField, RoomSerializer
from contractor.http.wanted import KINDS, wanted
from tests.cast import Cast, as_person


class InsideSerializer(RoomSerializer):
    at = serializers.DateTimeField(help_text="when it was read")


class MachineSerializer(RoomSerializer):
    tag = serializers.CharField(help_text="the tag on the machine.")
    kind = serializers.ChoiceField(choices=["pump", "chiller"])
    known = KnownChoiceField(choices=["clean", "dirty"], required=False)
    count = serializers.IntegerField(required=False, help_text="parallel tubes")
    inside = InsideSerializer(required=False)
    many = InsideSerializer(many=True, required=False)


def said(sent: dict[str, object]) -> dict[str, str]:
    found = MachineSerializer(data=sent)
    assert not found.is_valid()
    return {str(one["pointer"]): str(one["detail"]) for one in pointed(found.errors)}


def test_what_is_missing_is_told_with_kind_and_use() -> None:
    told = said({})
    assert told == {
        "#/tag": "Missing; expected text (the tag on the machine).",
        "#/kind": "Missing; expected one of: pump, chiller.",
    }


NULL = "Null where a value is wanted; expected "
TIME = (
    "Missing; expected a date and time with its offset, such as 2025-06-30T14:05:00+01:00 (when it was read)."
)
COUNT = f"{NULL}a whole number such as 3 (parallel tubes), or leave it out."


@pytest.mark.parametrize(
    ("sent", "pointer", "words"),
    [
        ({"tag": None}, "#/tag", f"{NULL}text (the tag on the machine)."),
        ({"tag": "  "}, "#/tag", "Empty; expected text (the tag on the machine)."),
        ({"count": None}, "#/count", COUNT),
        ({"kind": "boiler"}, "#/kind", '"boiler" is not a valid choice; expected one of: pump, chiller.'),
        ({"known": "grey"}, "#/known", "'grey' is not known; expected one of: clean, dirty"),
        ({"inside": {}}, "#/inside/at", TIME),
        ({"many": [{"at": "2025-06-30T14:05Z"}, {}]}, "#/many/1/at", TIME),
    ],
)
def test_what_is_null_empty_or_no_known_word_is_told_with_what_is_wanted(sent, pointer, words) -> None:
    assert said({"tag": "HP-1", "kind": "pump", **sent}) == {pointer: words}


def test_every_kind_of_field_has_words() -> None:
    for cls, words in KINDS:
        assert words and issubclass(cls, serializers.Field)
    assert wanted(serializers.ReadOnlyField()) == "a value"


@pytest.mark.django_db
def test_over_the_api_a_missing_name_says_what_it_is(cast: Cast) -> None:
    answer = as_person(cast.owner).post("/api/v1/people/", {}, format="json")
    assert answer.status_code == 400
    for error in answer.json()["errors"]:
        assert "This field" not in error["detail"] and "expected" in error["detail"]
