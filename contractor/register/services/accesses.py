from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.http.problems import Problem
from contractor.register.models import ClientAccess, ClientSite, Customer, Site
from contractor.register.services import rows


@transaction.atomic
def give_client_access(fields: Mapping[str, Any], sites: Iterable[Site] = ()) -> ClientAccess:
    """A client's sign-in sees one customer: all of its sites, or those listed."""
    _refuse_second(fields)
    access = rows.put_in(ClientAccess(**fields))
    _limit_to(access, sites)
    return access


@transaction.atomic
def change_client_access(
    access: ClientAccess, fields: Mapping[str, Any], sites: Iterable[Site] | None = None
) -> ClientAccess:
    """`sites` None leaves the listed sites; another customer needs its own."""
    changed = rows.change(access, fields)
    if sites is not None or "customer" in changed:
        _limit_to(access, sites or ())
    return access


def withdraw_client_access(access: ClientAccess, now: datetime) -> ClientAccess:
    return rows.retire(access, now)


def give_back_client_access(access: ClientAccess) -> ClientAccess:
    return rows.bring_back(access)


def _limit_to(access: ClientAccess, sites: Iterable[Site]) -> None:
    wanted = {site.pk: site for site in sites}
    for site in wanted.values():
        _refuse_strange_site(site, access.customer)
    places = {place.site_id: place for place in access.site_places.select_for_update()}
    for site_id, place in places.items():
        if site_id not in wanted:
            place.delete()
    for site_id in wanted.keys() - places.keys():
        rows.put_in(ClientSite(access=access, site_id=site_id))
    if wanted.keys() != places.keys():
        rows.touch(access)


def _refuse_strange_site(site: Site, customer: Customer) -> None:
    if site.customer_id != customer.pk:
        detail = f"{site} is not a site of {customer}; expected sites of {customer} only."
        raise Problem("invalid", detail, errors=[{"pointer": "/sites", "detail": detail}])


def _refuse_second(fields: Mapping[str, Any]) -> None:
    person = fields.get("person")
    standing = ClientAccess.objects.filter(person=person).select_related("customer").first()
    if standing:
        state = "was withdrawn; give it back" if standing.is_retired else "stands; change it"
        detail = f"{person} already has access to {standing.customer}, which {state} instead."
        raise Problem("conflict", detail, errors=[{"pointer": "/person", "detail": detail}])
