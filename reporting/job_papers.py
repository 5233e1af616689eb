"""A descale's papers: asked for and prepared. Released and withdrawn as every document."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.descales.services import batches_of, current_plan
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.workqueue import kinds
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from reporting import files, gathering
from reporting.documents import certificate, client_notice, job_sheet
from reporting.documents.frame import dated
from reporting.documents.hand import PLAIN, Hand, written_by
from reporting.models import DESCALE_KINDS, Document
from reporting.services import settings_of

DESCALE_PAPER = kinds.declare(
    "descale_paper", "prepare a job sheet, certificate or notice of a descale as PDF"
)
declare(
    "nothing-to-print",
    409,
    "There is nothing to print yet",
    "A job sheet needs a plan that stands, a notice one that was given, a certificate acid that went in.",
)

Before = Callable[[], None]
Rendered = tuple[bytes, str]


def request_paper(kind: str, descale: Descale, paper: str, asked_by: Person | None = None) -> WorkItem:
    """Queue one of `DESCALE_KINDS`; refused where there is nothing to print yet."""
    if lacks := what_lacks(kind, descale):
        raise Problem("nothing-to-print", lacks)
    return queue(
        DESCALE_PAPER,
        str(descale.pk),
        payload={"kind": kind, "paper": paper, **settings_of(asked_by)},
        asked_by=asked_by,
    )


def what_lacks(kind: str, descale: Descale) -> str:
    """Why this paper cannot be printed yet; "" where it can."""
    assert kind in DESCALE_KINDS
    if kind == "job_sheet":
        plan = current_plan(descale)
        return "" if plan is not None and plan.stands else "This descale has no plan that stands."
    if kind == "notice":
        return "" if descale.notices.exists() else "No notice was given."
    return "" if batches_of(descale) else "No acid went in, as far as is on record."


def rendered(kind: str, descale: Descale, paper: str) -> Rendered:
    """The PDF and its title."""
    if lacks := what_lacks(kind, descale):
        raise Problem("nothing-to-print", lacks)
    if kind == "job_sheet":
        plan = current_plan(descale)
        assert plan is not None
        sheet = gathering.job_sheet_of(descale, plan)
        return job_sheet.render(sheet, paper), job_sheet.title_of(sheet)
    if kind == "notice":
        notice = gathering.notice_of(descale)
        assert notice is not None
        return client_notice.render(notice, paper), client_notice.title_of(notice)
    facts = gathering.certificate_of(descale)
    return certificate.render(facts, paper), certificate.title_of(facts)


def prepare_paper(
    descale_id: UUID, kind: str, paper: str,
    *, work_item: WorkItem | None = None, before_writing: Before | None = None, hand: Hand = PLAIN,
) -> Document:  # fmt: skip
    """Write the PDF and its row. The same content asked for again gives the document that is there."""
    now = timezone.now()
    descale = Descale.objects.select_related(*gathering.WITH_EVERYTHING).get(pk=descale_id)
    with written_by(hand):
        content, title = rendered(kind, descale, paper)
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        Descale.objects.select_for_update().get(pk=descale_id)  # two workers write one document
        standing = Document.objects.standing().filter(descale=descale, kind=kind, paper=paper)
        if same := standing.same_as(content):
            files.keep(dated(content, same.prepared_at), "pdf")  # a file that was lost or harmed is mended
            return same
        name, digest = files.keep(dated(content, now), "pdf")
        document = Document(
            kind=kind, descale=descale, site_id=descale.exchanger.unit.site_id,
            exchanger_id=descale.exchanger_id, visit_id=descale.visit_id, work_item=work_item,
            title=title[:200], paper=paper, sha256=digest, prepared_at=now,
        )  # fmt: skip
        document.file.name = name
        document.save()
        return document
