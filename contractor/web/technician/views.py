from __future__ import annotations

from typing import Any

from contractor.http.permissions import CREW
from contractor.visits.models import Visit
from contractor.web.page import Page


class Visits(Page):
    """One's own open visits, the next one first."""

    may = CREW
    template = "web/technician/visits.html"

    def context(self) -> dict[str, Any]:
        visits = Visit.objects.open().of_crew(self.person).select_related("site", "site__customer")
        return {"title": "Your visits", "visits": visits.order_by("window_start")[:50]}
