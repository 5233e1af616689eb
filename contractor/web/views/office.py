"""The office's first page, and the way to everything it keeps."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from contractor.accounts import services
from contractor.accounts.models import Person
from contractor.http.permissions import OFFICE, OWNER
from contractor.web.attention import matters
from contractor.web.page import Deed, Page
from contractor.web.records.kinds import KINDS
from contractor.web.tasks import PASSWORD_LETTER
from contractor.workqueue.services import queue


class ToDo(Page):
    """What needs the office's attention, most pressing first."""

    may = OFFICE
    template = "web/office/to_do.html"

    def context(self) -> dict[str, Any]:
        only = self.request.GET.get("only", "")
        return {"title": "To do", "matters": matters(timezone.now(), only), "only": only}


class Register(Page):
    may = OFFICE
    template = "web/office/register.html"

    def context(self) -> dict[str, Any]:
        kinds = [(kind, reverse(f"web:{kind.slug}-list")) for kind in KINDS.values() if kind.listed]
        return {"title": "Register", "kinds": kinds}


class OfPerson:
    def other(self) -> Person:
        return get_object_or_404(Person, pk=self.kwargs["pk"])  # type: ignore[attr-defined]

    def back(self) -> str:
        return reverse("web:people-show", args=[self.kwargs["pk"]])  # type: ignore[attr-defined]


class SendPasswordLetter(OfPerson, Deed):
    may = OWNER
    done = "A letter with a link to set a password is on its way."

    def carry_out(self) -> str:
        site = self.request.build_absolute_uri("/")
        queue(PASSWORD_LETTER, str(self.other().pk), payload={"site": site}, asked_by=self.person)
        return self.back()


class PasswordLink(OfPerson, Page):
    """The link on the screen, to hand over where no letter arrives. It is shown once and stored nowhere."""

    may = OWNER
    template = "web/office/password_link.html"
    http_method_names = ["post", "options"]

    def post(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        person = self.other()
        path = reverse("web:set-password", args=[services.password_link_secret(person)])
        context = {
            "title": f"A link for {person}", "link": request.build_absolute_uri(path), "back": self.back(),
            "days": settings.PASSWORD_RESET_TIMEOUT // 86400,
        }  # fmt: skip
        return render(request, self.template, context)


class EndSignIns(OfPerson, Deed):
    may = OWNER
    done = "Every phone, program and browser of this person is signed out."

    def carry_out(self) -> str:
        services.end_every_sign_in(self.other(), timezone.now())
        return self.back()
