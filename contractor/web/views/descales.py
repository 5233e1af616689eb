"""Descales for the office: what waits for a price, a yes, a notice; held waste; the certificate."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from contractor.descales import services
from contractor.descales.models import Check, Descale, DescalePlan, Discharge, HeldWaste, Look
from contractor.descales.planning import Asked
from contractor.descales.services.rules import PLAN, PROVE
from contractor.descales.states import BEFORE_ACID, OPEN, STATES, moves_from
from contractor.http.permissions import OFFICE
from contractor.http.problems import Problem
from contractor.register.models import Rig
from contractor.web.forms.descales import (
    AboutForm,
    CollectedForm,
    ConsentForm,
    NoticeForm,
    PriceForm,
    RecommendForm,
)
from contractor.web.forms.planning import PlanForm
from contractor.web.forms.visits import ReasonForm
from contractor.web.page import Deed, FormPage, Page
from contractor.web.proofs import proof_of
from contractor.web.records.forms import pk_of
from contractor.web.records.views import file_of
from contractor.workqueue.models import WorkItem
from reporting import job_papers
from reporting.job_papers import DESCALE_PAPER, what_lacks
from reporting.models import DESCALE_KINDS, PAPERS, Document

AT_MOST = 200
PAPER_WORDS = {
    "job_sheet": "Have the job sheet made",
    "notice": "Have the notice made",
    "certificate": "Have the certificate made",
}
UNDER_WAY = (WorkItem.State.WAITING, WorkItem.State.RUNNING)
DEEDS = {
    "priced": ("price", "Name a price"),
    "agreed": ("consent", "Record the customer's yes"),
    "noticed": ("notice", "Give notice to the client"),
    "called_off": ("call-off", "Call it off"),
}
AGAIN = {"priced": "Name another price", "agreed": "Record another yes", "noticed": "Give notice anew"}
WITH_PLACE = ("exchanger__unit__site__customer", "visit", "recommended_by")


class Descales(Page):
    may = OFFICE
    template = "web/office/descales.html"

    def context(self) -> dict[str, Any]:
        rows = Descale.objects.seen_by(self.person).select_related(*WITH_PLACE)
        waste = HeldWaste.objects.seen_by(self.person).still_there()
        return {
            "title": "Descales", "open": rows.filter(state__in=OPEN)[:AT_MOST],
            "over": rows.exclude(state__in=OPEN)[:50],
            "strainers": services.strainers_due(self.person, timezone.now())[:AT_MOST],
            "waste": waste.select_related("descale__exchanger__unit__site")[:AT_MOST],
        }  # fmt: skip


class Recommend(FormPage):
    may = OFFICE
    form_class = RecommendForm
    title = "Recommend a descale"
    send_label = "Recommend it"
    done = "Recommended. It now waits for a price."

    def initial(self) -> dict[str, Any]:
        return {"exchanger": pk_of(self.request.GET.get("exchanger"))}

    def context(self) -> dict[str, Any]:
        return {"back": reverse("web:descales")}

    def carry_out(self, form: RecommendForm) -> str:
        given = form.cleaned_data
        descale = services.recommend(self.person, given["exchanger"], given["because"])
        return reverse("web:descale", args=[descale.pk])


class OfDescale:
    def descale(self) -> Descale:
        if not hasattr(self, "_descale"):
            rows = Descale.objects.seen_by(self.request.user).select_related(*WITH_PLACE)  # type: ignore[attr-defined]
            self._descale: Descale = get_object_or_404(rows, pk=self.kwargs["pk"])  # type: ignore[attr-defined]
        return self._descale

    def zone(self) -> ZoneInfo:
        return self.descale().exchanger.unit.site.zone

    def back(self) -> str:
        return reverse("web:descale", args=[self.kwargs["pk"]])  # type: ignore[attr-defined]


def deeds_of(row: Descale, ends: set[str]) -> list[Any]:
    """What may be decided now: where, in which words, and whether it leads on. A yes that is still missing
    may be recorded even once acid is in."""
    if row.state == "acid_in" and not hasattr(row, "consent"):
        ends = ends | {"agreed"}
    if row.state == "called_off":
        return []
    found = [(*DEEDS[end], end != "called_off") for end in DEEDS if end in ends and end != row.state]
    if row.state in AGAIN:
        found.append((DEEDS[row.state][0], AGAIN[row.state], False))
    return found


class ShowDescale(OfDescale, Page):
    may = OFFICE
    template = "web/office/descale.html"

    def context(self) -> dict[str, Any]:
        row = self.descale()
        ends = {move.end for move in moves_from(row.state) if not move.irregular} | {row.state}
        return {
            "title": f"Descale of {row.exchanger}", "descale": row, "meaning": STATES[row.state],
            "deeds": deeds_of(row, ends),
            "prices": row.prices.select_related("by"), "consent": getattr(row, "consent", None),
            "nobody_signs_in": "" if services.people_told(row.exchanger.unit.site) else services.NOBODY,
            "notices": row.notices.all(), "plan": services.current_plan(row),
            "lacks": services.not_yet_certifiable(row) if row.state == "proved" else [],
            "may_prove": row.state in services.PROVABLE, **proof_of(row),
            "checks": Check.objects.filter(descale=row).select_related("by"),
            "batches": services.batches_of(row),
            "looks": Look.objects.filter(descale=row).select_related("photo"),
            "discharges": Discharge.objects.filter(descale=row).select_related("acceptance_read_by"),
            "waste": HeldWaste.objects.filter(descale=row), **planning(row),
        }  # fmt: skip


def planning(descale: Descale) -> dict[str, Any]:
    """The last plan with what stands against it, work that is under way, and the papers there are."""
    last = DescalePlan.objects.current().filter(descale=descale).select_related("cleaner", "rig").first()
    work = WorkItem.objects.filter(kind__in=(PLAN, PROVE, DESCALE_PAPER), subject=str(descale.pk))
    return {
        "last_plan": last,
        "may_plan": descale.state in BEFORE_ACID,
        "under_way": [item for item in work[:5] if item.state in UNDER_WAY],
        "failed": [item for item in work[:1] if item.state == WorkItem.State.FAILED],
        "printable": [(kind, PAPER_WORDS[kind]) for kind in PAPER_WORDS if not what_lacks(kind, descale)],
        "papers": Document.objects.filter(descale=descale).exclude(state="withdrawn"),
    }


class Decide(OfDescale, FormPage):
    may = OFFICE

    def form_options(self) -> dict[str, Any]:
        return {"mark": self.person.decimal_mark}

    def context(self) -> dict[str, Any]:
        return {"title": f"{self.title}: {self.descale().exchanger}", "back": self.back()}

    def carry_out(self, form: Any) -> str:
        self.decide(self.descale(), form.cleaned_data)
        return self.back()

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        raise NotImplementedError


class About(Decide):
    """The visit it is booked on, and the piping: what the phone goes by."""

    form_class = AboutForm
    title = "Visit and piping"
    send_label = "Keep it"
    done = "It is on record."

    def form_options(self) -> dict[str, Any]:
        return {**super().form_options(), "site": self.descale().exchanger.unit.site}

    def initial(self) -> dict[str, Any]:
        row = self.descale()
        return {"visit": row.visit_id, "strainer_inside_valves": row.strainer_inside_valves,
                "vent_at_both_tops": row.vent_at_both_tops}  # fmt: skip

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        services.change_descale(self.person, descale, given)


class Choose(OfDescale, Page):
    """Which sheets fit, mild before strong, what each would take, and why the others are refused."""

    may = OFFICE
    template = "web/office/choose_cleaner.html"

    def context(self) -> dict[str, Any]:
        row = self.descale()
        rigs = list(Rig.objects.seen_by(self.person).in_use().order_by("name"))
        booked = list(row.visit.rigs.all()) if row.visit else []
        wanted = pk_of(self.request.GET.get("rig"))
        rig = next((one for one in rigs if one.pk == wanted), next(iter([*booked, *rigs]), None))
        found = services.choose_cleaner(self.person, row, rig, Asked(), timezone.now()) if rig else []
        common, refused = against(found)
        return {
            "title": f"Which cleaner: {row.exchanger}", "descale": row, "rigs": rigs, "rig": rig,
            "fit": [one for one in found if not one.refusals],
            "refused": refused, "against_all": common,
            "expected": services.deposit_expected(self.person, row),
        }  # fmt: skip


def against(found: Sequence[services.Choice]) -> tuple[list[str], list[dict[str, Any]]]:
    """What refuses every cleaner, told once; and each refused one with what stands against it alone."""
    told = [[each.words for each in one.refusals] for one in found]
    common = [words for words in told[0] if all(words in one for one in told)] if told else []
    refused = [
        {"cleaner": one.cleaner, "own": [words for words in said if words not in common]}
        for one, said in zip(found, told, strict=True) if said
    ]  # fmt: skip
    return common, refused


class NamePrice(Decide):
    form_class = PriceForm
    title = "Name a price"
    done = "The price is on record; it now waits for the customer's yes."

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        services.state_price(self.person, descale, given, timezone.now())


class RecordConsent(Decide):
    form_class = ConsentForm
    title = "The customer's yes"
    done = "The yes is on record; it can be planned."

    def form_options(self) -> dict[str, Any]:
        return {**super().form_options(), "zone": self.zone()}

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        services.record_consent(self.person, descale, given)


class Plan(Decide):
    """Refused with every reason at once; else a worker makes it, and the descale's page follows."""

    form_class = PlanForm
    title = "Plan the descale"
    intro = "What is unsafe is refused, with every reason. A plan is no permit: local rules stand above it."
    send_label = "Have it planned"
    done = "A worker makes the plan."

    def form_options(self) -> dict[str, Any]:
        return {**super().form_options(), "zone": self.zone(), "units": self.person.units}

    def initial(self) -> dict[str, Any]:
        """What the visit says, and what an earlier plan was asked with."""
        row = self.descale()
        rigs = list(row.visit.rigs.all()[:1]) if row.visit else []
        found: dict[str, Any] = {"rig": rigs[0].pk if rigs else None}
        if last := DescalePlan.objects.current().filter(descale=row).first():
            asked = PlanForm.of(Asked.of_json(last.asked), self.person.units)
            found |= {**asked, "cleaner": last.cleaner_id, "rig": last.rig_id}
        starts_at = row.visit.window_start.astimezone(self.zone()) if row.visit else None
        return {**found, "starts_at": starts_at}

    def carry_out(self, form: PlanForm) -> str:
        given = form.cleaned_data
        services.request_plan(
            self.person, self.descale(), given["cleaner"], given["rig"], form.asked(), timezone.now()
        )
        return self.back()


class AskForPaper(OfDescale, Deed):
    """Job sheet, notice or certificate as PDF, prepared by a worker."""

    may = OFFICE
    done = "A worker prepares it; it then waits under documents to be released."

    def carry_out(self) -> str:
        kind, paper = self.request.POST.get("kind", ""), self.request.POST.get("paper", "a4")
        if kind not in DESCALE_KINDS:
            raise Problem("invalid", f"There is no such paper; expected one of {', '.join(DESCALE_KINDS)}.")
        job_papers.request_paper(kind, self.descale(), paper if paper in PAPERS else "a4", self.person)
        return self.back()


class GiveNotice(Decide):
    form_class = NoticeForm
    title = "Notice to the client"
    intro = "The client reads this: when, for how long, with what, how loud, who else stands still."
    send_label = "Give notice"
    done = "The client can read the notice."

    def form_options(self) -> dict[str, Any]:
        return {**super().form_options(), "zone": self.zone()}

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        services.give_notice(self.person, descale, given, timezone.now())


class CallOffDescale(Decide):
    form_class = ReasonForm
    title = "Call off the descale"
    send_label = "Call it off"
    done = "It is called off."

    def decide(self, descale: Descale, given: dict[str, Any]) -> None:
        services.call_off(self.person, descale, given["reason"], timezone.now())


class Prove(OfDescale, Deed):
    """The last readings before and the first after, judged together by a worker."""

    may = OFFICE
    done = "A worker judges the readings after with those before."

    def carry_out(self) -> str:
        services.request_proof(self.person, self.descale())
        return self.back()


class Certify(OfDescale, Deed):
    may = OFFICE
    done = "Certified."

    def carry_out(self) -> str:
        services.certify(self.person, self.descale())
        return self.back()


class KeepAcceptance(Deed):
    """What works or authority wrote for one discharge, as a file."""

    may = OFFICE
    done = "It is on file, and the discharge is judged with it."

    def row(self) -> Discharge:
        return get_object_or_404(Discharge.objects.seen_by(self.person), pk=self.kwargs["pk"])

    def back(self) -> str:
        return reverse("web:descale", args=[self.row().descale_id])

    def until(self) -> date | None:
        text = self.request.POST.get("until", "").strip()
        try:
            return date.fromisoformat(text) if text else None
        except ValueError:
            raise Problem("invalid", f"{text} is not a day; expected one such as 2027-03-31.") from None

    def carry_out(self) -> str:
        services.attach_acceptance(self.person, self.row(), file_of(self.request), self.until())
        return self.back()


class Collected(FormPage):
    may = OFFICE
    form_class = CollectedForm
    title = "Held waste is collected"
    done = "It is on record who fetched it."

    def context(self) -> dict[str, Any]:
        return {"back": reverse("web:descales")}

    def carry_out(self, form: CollectedForm) -> str:
        waste = get_object_or_404(HeldWaste.objects.seen_by(self.person), pk=self.kwargs["pk"])
        services.waste_collected(self.person, waste, form.cleaned_data["who"], timezone.now())
        return reverse("web:descale", args=[waste.descale_id])
