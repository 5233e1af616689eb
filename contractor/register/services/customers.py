from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from contractor.accounts.models import Person
from contractor.register import papers
from contractor.register.models import Customer, Exchanger, Site, Unit, WaterTest
from contractor.register.quantities import SITE, WATER_TEST
from contractor.register.services import rows
from contractor.register.signals import elevation_changed
from contractor.register.typed import barometric_at, settle_facts

SITE_FACTS = frozenset(
    {"elevation_m", "water_source", "antifreeze", "antifreeze_fraction", "loop_low_k", "loop_high_k"}
)


def add_customer(fields: Mapping[str, Any]) -> Customer:
    return rows.put_in(Customer(**fields))


def change_customer(customer: Customer, fields: Mapping[str, Any]) -> Customer:
    rows.change(customer, fields)
    return customer


def retire_customer(customer: Customer, now: datetime) -> Customer:
    return rows.retire(
        customer,
        now,
        Exchanger.objects.filter(unit__site__customer=customer),
        Unit.objects.filter(site__customer=customer),
        Site.objects.filter(customer=customer),
    )


def bring_back_customer(customer: Customer) -> Customer:
    return rows.bring_back(
        customer,
        Site.objects.filter(customer=customer),
        Unit.objects.filter(site__customer=customer),
        Exchanger.objects.filter(unit__site__customer=customer),
    )


def add_site(fields: Mapping[str, Any]) -> Site:
    rows.refuse_if_retired(fields["customer"], "/customer")
    return rows.put_in(Site(**settle_facts(SITE, fields, {}, barometric_pa=barometric_at(None))))


@transaction.atomic
def change_site(site: Site, fields: Mapping[str, Any], asked_by: Person | None = None) -> Site:
    settled = settle_facts(SITE, fields, site.as_typed, barometric_pa=barometric_at(None))
    changed = rows.change(site, settled)
    if "elevation_m" in changed:
        elevation_changed.send(sender=Site, site=site, asked_by=asked_by)
    if changed & SITE_FACTS:
        rows.ask_again(Exchanger.objects.filter(unit__site=site), asked_by)
    return site


@transaction.atomic
def keep_acceptance(site: Site, upload: File[bytes]) -> Site:
    """Keep what the works wrote that lets it take acid water; an older one stays in the storage."""
    papers.attach(site, "discharge_acceptance", upload)
    return site


def retire_site(site: Site, now: datetime) -> Site:
    exchangers = Exchanger.objects.filter(unit__site=site)
    return rows.retire(site, now, exchangers, Unit.objects.filter(site=site))


def bring_back_site(site: Site) -> Site:
    rows.refuse_if_retired(site.customer, "/customer")
    return rows.bring_back(site, Unit.objects.filter(site=site), Exchanger.objects.filter(unit__site=site))


def add_water_test(fields: Mapping[str, Any]) -> WaterTest:
    return rows.put_in(WaterTest(**settle_facts(WATER_TEST, fields, {}, barometric_pa=barometric_at(None))))


def change_water_test(test: WaterTest, fields: Mapping[str, Any]) -> WaterTest:
    rows.change(test, settle_facts(WATER_TEST, fields, test.as_typed, barometric_pa=barometric_at(None)))
    return test


def retire_water_test(test: WaterTest, now: datetime) -> WaterTest:
    return rows.retire(test, now)


def bring_back_water_test(test: WaterTest) -> WaterTest:
    return rows.bring_back(test)
