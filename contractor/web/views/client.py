from __future__ import annotations

from typing import Any

from contractor.http.permissions import EVERYONE
from contractor.register.models import Site
from contractor.web.page import Page

CLIENT = EVERYONE - {"technician", "office", "owner"}


class Sites(Page):
    may = CLIENT
    template = "web/client/sites.html"

    def context(self) -> dict[str, Any]:
        return {"title": "Your sites", "sites": Site.objects.in_use().seen_by(self.person)}
