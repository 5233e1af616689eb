"""A site's tags as a PDF to print, cut out and stick on the units."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from contractor.http.permissions import CREW
from contractor.register.models import Site
from contractor.web.page import Page
from reporting.documents import tag_sheet
from reporting.documents.frame import PAPERS, dated


class TagSheet(Page):
    """?paper=letter for the other size; A4 else."""

    may = CREW

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        site = get_object_or_404(Site.objects.seen_by(self.person), pk=self.kwargs["pk"])
        paper = request.GET.get("paper", "a4")
        units = site.units.in_use().order_by("tag", "id")
        tags = [tag_sheet.Tag(unit.tag, unit.place, site.name, self.address_of(unit.tag)) for unit in units]
        content = tag_sheet.render(tags, paper if paper in PAPERS else "a4", settings.CONTRACTOR_NAME)
        answer = HttpResponse(dated(content, timezone.now()), content_type="application/pdf")
        answer["Content-Disposition"] = f'inline; filename="tags-{site.pk}.pdf"'
        return answer

    def address_of(self, code: str) -> str:
        return self.request.build_absolute_uri(reverse("web:scanned-tag", args=[code]))
