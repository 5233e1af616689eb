"""What the queue may ask of this room: to prepare a document, to send one, to send a notice."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from contractor.descales.models import Notice
from contractor.descales.services import CERTIFIED, NOTICE
from contractor.http.problem_types import type_address
from contractor.http.problems import Problem
from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from reporting import job_papers, sending, services
from reporting.models import PAPERS, Document


@handles(services.VISIT_REPORT)
def visit_report(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    paper = str(item.payload.get("paper", "a4"))
    if paper not in PAPERS:
        expected = " or ".join(PAPERS)
        raise WorkRefused("about:blank", "Unknown paper", f"{paper!r} is not a paper; expected {expected}.")
    try:
        document = services.prepare_visit_report(
            item.subject,
            paper,
            work_item=item,
            before_writing=progress.still_ours,
            hand=services.hand_of(item.payload),
        )
    except services.NothingAssessed:
        raise WorkRefused(
            "/api/v1/problems/nothing-assessed/",
            "Nothing to report yet",
            f"There is no assessment that stands for {item.subject}.",
        ) from None
    return told(document)


@handles(job_papers.DESCALE_PAPER)
def descale_paper(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    kind, paper = str(item.payload["kind"]), str(item.payload.get("paper", "a4"))
    try:
        document = job_papers.prepare_paper(
            UUID(item.subject),
            kind,
            paper,
            work_item=item,
            before_writing=progress.still_ours,
            hand=services.hand_of(item.payload),
        )
    except Problem as problem:
        raise WorkRefused(
            "/api/v1/problems/nothing-to-print/", "Nothing to print yet", str(problem.detail)
        ) from None
    return told(document)


@handles(CERTIFIED)
def certificate_of_descale(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    """Of a descale that became certified: in the paper and units of who certified it."""
    try:
        document = job_papers.prepare_paper(
            UUID(item.subject), "certificate", services.paper_of(item.asked_by), work_item=item,
            before_writing=progress.still_ours, hand=services.hand_of(services.settings_of(item.asked_by)),
        )  # fmt: skip
    except Problem as problem:
        raise WorkRefused(
            "/api/v1/problems/nothing-to-print/", "Nothing to print yet", str(problem.detail)
        ) from None
    return told(document)


def told(document: Document) -> dict[str, Any]:
    address = f"/api/v1/documents/{document.pk}/"
    return {
        "document": str(document.pk),
        "address": address,
        "file": f"{address}file/",
        "sha256": document.sha256,
    }


@handles(sending.SEND_DOCUMENT)
def send_document(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    to = [str(address) for address in item.payload["to"]]
    try:
        sending.carry_out(item.subject, to, str(item.payload["note"]), str(item.payload["reply_to"]))
    except sending.NotSent as exc:
        raise WorkRefused("about:blank", "Not sent", str(exc)) from None
    return {"document": item.subject, "to": to}


@handles(NOTICE)
def send_notice(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    hand = services.hand_of(services.settings_of(item.asked_by))
    try:
        paper = services.paper_of(item.asked_by)
        told = sending.send_notice(UUID(item.subject), progress.still_ours, hand, paper)
    except Notice.DoesNotExist:
        raise WorkRefused(
            type_address("gone"), "It is not there", f"There is no notice {item.subject}."
        ) from None
    except sending.NotSent as exc:
        raise WorkRefused("about:blank", "Not sent", str(exc)) from None
    return {"told": len(told)}
