"""Who may see which documents: clients see released ones only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from django.db import models

from contractor.accounts.models import Person
from contractor.register.querysets import sites_seen_by

if TYPE_CHECKING:
    from reporting.models import Document  # noqa: F401


class DocumentQuerySet(models.QuerySet["Document"]):
    def seen_by(self, person: Person) -> Self:
        """By site; the crew sees what is prepared too."""
        if person.is_office:
            return self
        seen = self.filter(site__in=sites_seen_by(person).values("pk"))
        return seen.released() if person.is_client else seen

    def released(self) -> Self:
        return self.filter(state="released")

    def standing(self) -> Self:
        """Prepared or released."""
        return self.exclude(state="withdrawn")
