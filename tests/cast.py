"""The fixed cast.

Two customers, their clients, two technicians, office, owner, and a stranger without a sign-in.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from rest_framework.test import APIClient

from contractor.accounts.models import Person, Role
from contractor.register.models import Customer, Exchanger, Site, Unit
from contractor.visits.models import Visit
from tests import make


@dataclass(frozen=True)
class Cast:
    """`client` belongs to `customer`, where `assigned` has a visit; the others have nothing there."""

    owner: Person
    office: Person
    assigned: Person
    other: Person
    client: Person
    other_client: Person
    customer: Customer
    other_customer: Customer
    site: Site
    unit: Unit
    exchanger: Exchanger
    visit: Visit

    def people(self) -> dict[str, Person | None]:
        return {
            "owner": self.owner,
            "office": self.office,
            "assigned technician": self.assigned,
            "other technician": self.other,
            "client": self.client,
            "other client": self.other_client,
            "anonymous": None,
        }


@pytest.fixture
def cast(db: None) -> Cast:
    ours, theirs = make.customer(name="Harbour Reach Offices"), make.customer(name="Larkfield Homes")
    assigned = make.person(Role.TECHNICIAN, email="assigned@example.org")
    site = make.site(ours, name="Harbour Reach, Block A")
    make.site(theirs, name="Larkfield Court")
    unit = make.unit(site, tag="HR-A-001")
    return Cast(
        owner=make.person(Role.OWNER, email="owner@example.org"),
        office=make.person(Role.OFFICE, email="office@example.org"),
        assigned=assigned,
        other=make.person(Role.TECHNICIAN, email="other@example.org"),
        client=make.client_of(ours, email="client@example.org"),
        other_client=make.client_of(theirs, email="other-client@example.org"),
        customer=ours,
        other_customer=theirs,
        site=site,
        unit=unit,
        exchanger=make.exchanger(unit),
        visit=make.visit(site, [assigned]),
    )


def as_person(person: Person | None) -> APIClient:
    """A client that speaks JSON as this person; None is a stranger."""
    client = APIClient()
    client.default_format = "json"
    if person is not None:
        client.force_authenticate(user=person)
    return client


class Phone(APIClient):
    """Sends every write under a key of its own."""

    def generic(self, method: str, *rest: Any, **headers: Any) -> Any:
        if method in ("POST", "PATCH"):
            headers.setdefault("HTTP_IDEMPOTENCY_KEY", str(uuid.uuid4()))
        return super().generic(method, *rest, **headers)


def as_phone(person: Person | None) -> Phone:
    phone = Phone()
    phone.default_format = "json"
    if person is not None:
        phone.force_authenticate(user=person)
    return phone


@pytest.fixture
def stranger() -> Iterator[APIClient]:
    yield as_person(None)
