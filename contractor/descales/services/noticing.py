"""A notice by e-mail: to the client's people who see the site, with label and safety data sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.mail import EmailMessage
from django.db import transaction

from contractor.descales.models import Notice
from contractor.register.models import Cleaner, ClientAccess, Site
from contractor.register.papers import MEDIA_TYPES
from contractor.register.services import rows

NOBODY = "Nobody of the client signs in here: the office tells them itself."
PAPERS = ("label", "safety_sheet")
Attachment = tuple[str, bytes, str]
"""Name, content and media type."""


def people_told(site: Site) -> list[str]:
    """Addresses of the client's people who see this site."""
    return sorted(set(ClientAccess.objects.to_site(site).values_list("person__email", flat=True)))


def email_notice(
    notice_id: Any, now: datetime, before_sending: Callable[[], None], paper: Attachment | None = None
) -> list[str]:
    """Send it once and record to whom; a second delivery of the same work sends nothing.

    `paper` is the notice as a file, which goes along.
    """
    with transaction.atomic():
        notice = Notice.objects.select_for_update().get(pk=notice_id)
        addresses = people_told(notice.descale.exchanger.unit.site)
        if notice.emailed_at is not None or not addresses:
            return []
        told = "; ".join(filter(None, [notice.sent_to, f"by e-mail: {', '.join(addresses)}"]))
        rows.change(notice, {"emailed_at": now, "sent_to": told[:1000]})
        before_sending()
        letter_of(notice, addresses, [*([paper] if paper else []), *papers_of(notice.cleaner)]).send()
    return addresses


def letter_of(notice: Notice, addresses: list[str], papers: Sequence[Attachment]) -> EmailMessage:
    unit = notice.descale.exchanger.unit
    subject = " ".join(f"Descaling at {unit.site.name}: {unit.tag}".split())
    letter = EmailMessage(subject=subject, body=words_of(notice, papers), bcc=addresses)
    for name, content, media in papers:
        letter.attach(name, content, media)
    return letter


def words_of(notice: Notice, papers: Sequence[Attachment]) -> str:
    site = notice.descale.exchanger.unit.site
    starts = notice.work_starts_at.astimezone(site.zone)
    sheets = any(True for _ in papers_of(notice.cleaner))
    attached = ", ".join(name for name, _, _ in papers) or "nothing"
    asked = "" if sheets else "; the cleaner's sheets are not on file, ask the office for them"
    return (
        f"Unit {notice.descale.exchanger.unit.tag} at {site.name} will be descaled.\n\n"
        f"Work starts: {starts:%Y-%m-%d %H:%M} ({site.time_zone})\n"
        f"Hours without cooling or heating: {notice.hours_without_cooling:g}\n"
        f"Chemical: {notice.chemical}\nNoise: {notice.noise}\n"
        f"Other units that stand still: {notice.others_affected}\n"
        f"Attached: {attached}{asked}\n"
    )


def papers_of(cleaner: Cleaner | None) -> Iterator[Attachment]:
    """Label and safety data sheet as attachments, those that are on file."""
    for paper in PAPERS:
        kept = getattr(cleaner, paper, None)
        if kept:
            ending = Path(str(kept.name)).suffix.lstrip(".")
            with kept.open("rb") as file:
                yield f"{paper.replace('_', '-')}.{ending}", file.read(), MEDIA_TYPES[ending]
