"""Who may see which visits, readings and findings; and the questions asked of them. The clock is given."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Self
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from contractor.accounts.models import Person
from contractor.register.querysets import sites_seen_by

if TYPE_CHECKING:
    from contractor.visits.models import CrewPlace, Finding, Reading, RigPlace, Visit  # noqa: F401

OPEN_STATES = ("booked", "under_way")


class VisitQuerySet(models.QuerySet["Visit"]):
    def seen_by(self, person: Person) -> Self:
        """Whoever sees the site; a technician sees what others did there too."""
        return self if person.is_office else self.filter(site__in=sites_seen_by(person).values("pk"))

    def open(self) -> Self:
        return self.filter(state__in=OPEN_STATES)

    def of_crew(self, person: Person) -> Self:
        return self.filter(crew_places__person=person)

    def open_on(self, day: date, zone: ZoneInfo) -> Self:
        """Open visits whose window touches the day, as the clock on the wall counts days in `zone`."""
        start = datetime.combine(day, time.min, tzinfo=zone)
        return self.open().filter(window_start__lt=start + timedelta(days=1), window_end__gt=start)

    def overdue(self, now: datetime) -> Self:
        return self.open().filter(window_end__lt=now)

    def urgent_since(self, moment: datetime) -> Self:
        return self.filter(urgent=True, created_at__gte=moment)


class CrewPlaceQuerySet(models.QuerySet["CrewPlace"]):
    def clashing(self, person_ids: list[object], start: datetime, end: datetime) -> Self:
        """Places that keep one of these people from other work within [start, end)."""
        return self.filter(person__in=person_ids, holds_from__lt=end, holds_until__gt=start)


class RigPlaceQuerySet(models.QuerySet["RigPlace"]):
    def clashing(self, rig_ids: list[object], start: datetime, end: datetime) -> Self:
        """Places of one of these rigs on open visits within [start, end)."""
        return self.filter(
            rig__in=rig_ids,
            visit__state__in=OPEN_STATES,
            visit__window_start__lt=end,
            visit__window_end__gt=start,
        )


class ReadingQuerySet(models.QuerySet["Reading"]):
    def seen_by(self, person: Person) -> Self:
        """By site. Clients see what stands behind a released report, not what was corrected since."""
        if person.is_office:
            return self
        seen = self.filter(visit__site__in=sites_seen_by(person).values("pk"))
        return seen.standing().shown_to_clients() if person.is_client else seen

    def shown_to_clients(self) -> Self:
        return self.filter(taken_at__lte=F("exchanger__shown_to_clients__until"))

    def standing(self) -> Self:
        return self.filter(superseded_at__isnull=True)

    def of_site(self, site_id: object) -> Self:
        return self.filter(visit__site=site_id)

    def taken_until(self, moment: datetime) -> Self:
        return self.filter(taken_at__lte=moment)


class FindingQuerySet(models.QuerySet["Finding"]):
    def seen_by(self, person: Person) -> Self:
        if person.is_office:
            return self
        seen = self.filter(visit__site__in=sites_seen_by(person).values("pk"))
        return seen.in_use().shown_to_clients() if person.is_client else seen

    def shown_to_clients(self) -> Self:
        """Of visits with a reading behind a released report; and why a unit was not reached, at once."""
        from contractor.visits.models import Reading

        reported = Reading.objects.standing().shown_to_clients().filter(visit=OuterRef("visit"))
        return self.filter(Q(kind="could_not_do") | Exists(reported))

    def of_site(self, site_id: object) -> Self:
        return self.filter(visit__site=site_id)

    def in_use(self) -> Self:
        return self.filter(retired_at__isnull=True)

    def retired(self) -> Self:
        return self.filter(retired_at__isnull=False)
