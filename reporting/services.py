"""What the business does with documents: ask for one, prepare it, release it, withdraw it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person, Units
from contractor.descales.services import certify
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.visits.services import show_clients
from contractor.workqueue import kinds
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics.models import Assessment
from reporting import files, selectors
from reporting.documents import visit_report
from reporting.documents.frame import dated
from reporting.documents.hand import PLAIN, Hand, written_by
from reporting.gathering import changed_since
from reporting.models import Document

VISIT_REPORT = kinds.declare("visit_report", "prepare the visit report of an exchanger as PDF")
declare("document-not-prepared", 409, "Only a prepared document can be released",
        "It was released or withdrawn already; prepare a new one.")  # fmt: skip
declare("document-outdated", 409, "The document no longer tells what is known",
        "Its readings were corrected or assessed again since; prepare a new one.")  # fmt: skip
declare("document-withdrawn", 409, "The document is withdrawn already",
        "A withdrawn document stays withdrawn; prepare a new one.")  # fmt: skip
declare("document-for-the-crew", 409, "A job sheet is not for clients",
        "It stays with the crew; the certificate is what the client gets.")  # fmt: skip
declare("nothing-assessed", 409, "Nothing to report yet",
        "This exchanger has no assessment that stands; post readings first.")  # fmt: skip

Before = Callable[[], None]


class NothingAssessed(Exception):
    """There is no assessment that the document could rest on."""


def request_visit_report(subject: str, paper: str, asked_by: Person | None = None) -> WorkItem:
    """`subject` is the id of an exchanger (its latest assessment) or of an assessment."""
    payload = {"paper": paper, **settings_of(asked_by)}
    return queue(VISIT_REPORT, subject, payload=payload, asked_by=asked_by)


def settings_of(person: Person | None) -> dict[str, str]:
    """The units and decimal mark that a document asked for by this person is written with."""
    return {} if person is None else {"units": person.units, "mark": person.decimal_mark}


def paper_of(person: Person | None) -> str:
    """The paper that pages offer this person first: inch-pound units go with US Letter."""
    return "letter" if person is not None and person.units == Units.INCH_POUND else "a4"


def hand_of(payload: Mapping[str, Any]) -> Hand:
    return Hand(str(payload.get("units", PLAIN.units)), str(payload.get("mark", PLAIN.mark)))


def latest_assessment_of(exchanger_id: UUID) -> Assessment | None:
    return Assessment.objects.current().of_exchanger(exchanger_id).latest_taken_first().first()


def assessment_meant(subject: str) -> Assessment:
    rows = Assessment.objects.select_related(*selectors.WITH_EVERYTHING)
    if subject.isdecimal():
        found = rows.filter(pk=int(subject)).first()
    else:
        found = rows.current().of_exchanger(UUID(subject)).latest_taken_first().first()
    if found is None:
        raise NothingAssessed(subject)
    return found


def prepare_visit_report(
    subject: str, paper: str, *, work_item: WorkItem | None = None, before_writing: Before | None = None,
    hand: Hand = PLAIN,
) -> Document:  # fmt: skip
    """Write the PDF and its row. The same content asked for again gives the document that is there."""
    now = timezone.now()
    assessment = assessment_meant(subject)
    ranking = selectors.ranking_of(assessment.reading)
    with written_by(hand):
        report = selectors.visit_report_of(assessment, ranking)
        content = visit_report.render(report, paper)
    reading = assessment.reading
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        Assessment.objects.select_for_update().get(pk=assessment.pk)  # two workers write one document
        standing = Document.objects.standing().filter(assessment=assessment, ranking=ranking, paper=paper)
        if same := standing.same_as(content):
            files.keep(dated(content, same.prepared_at), "pdf")  # a file that was lost or harmed is mended
            return same
        name, digest = files.keep(dated(content, now), "pdf")
        document = Document(
            kind=VISIT_REPORT,
            site_id=reading.visit.site_id,
            exchanger_id=reading.exchanger_id,
            visit_id=reading.visit_id,
            assessment=assessment,
            ranking=ranking,
            work_item=work_item,
            title=visit_report.title_of(report)[:200],
            paper=paper,
            sha256=digest,
            prepared_at=now,
        )
        document.file.name = name
        document.save()
        return document


@transaction.atomic
def release(document: Document, by: Person, now: datetime) -> Document:
    """Let the client see it. What no longer tells what is known is refused."""
    if document.state != "prepared":
        raise Problem("document-not-prepared", f"This document is {document.state}; prepare a new one.")
    if document.kind == "job_sheet":
        raise Problem("document-for-the-crew")
    if is_outdated(document):
        raise Problem("document-outdated")
    if document.kind == "certificate" and document.descale is not None:
        certify(by, document.descale)
    document.state, document.released_at, document.released_by = "released", now, by
    document.save()
    _show_clients(document)
    return document


@transaction.atomic
def withdraw(document: Document, by: Person, because: str, now: datetime) -> Document:
    """Take it back; the file and the row stay for the record."""
    if document.state == "withdrawn":
        raise Problem("document-withdrawn")
    document.state, document.withdrawn_at, document.withdrawn_by = "withdrawn", now, by
    document.withdrawn_because = because
    document.save()
    _show_clients(document)
    return document


def _show_clients(document: Document) -> None:
    """Readings and assessments follow the reports: shown by the released, taken away by the withdrawn."""
    exchanger = document.exchanger
    if document.kind == VISIT_REPORT and exchanger is not None:
        show_clients(exchanger, lambda: Document.objects.latest_reading_reported(exchanger.pk))


def is_outdated(document: Document) -> bool:
    if document.descale is not None:
        return changed_since(document.descale, document.kind, document.prepared_at)
    assessment, ranking = document.assessment, document.ranking
    if ranking is not None and ranking.superseded_at is not None:
        return True
    return assessment is not None and not assessment.is_current


def file_name_of(document: Document) -> str:
    """A name for the reader's disk: plain letters, told apart by its digest."""
    plain = unicodedata.normalize("NFKD", document.title).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:80].strip("-") or "document"
    return f"{slug}-{document.sha256[:8]}.pdf"
