"""Makers of rows for tests: each gives a sensible row, and takes what the test cares about by name."""

from __future__ import annotations

import datetime as dt
from itertools import count
from typing import Any

from django.utils import timezone

from contractor.accounts.models import Person, Role
from contractor.register.models import ClientAccess, ClientSite, Customer, Exchanger, Site, Unit
from contractor.visits.models import Reading, ShownToClients, Visit
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import same_work

numbers = count(1)
PASSWORD = "four plain words here"


def person(role: str = Role.TECHNICIAN, **given: Any) -> Person:
    number = next(numbers)
    given = {
        "email": f"{role}{number}@example.org",
        "name": f"{role.title()} {number}",
        "role": role,
        **given,
    }
    password = given.pop("password", PASSWORD)
    return Person.objects.create_user(given.pop("email"), password, **given)


def customer(**given: Any) -> Customer:
    return Customer.objects.create(**{"name": f"Customer {next(numbers)}", **given})


def site(of: Customer | None = None, **given: Any) -> Site:
    return Site.objects.create(**{"customer": of or customer(), "name": f"Site {next(numbers)}", **given})


def unit(at: Site | None = None, **given: Any) -> Unit:
    return Unit.objects.create(
        **{"site": at or site(), "tag": f"HP-{next(numbers):04d}", "refrigerant": "R410A", **given}
    )


def exchanger(of: Unit | None = None, **given: Any) -> Exchanger:
    return Exchanger.objects.create(**{"unit": of or unit(), "kind": "coaxial", **given})


def client_of(of: Customer, **given: Any) -> Person:
    found = person(Role.CLIENT, **given)
    ClientAccess.objects.create(person=found, customer=of)
    return found


def visit(at: Site, crew: list[Person] | None = None, **given: Any) -> Visit:
    start = given.pop("window_start", timezone.now())
    made = Visit.objects.create(
        **{"site": at, "window_start": start, "window_end": start + dt.timedelta(hours=2), **given}
    )
    made.crew.set(crew or [])
    return made


def shown_to_clients(of: Exchanger, until: dt.datetime) -> None:
    """As if a report that covers everything read until then had been released."""
    ShownToClients.objects.update_or_create(exchanger=of, defaults={"until": until})


def work_item(**given: Any) -> WorkItem:
    """A waiting row by default, not handed over to any broker."""
    given = {"kind": "noop", "subject": str(next(numbers)), "payload": {}, **given}
    given.setdefault("same_as", same_work(given["kind"], given["subject"], given["payload"]))
    return WorkItem.objects.create(**given)


def list_site(access: ClientAccess, at: Site) -> ClientSite:
    """Past the service: whatever the two are to each other."""
    return ClientSite.objects.create(access=access, site=at)


def reading(on: Visit, of: Exchanger, by: Person, **given: Any) -> Reading:
    as_typed = {"entering_water": {"value": "85", "unit": "degF"}}
    return Reading.objects.create(
        **{
            "visit": on,
            "exchanger": of,
            "taken_by": by,
            "taken_at": on.window_start,
            "mode": "cooling",
            "as_typed": as_typed,
            "entering_water_k": 302.5944,
            **given,
        }
    )
