"""Actions that take no content refuse what is sent all the same, by name, and carry nothing out."""

from __future__ import annotations

import pytest

from contractor.register.models import Rig
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def test_retiring_with_an_unknown_field_is_refused_by_its_name_and_nothing_is_retired(cast: Cast) -> None:
    rig = Rig.objects.create(name="Rig 1")
    path, header = f"/api/v1/rigs/{rig.pk}/retire/", {"If-Match": "*"}
    answer = as_person(cast.office).post(path, {"because": "old"}, format="json", headers=header)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/because"
    assert "expected nothing" in answer.json()["errors"][0]["detail"]
    assert Rig.objects.get(pk=rig.pk).retired_at is None
    assert as_person(cast.office).post(path, {}, format="json", headers=header).status_code == 200


def test_a_list_where_nothing_is_asked_is_refused_too(cast: Cast) -> None:
    answer = as_person(cast.office).post("/api/v1/sign-out/", [1], format="json")
    assert answer.status_code == 400
