"""Who may see which assessments, rankings, surveys and fits of growth, and which of them stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db import models
from django.db.models import F

from contractor.accounts.models import Person
from contractor.register.querysets import sites_seen_by

if TYPE_CHECKING:
    from diagnostics.models import Assessment, GrowthFit, LoopSurvey, Ranking  # noqa: F401


class AssessmentQuerySet(models.QuerySet["Assessment"]):
    def seen_by(self, person: Person) -> Self:
        """By site, as the readings are. Clients see what stands, of readings behind a released report."""
        if person.is_office:
            return self
        seen = self.filter(reading__visit__site__in=sites_seen_by(person).values("pk"))
        return seen.current().shown_to_clients() if person.is_client else seen

    def shown_to_clients(self) -> Self:
        return self.filter(reading__taken_at__lte=F("reading__exchanger__shown_to_clients__until"))

    def current(self) -> Self:
        """Not superseded, and of a reading that still counts."""
        return self.filter(superseded_at__isnull=True, reading__superseded_at__isnull=True)

    def of_exchanger(self, exchanger_id: object) -> Self:
        return self.filter(reading__exchanger=exchanger_id)

    def latest_taken_first(self) -> Self:
        return self.order_by("-reading__taken_at", "-pk")


class RankingQuerySet(models.QuerySet["Ranking"]):
    def seen_by(self, person: Person) -> Self:
        """By site, as the readings are. Clients see what stands, of readings behind a released report."""
        if person.is_office:
            return self
        seen = self.filter(reading__visit__site__in=sites_seen_by(person).values("pk"))
        return seen.current().shown_to_clients() if person.is_client else seen

    def shown_to_clients(self) -> Self:
        return self.filter(reading__taken_at__lte=F("reading__exchanger__shown_to_clients__until"))

    def current(self) -> Self:
        """Not superseded, and of a reading that still counts."""
        return self.filter(superseded_at__isnull=True, reading__superseded_at__isnull=True)

    def of_exchanger(self, exchanger_id: object) -> Self:
        return self.filter(reading__exchanger=exchanger_id)

    def latest_taken_first(self) -> Self:
        return self.order_by("-reading__taken_at", "-pk")


class LoopSurveyQuerySet(models.QuerySet["LoopSurvey"]):
    def seen_by(self, person: Person) -> Self:
        """By site; not the client's, who read in a released report what it says."""
        if person.is_office:
            return self
        if person.is_client:
            return self.none()
        return self.filter(visit__site__in=sites_seen_by(person).values("pk"))

    def current(self) -> Self:
        return self.filter(superseded_at__isnull=True)


class GrowthFitQuerySet(models.QuerySet["GrowthFit"]):
    def seen_by(self, person: Person) -> Self:
        """By site; not the client's: it rests on results that no released report stands behind yet."""
        if person.is_office:
            return self
        if person.is_client:
            return self.none()
        return self.filter(exchanger__unit__site__in=sites_seen_by(person).values("pk"))

    def current(self) -> Self:
        return self.filter(superseded_at__isnull=True)
