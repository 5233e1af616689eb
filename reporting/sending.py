"""Documents sent by e-mail by a worker: a released one to whom the office names, a notice to the client's."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage
from django.core.validators import validate_email
from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.descales.models import Notice
from contractor.descales.services import email_notice, people_told
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.trail.models import Change
from contractor.trail.tracked import leave_change
from contractor.workqueue import kinds
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from reporting import files
from reporting.documents.hand import PLAIN, Hand
from reporting.job_papers import prepare_paper
from reporting.models import Document
from reporting.services import file_name_of, is_outdated, release

SEND_DOCUMENT = kinds.declare("send_document", "send a released document by e-mail")
MOST_ADDRESSES = 10
declare("document-not-released", 409, "Only a released document is sent",
        "Read it, release it, then send it.")  # fmt: skip


@transaction.atomic
def send(document: Document, to: str, note: str, by: Person) -> WorkItem:
    """`to` holds addresses with commas or spaces between. Who asked, and to whom, stays on record."""
    if document.state != "released":
        raise Problem("document-not-released")
    addresses = addresses_in(to)
    leave_change("reporting.document", document.pk, Change.Action.CHANGED, {"sent_to": [None, addresses]})
    payload = {"to": addresses, "note": note, "reply_to": by.email}
    return queue(SEND_DOCUMENT, str(document.pk), payload=payload, asked_by=by)


def addresses_in(text: str) -> list[str]:
    found = [part for part in re.split(r"[\s,;]+", text) if part]
    if not 1 <= len(found) <= MOST_ADDRESSES:
        raise _refused(f"Give from 1 to {MOST_ADDRESSES} e-mail addresses.")
    for address in found:
        try:
            validate_email(address)
        except ValidationError:
            raise _refused(f"{address!r} is not an e-mail address.") from None
    return found


def _refused(words: str) -> Problem:
    return Problem("invalid", words, errors=[{"pointer": "/to", "detail": words}])


def letter(document: Document, to: Sequence[str], note: str, reply_to: str, content: bytes) -> EmailMessage:
    words = f"{note.strip()}\n\n" if note.strip() else ""
    body = f"{words}{document.title}\n\nThe document is attached.\n\n{settings.CONTRACTOR_NAME}\n"
    message = EmailMessage(
        document.title.replace("\n", " "), body, settings.DEFAULT_FROM_EMAIL, list(to), reply_to=[reply_to]
    )
    message.attach(file_name_of(document), content, "application/pdf")
    return message


class NotSent(Exception):
    """Why it was not sent, in words."""


def carry_out(document_id: str, to: Sequence[str], note: str, reply_to: str) -> None:
    document = Document.objects.get(pk=document_id)
    if document.state != "released":
        raise NotSent(f"The document is {document.state} now; only a released one is sent.")
    content = files.read_checked(str(document.file.name), document.sha256)
    if content is None:
        raise NotSent("The file is gone from the disk or no longer what was kept; prepare it again.")
    letter(document, to, note, reply_to, content).send()


def send_notice(
    notice_id: UUID, before_sending: Callable[[], None], hand: Hand = PLAIN, paper: str = "a4"
) -> list[str]:
    """E-mail a notice to the client's people who see the site, its paper going along and released."""
    notice = Notice.objects.select_related("by", "descale__exchanger__unit__site").get(pk=notice_id)
    now = timezone.now()
    if notice.emailed_at is not None or not people_told(notice.descale.exchanger.unit.site):
        return []
    document = prepare_paper(notice.descale_id, "notice", paper, hand=hand)
    content = files.read_checked(str(document.file.name), document.sha256)
    if content is None:
        raise NotSent("The notice's file is gone from the disk or no longer what was kept; prepare it again.")
    file = (file_name_of(document), content, "application/pdf")
    told = email_notice(notice_id, now, before_sending, file)
    if told and document.state == "prepared" and not is_outdated(document):
        release(document, notice.by, now)
    return told
