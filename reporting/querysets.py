"""Who may see which documents: clients see released ones only."""

from __future__ import annotations

import hashlib
from datetime import datetime
from typing import TYPE_CHECKING, Self
from uuid import UUID

from django.db import models
from django.db.models import Max

from contractor.accounts.models import Person
from contractor.register.querysets import sites_seen_by
from reporting.documents.frame import dated

if TYPE_CHECKING:
    from reporting.models import Document


class DocumentQuerySet(models.QuerySet["Document"]):
    def seen_by(self, person: Person) -> Self:
        """By site; the crew sees what is prepared too."""
        if person.is_office:
            return self
        seen = self.filter(site__in=sites_seen_by(person).values("pk"))
        return seen.released() if person.is_client else seen

    def released(self) -> Self:
        return self.filter(state="released")

    def latest_reading_reported(self, exchanger_id: UUID) -> datetime | None:
        """When the latest reading was taken that a released visit report of the exchanger covers."""
        reports = self.released().filter(kind="visit_report", exchanger=exchanger_id)
        latest: datetime | None = reports.aggregate(latest=Max("assessment__reading__taken_at"))["latest"]
        return latest

    def standing(self) -> Self:
        """Prepared or released."""
        return self.exclude(state="withdrawn")

    def same_as(self, undated: bytes) -> Document | None:
        """The one whose file is these bytes, but for the moment that each says it was prepared."""
        for one in self:
            if hashlib.sha256(dated(undated, one.prepared_at)).hexdigest() == one.sha256:
                return one
        return None
