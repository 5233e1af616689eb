"""Documents for the office: read, release, withdraw, send; ask for a report."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from contractor.descales.services import people_told
from contractor.http.permissions import OFFICE
from contractor.http.problems import Problem
from contractor.register.models import Exchanger
from contractor.web.forms.visits import ReasonForm, SendForm
from contractor.web.page import Deed, FormPage, Page
from reporting import sending, services
from reporting.models import PAPERS, STATES, Document


class Documents(Page):
    may = OFFICE
    template = "web/office/documents.html"

    def context(self) -> dict[str, Any]:
        state = self.request.GET.get("state", "")
        rows = (
            Document.objects.seen_by(self.person)
            .select_related("site__customer")
            .order_by("-prepared_at", "id")
        )
        if state in STATES:
            rows = rows.filter(state=state)
        page = Paginator(rows, 50).get_page(self.request.GET.get("page"))
        return {"title": "Documents", "rows": page, "state": state, "states": STATES}


class OfDocument:
    def document(self) -> Document:
        if not hasattr(self, "_document"):
            rows = Document.objects.seen_by(self.request.user)  # type: ignore[attr-defined]
            rows = rows.select_related(
                "site__customer", "assessment__reading", "exchanger__unit", "released_by"
            )
            self._document: Document = get_object_or_404(rows, pk=self.kwargs["pk"])  # type: ignore[attr-defined]
        return self._document

    def back(self) -> str:
        return reverse("web:document", args=[self.kwargs["pk"]])  # type: ignore[attr-defined]


class ShowDocument(OfDocument, Page):
    may = OFFICE
    template = "web/office/document.html"

    def context(self) -> dict[str, Any]:
        document = self.document()
        return {"title": document.title, "document": document, "outdated": services.is_outdated(document)}


class Release(OfDocument, Deed):
    may = OFFICE
    done = "Released: the client sees it now."

    def carry_out(self) -> str:
        services.release(self.document(), self.person, timezone.now())
        return self.back()


class Withdraw(OfDocument, FormPage):
    may = OFFICE
    form_class = ReasonForm
    send_label = "Withdraw it"
    intro = "The client sees it no more. The file and who had released it stay on record."
    done = "The document is withdrawn."

    def context(self) -> dict[str, Any]:
        return {"title": f"Withdraw {self.document().title}", "back": self.back()}

    def carry_out(self, form: ReasonForm) -> str:
        services.withdraw(self.document(), self.person, form.cleaned_data["reason"], timezone.now())
        return self.back()


class Send(OfDocument, FormPage):
    may = OFFICE
    form_class = SendForm
    send_label = "Send it"
    done = "It is on its way. A letter that fails stands under background work."

    def initial(self) -> dict[str, Any]:
        site = self.document().site
        found = [site.customer.email, *people_told(site)]
        return {"to": ", ".join(dict.fromkeys(address for address in found if address))}

    def context(self) -> dict[str, Any]:
        return {"title": f"Send {self.document().title}", "back": self.back()}

    def carry_out(self, form: SendForm) -> str:
        sending.send(self.document(), form.cleaned_data["to"], form.cleaned_data["note"], self.person)
        return self.back()


class AskForReport(Deed):
    """A report of the exchanger's latest assessment, prepared by a worker."""

    may = OFFICE
    done = "A worker prepares the report; it then waits under documents to be released."

    def exchanger(self) -> Exchanger:
        return get_object_or_404(Exchanger.objects.seen_by(self.person), pk=self.kwargs["pk"])

    def back(self) -> str:
        return reverse("web:exchangers-show", args=[self.kwargs["pk"]])

    def carry_out(self) -> str:
        exchanger, paper = self.exchanger(), self.request.POST.get("paper", "a4")
        if services.latest_assessment_of(exchanger.pk) is None:
            raise Problem("nothing-assessed")
        services.request_visit_report(str(exchanger.pk), paper if paper in PAPERS else "a4", self.person)
        return self.back()
