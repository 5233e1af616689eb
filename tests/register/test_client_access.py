"""Which customer a client's sign-in sees, and which fields."""

from __future__ import annotations

from typing import Any

import pytest

from contractor.register.models import ClientAccess, Site
from contractor.trail.models import Change
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def give(cast: Cast, **sent: Any) -> Any:
    return as_person(cast.office).post("/api/v1/client-accesses/", sent)


def test_the_office_gives_a_client_a_customer_and_the_client_sees_it(cast: Cast) -> None:
    fresh = make.person("client")
    assert as_person(fresh).get("/api/v1/sites/").data["results"] == []
    answer = give(cast, person=str(fresh.pk), customer=str(cast.customer.pk), sites=[str(cast.site.pk)])
    assert answer.status_code == 201, answer.data
    assert answer.data["person_email"] == fresh.email
    shown = as_person(fresh).get("/api/v1/sites/").data["results"]
    assert [row["id"] for row in shown] == [str(cast.site.pk)]


def test_sites_of_another_customer_are_refused(cast: Cast) -> None:
    fresh, theirs = make.person("client"), Site.objects.get(customer=cast.other_customer)
    answer = give(cast, person=str(fresh.pk), customer=str(cast.customer.pk), sites=[str(theirs.pk)])
    assert (answer.status_code, answer.data["errors"][0]["pointer"]) == (400, "#/sites")
    assert not ClientAccess.objects.filter(person=fresh).exists()


def test_only_clients_are_given_access_and_only_once(cast: Cast) -> None:
    answer = give(cast, person=str(cast.assigned.pk), customer=str(cast.customer.pk))
    assert answer.status_code == 400
    again = give(cast, person=str(cast.client.pk), customer=str(cast.other_customer.pk))
    assert again.status_code == 409
    assert "change it instead" in again.data["detail"]


def test_withdrawn_access_ends_at_once_and_can_be_given_back(cast: Cast) -> None:
    address = f"/api/v1/client-accesses/{cast.client.client_access.pk}"
    office = as_person(cast.office)
    assert office.post(f"{address}/retire/", headers={"If-Match": "*"}).status_code == 200
    assert as_person(cast.client).get(f"/api/v1/sites/{cast.site.pk}/").status_code == 404
    assert office.post(f"{address}/bring-back/", headers={"If-Match": "*"}).status_code == 200
    assert as_person(cast.client).get(f"/api/v1/sites/{cast.site.pk}/").status_code == 200


def test_another_customer_empties_the_list_of_sites(cast: Cast) -> None:
    access = cast.client.client_access
    office, address = as_person(cast.office), f"/api/v1/client-accesses/{access.pk}/"
    office.patch(address, {"sites": [str(cast.site.pk)]}, headers={"If-Match": "*"})
    moved = office.patch(address, {"customer": str(cast.other_customer.pk)}, headers={"If-Match": "*"})
    assert (moved.status_code, moved.data["sites"]) == (200, [])
    changes = Change.objects.filter(table="register.clientsite").order_by("id")
    assert [(change.action, change.person) for change in changes] == [
        ("created", cast.office),
        ("deleted", cast.office),
    ]


@pytest.mark.parametrize("address", ["customers", "sites", "units", "exchangers", "visits"])
def test_the_contractors_own_notes_are_blank_for_a_client(cast: Cast, address: str) -> None:
    row = {"customers": cast.customer, "sites": cast.site, "units": cast.unit, "exchangers": cast.exchanger,
           "visits": cast.visit}[address]  # fmt: skip
    row.notes = "pays late"
    row.save()
    office = as_person(cast.office).get(f"/api/v1/{address}/{row.pk}/").data
    client = as_person(cast.client).get(f"/api/v1/{address}/{row.pk}/").data
    assert (office["notes"], client["notes"]) == ("pays late", "")
    assert set(office) == set(client)
    listed = as_person(cast.client).get(f"/api/v1/{address}/").data["results"]
    assert {each["notes"] for each in listed} == {""}


def test_why_a_visit_was_called_off_is_the_offices_own_note(cast: Cast) -> None:
    address = f"/api/v1/visits/{cast.visit.pk}/"
    as_person(cast.office).post(f"{address}call-off/", {"reason": "pays late"}, headers={"If-Match": "*"})
    office, client = (as_person(person).get(address).data for person in (cast.office, cast.client))
    assert (office["called_off_because"], client["called_off_because"]) == ("pays late", "")
    assert client["state"] == "called_off"


def test_questions_to_the_technician_are_not_shown_to_a_client(cast: Cast) -> None:
    reading = make.reading(cast.visit, cast.exchanger, cast.assigned, entering_water_k=500.0)
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    address = f"/api/v1/readings/{reading.pk}/"
    assert as_person(cast.assigned).get(address).data["warnings"] != []
    assert as_person(cast.client).get(address).data["warnings"] == []
