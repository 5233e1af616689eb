from __future__ import annotations

from typing import Any

from django.utils import timezone

from contractor.http.permissions import OFFICE
from contractor.visits.models import Visit
from contractor.web.page import Page


class ToDo(Page):
    """What needs the office's attention, most pressing first."""

    may = OFFICE
    template = "web/office/to_do.html"

    def context(self) -> dict[str, Any]:
        now = timezone.now()
        overdue = Visit.objects.overdue(now).select_related("site").order_by("window_end")
        return {"title": "To do", "overdue": overdue[:50]}


class Search(Page):
    may = OFFICE
    template = "web/office/search.html"

    def context(self) -> dict[str, Any]:
        return {"title": "Search"}
