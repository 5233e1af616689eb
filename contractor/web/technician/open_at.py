"""One's own open visits where a unit or an exchanger stands: what another visit refused may go to one."""

from __future__ import annotations

from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.dateformat import format as as_words

from contractor.http.permissions import CREW
from contractor.visits.models import Visit
from contractor.web.page import Page
from contractor.web.technician.selectors import visits_of


class OpenAt(Page):
    may = CREW

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        pk = self.kwargs["pk"]
        there = visits_of(self.person).filter(Q(site__units=pk) | Q(site__units__exchangers=pk)).distinct()
        return JsonResponse({"visits": [{"visit": str(one.pk), "words": words(one)} for one in there]})


def words(visit: Visit) -> str:
    begins = as_words(visit.window_start.astimezone(visit.site.zone), "j F, H:i")
    return f"{visit.site}, {begins}, {visit.reason.replace('_', ' ')}"
