"""Background work: how the queue stands, what failed and why, and another try."""

from __future__ import annotations

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse

from contractor.http.permissions import OFFICE
from contractor.http.problems import Problem
from contractor.web.page import Deed, Page
from contractor.web.subjects import subjects_of
from contractor.workqueue import services
from contractor.workqueue.kinds import DECLARED
from contractor.workqueue.models import WorkItem
from contractor.workqueue.sweeping import counts_now

AT_MOST = 100


class Work(Page):
    may = OFFICE
    template = "web/office/work.html"

    def context(self) -> dict[str, Any]:
        rows = WorkItem.objects.seen_by(self.person).select_related("asked_by")
        open_rows = rows.filter(state__in=["waiting", "running"]).order_by("due_at")[:AT_MOST]
        failed = rows.filter(state="failed").order_by("-finished_at")[:AT_MOST]
        done = rows.filter(state="done").order_by("-created_at")[:10]
        parts = [("Failed", list(failed)), ("Waiting or running", list(open_rows)), ("Done last", list(done))]
        about = subjects_of([item for _, items in parts for item in items])
        told = [
            (name, [(item, DECLARED.get(item.kind, item.kind), about.get(item.subject)) for item in items])
            for name, items in parts
        ]
        return {"title": "Background work", "counts": counts_now(), "parts": told}


class Retry(Deed):
    may = OFFICE
    done = "It is tried again."

    def back(self) -> str:
        return reverse("web:work")

    def carry_out(self) -> str:
        item = get_object_or_404(WorkItem.objects.seen_by(self.person), pk=self.kwargs["pk"])
        if item.state != WorkItem.State.FAILED:
            raise Problem(
                "work-not-failed", f"This work is {item.state}; only failed work can be tried again."
            )
        services.retry(item)
        return self.back()
