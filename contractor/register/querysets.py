"""Who may see what, in one place a record; and the register's questions in plain words."""

# ruff: noqa: F401 (names of rows are used in base classes only)

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Self, TypeVar

from django.db import models
from django.db.models import F, Q

from contractor.accounts.models import Person

if TYPE_CHECKING:
    from contractor.register.models import (
        CleanerLot,
        ClientAccess,
        Customer,
        Exchanger,
        GaugeSet,
        OperatingTable,
        Site,
        Unit,
        UnitEvent,
        WaterTest,
    )

Row = TypeVar("Row", bound=models.Model)


class RegisterQuerySet(models.QuerySet[Row]):
    def in_use(self) -> Self:
        return self.filter(retired_at__isnull=True)

    def retired(self) -> Self:
        return self.filter(retired_at__isnull=False)


def sites_seen_by(person: Person) -> models.QuerySet[Site]:
    from contractor.register.models import Site

    return Site.objects.seen_by(person)


def accesses_of(person: Person) -> models.QuerySet[ClientAccess]:
    from contractor.register.models import ClientAccess

    return ClientAccess.objects.filter(person=person, retired_at__isnull=True)


class CustomerQuerySet(RegisterQuerySet["Customer"]):
    def seen_by(self, person: Person) -> Self:
        """Office: all. A client: their own. A technician: whose sites they have or had a visit at."""
        if person.is_office:
            return self
        if person.is_client:
            return self.filter(pk__in=accesses_of(person).values("customer"))
        return self.filter(pk__in=sites_seen_by(person).values("customer"))


class SiteQuerySet(RegisterQuerySet["Site"]):
    def seen_by(self, person: Person) -> Self:
        """Office: all. A client: their customer's, only those listed if any are. A technician: where they
        have or had a visit, whatever became of it."""
        if person.is_office:
            return self
        if person.is_client:
            accesses = accesses_of(person)
            whole = accesses.filter(site_places__isnull=True).values("customer")
            listed = accesses.filter(site_places__site__customer=F("customer")).values("site_places__site")
            return self.filter(Q(customer__in=whole) | Q(pk__in=listed))
        if person.is_technician:
            visited = self.model._default_manager.filter(visits__crew_places__person=person)
            return self.filter(pk__in=visited.values("pk"))
        return self.none()


class OfSiteQuerySet(RegisterQuerySet[Row]):
    """Rows that belong to a site are seen by whoever sees the site."""

    site_path = "site"

    def seen_by(self, person: Person) -> Self:
        if person.is_office:
            return self
        return self.filter(**{f"{self.site_path}__in": sites_seen_by(person).values("pk")})


class UnitQuerySet(OfSiteQuerySet["Unit"]):
    def with_tag(self, code: str) -> Self:
        return self.filter(tag__iexact=code.strip())


class WaterTestQuerySet(OfSiteQuerySet["WaterTest"]):
    def seen_by(self, person: Person) -> Self:
        """By site. Clients see those that stand."""
        seen = super().seen_by(person)
        return seen.in_use() if person.is_client else seen


class OfUnitQuerySet(OfSiteQuerySet[Row]):
    site_path = "unit__site"


class UnitEventQuerySet(OfUnitQuerySet["UnitEvent"]):
    def seen_by(self, person: Person) -> Self:
        """By site. Clients see those that stand, not what was entered by mistake and taken back."""
        seen = super().seen_by(person)
        return seen.filter(taken_back_at__isnull=True) if person.is_client else seen


class ExchangerQuerySet(OfUnitQuerySet["Exchanger"]):
    def on_table(self, table: OperatingTable) -> Self:
        return self.filter(unit__operating_table=table)


class OperatingTableQuerySet(RegisterQuerySet["OperatingTable"]):
    def seen_by(self, person: Person) -> Self:
        """The maker's printed data name no customer: the crew sees all, a client those of their own units."""
        if person.is_office or person.is_technician:
            return self
        from contractor.register.models import Unit

        return self.filter(pk__in=Unit.objects.seen_by(person).values("operating_table"))


class OfTableQuerySet(RegisterQuerySet[Row]):
    def seen_by(self, person: Person) -> Self:
        if person.is_office or person.is_technician:
            return self
        from contractor.register.models import OperatingTable

        return self.filter(table__in=OperatingTable.objects.seen_by(person).values("pk"))


class CrewOnlyQuerySet(RegisterQuerySet[Row]):
    """The contractor's own tools: office and technicians."""

    def seen_by(self, person: Person) -> Self:
        return self if person.is_office or person.is_technician else self.none()


class CleanerLotQuerySet(CrewOnlyQuerySet["CleanerLot"]):
    def usable_on(self, day: date) -> Self:
        """In use, not expired, and something left of it as far as anybody counted."""
        fresh = Q(expires_on__isnull=True) | Q(expires_on__gte=day)
        return self.in_use().filter(fresh).exclude(quantity_kg__lte=0)


class GaugeSetQuerySet(CrewOnlyQuerySet["GaugeSet"]):
    def carried_by(self, person: Person) -> Self:
        return self.in_use().filter(holder=person)


class ClientAccessQuerySet(RegisterQuerySet["ClientAccess"]):
    def seen_by(self, person: Person) -> Self:
        """Office: all. A client: what they were themselves given."""
        if person.is_office:
            return self
        return self.filter(person=person) if person.is_client else self.none()

    def to_site(self, site: Site) -> Self:
        """Those in use, of people who may sign in, through which this site is seen."""
        listed = Q(site_places__isnull=True) | Q(site_places__site=site)
        return self.in_use().filter(listed, customer=site.customer_id, person__is_active=True)
