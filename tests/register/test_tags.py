"""Looking up the tag on a machine: that unit, its site's name and safety notes, no more."""

from __future__ import annotations

import pytest
from django.utils import timezone

from contractor.register import services
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def test_a_technician_without_a_visit_gets_the_unit_the_sites_name_and_its_safety_notes(cast: Cast) -> None:
    services.change_site(
        cast.site, {"safety_notes": "roof: clip on", "address": "1 Quay", "notes": "pays late"}
    )
    answer = as_person(cast.other).get("/api/v1/tags/HR-A-001/")
    assert answer.status_code == 200
    assert answer.data["unit"] == str(cast.unit.pk)
    assert answer.data["site"] == {
        "name": "Harbour Reach, Block A",
        "safety_notes": "roof: clip on",
        "emergency_phone": "",
    }
    assert set(answer.data) == {
        "unit", "tag", "place", "model", "serial", "kind", "refrigerant", "stages", "safety_notes",
        "exchangers", "site", "retired_at",
    }  # fmt: skip
    assert [each["id"] for each in answer.data["exchangers"]] == [str(cast.exchanger.pk)]
    for secret in (str(cast.customer.pk), cast.customer.name, str(cast.site.pk), "1 Quay", "pays late"):
        assert secret not in answer.content.decode()


def test_capitals_do_not_matter_but_every_character_counts(cast: Cast) -> None:
    client = as_person(cast.other)
    assert client.get("/api/v1/tags/hr-a-001/").status_code == 200
    for code in ("HR-A-00", "HR-A-0012", "HR-A-%25", "HR-A-___"):
        assert client.get(f"/api/v1/tags/{code}/").status_code == 404


def test_there_is_no_list_of_tags(cast: Cast) -> None:
    assert as_person(cast.office).get("/api/v1/tags/").status_code == 404


def test_a_tag_with_a_slash_in_it_can_be_looked_up(cast: Cast) -> None:
    services.change_unit(cast.unit, {"tag": "HR/A/1"})
    assert as_person(cast.other).get("/api/v1/tags/HR/A/1/").data["tag"] == "HR/A/1"


def test_a_client_looks_up_their_own_tags_only(cast: Cast) -> None:
    assert as_person(cast.client).get("/api/v1/tags/HR-A-001/").status_code == 200
    assert as_person(cast.other_client).get("/api/v1/tags/HR-A-001/").status_code == 404


def test_a_retired_unit_is_found_and_said_to_be_retired(cast: Cast) -> None:
    services.retire_unit(cast.unit, timezone.now())
    assert as_person(cast.other).get("/api/v1/tags/HR-A-001/").data["retired_at"] is not None


def test_one_who_sees_the_unit_anyway_is_not_counted(cast: Cast) -> None:
    codes = {as_person(cast.assigned).get("/api/v1/tags/HR-A-001/").status_code for _ in range(30)}
    assert codes == {200}
