"""Who may see which descales and what was recorded at them. The clock is given."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Self, TypeVar

from django.db import models

from contractor.accounts.models import Person
from contractor.descales.states import BEFORE_ACID, OPEN
from contractor.register.querysets import sites_seen_by

if TYPE_CHECKING:
    from contractor.descales.models import (  # noqa: F401
        Descale,
        DescalePlan,
        Discharge,
        HeldWaste,
        Notice,
    )

Row = TypeVar("Row", bound=models.Model)


class DescaleQuerySet(models.QuerySet["Descale"]):
    def seen_by(self, person: Person) -> Self:
        """The crew, by site. A client sees notices, discharges and released certificates, not the work."""
        if person.is_office:
            return self
        if person.is_client:
            return self.none()
        return self.filter(exchanger__unit__site__in=sites_seen_by(person).values("pk"))

    def open(self) -> Self:
        return self.filter(state__in=OPEN)

    def wanting_a_visit(self) -> Self:
        """The customer said yes, no acid is in, and no visit is booked for it."""
        return self.filter(state__in=("agreed", "planned", "noticed"), visit=None)

    def of_exchanger(self, exchanger_id: object) -> Self:
        return self.filter(exchanger=exchanger_id)


class OfDescaleQuerySet(models.QuerySet[Row]):
    """Rows of a descale are seen by whoever sees the descale."""

    def seen_by(self, person: Person) -> Self:
        if person.is_office:
            return self
        return self.none() if person.is_client else self.of_sites_of(person)

    def of_sites_of(self, person: Person) -> Self:
        return self.filter(descale__exchanger__unit__site__in=sites_seen_by(person).values("pk"))


class ClientsToo(OfDescaleQuerySet[Row]):
    """What a client sees of their own sites as well."""

    def seen_by(self, person: Person) -> Self:
        return self if person.is_office else self.of_sites_of(person)


class NoticeQuerySet(ClientsToo["Notice"]):
    def to_come(self, now: datetime) -> Self:
        """The last notice of each descale whose work is still to come."""
        mine = self.model._default_manager.filter(descale=models.OuterRef("descale"))
        later = mine.filter(at__gt=models.OuterRef("at"))
        waiting = self.filter(work_starts_at__gte=now, descale__state__in=BEFORE_ACID)
        return waiting.exclude(models.Exists(later))


class DischargeQuerySet(ClientsToo["Discharge"]):
    def exceeding(self) -> Self:
        return self.exclude(exceedances=[])


class HeldWasteQuerySet(OfDescaleQuerySet["HeldWaste"]):
    def still_there(self) -> Self:
        return self.filter(collected_at__isnull=True)


class PlanQuerySet(OfDescaleQuerySet["DescalePlan"]):
    def current(self) -> Self:
        return self.filter(superseded_at__isnull=True)
