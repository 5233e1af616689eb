"""Two people at one record: who comes second is told who was first, and decides."""

from __future__ import annotations

from typing import Any

from contractor.http.problems import Problem
from contractor.trail.models import Change


class Versioned:
    """What a form page of an existing row adds: the version it was opened at travels with the form."""

    request: Any
    is_stale = False

    def version_of(self, row: Any) -> str:
        """For the form: as opened; after a refusal the present one, so that saving again is a decision."""
        opened = "" if self.is_stale else self.request.POST.get("version")
        return str(opened or getattr(row, "version", ""))

    def refuse_stale(self, row: Any) -> None:
        if self.request.POST.get("version") != str(row.version):
            self.is_stale = True
            raise Problem("stale", said_of(row))


def said_of(row: Any) -> str:
    rows = Change.objects.filter(table=row._meta.label_lower, row_id=str(row.pk), action="changed")
    last = rows.order_by("-at").first()
    what = ", ".join(name.replace("_", " ") for name in last.fields) if last else ""
    who = f"{last.by} changed {what}" if last and what else "Somebody changed it"
    return (
        f"{who} since you opened this. What you typed is still here: save again to put it in place of that."
    )
