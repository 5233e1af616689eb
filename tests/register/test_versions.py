"""An ETag stands for all that is shown: what hangs on a row and is shown with it makes a new version."""

from __future__ import annotations

from typing import Any

import pytest

from contractor.register import services
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

ANY = {"If-Match": "*"}


def shown_anew(client: Any, address: str, tag: str) -> bool:
    return bool(client.get(address, headers={"If-None-Match": tag}).status_code == 200)


def test_another_crew_is_another_version_of_the_visit(cast: Cast) -> None:
    client, address = as_person(cast.office), f"/api/v1/visits/{cast.visit.pk}/"
    tag = client.get(address)["ETag"]
    assert not shown_anew(client, address, tag)
    changed = client.patch(address, {"crew": [str(cast.other.pk)]}, headers={"If-Match": tag})
    assert (changed.status_code, changed["ETag"] == tag) == (200, False)
    assert shown_anew(client, address, tag)
    assert client.patch(address, {"crew": []}, headers={"If-Match": tag}).status_code == 412


def test_another_row_is_another_version_of_the_operating_table(cast: Cast) -> None:
    client = as_person(cast.office)
    table = services.add_operating_table({"name": "WA 036"}, [{"mode": "cooling"}])
    address = f"/api/v1/operating-tables/{table.pk}/"
    row = f"/api/v1/operating-table-rows/{table.rows.get().pk}/"
    for change in (
        lambda: client.post("/api/v1/operating-table-rows/", {"table": str(table.pk), "mode": "heating"}),
        lambda: client.patch(row, {"stage": "low"}, headers=ANY),
        lambda: client.post(f"{row}retire/", headers=ANY),
        lambda: client.post(f"{row}bring-back/", headers=ANY),
    ):
        tag = client.get(address)["ETag"]
        assert change().status_code in (200, 201)
        assert shown_anew(client, address, tag)


def test_other_sites_are_another_version_of_an_access(cast: Cast) -> None:
    client, address = as_person(cast.office), f"/api/v1/client-accesses/{cast.client.client_access.pk}/"
    tag = client.get(address)["ETag"]
    changed = client.patch(address, {"sites": [str(cast.site.pk)]}, headers={"If-Match": tag})
    assert (changed.status_code, changed["ETag"] == tag) == (200, False)
    assert shown_anew(client, address, tag)
    same = client.patch(address, {"sites": [str(cast.site.pk)]}, headers={"If-Match": changed["ETag"]})
    assert same["ETag"] == changed["ETag"]


@pytest.mark.parametrize(
    "moment", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59Z", "1969-12-31T00:00:00Z"]
)
def test_a_moment_no_calendar_of_people_holds_is_refused(cast: Cast, moment: str) -> None:
    client = as_person(cast.office)
    sent = {"site": str(cast.site.pk), "window_start": moment, "window_end": "2027-03-03T10:00:00Z"}
    answer = client.post("/api/v1/visits/", sent)
    assert (answer.status_code, answer.data["errors"][0]["pointer"]) == (400, "#/window_start")
    urgent = {"id": "8b5c6f0e-58a4-4b57-9a39-111111111111", "tag": "HR-A-001", "opened_at": moment}
    headers = {"Idempotency-Key": moment}
    assert client.post("/api/v1/visits/urgent/", urgent, headers=headers).status_code == 400


def test_a_retired_table_is_given_to_no_unit(cast: Cast) -> None:
    table = services.add_operating_table({"name": "old"})
    client = as_person(cast.office)
    client.post(f"/api/v1/operating-tables/{table.pk}/retire/", headers=ANY)
    answer = client.patch(f"/api/v1/units/{cast.unit.pk}/", {"operating_table": str(table.pk)}, headers=ANY)
    assert (answer.status_code, answer.data["errors"][0]["pointer"]) == (409, "#/operating_table")


def test_a_row_that_changed_meanwhile_is_not_overwritten(cast: Cast) -> None:
    unit = make.unit(cast.site)
    late = type(unit).objects.get(pk=unit.pk)
    services.change_unit(unit, {"place": "roof"})
    with pytest.raises(Exception, match="changed since it was read"):
        services.change_unit(late, {"place": "cellar"})
