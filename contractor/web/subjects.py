"""What a piece of background work is about, by name and page: its row in the queue holds an id only."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from typing import Any

from django.urls import reverse

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Notice
from contractor.register.models import Exchanger
from contractor.visits.models import Finding, Reading, Visit
from contractor.workqueue.models import WorkItem
from reporting.models import Document

About = tuple[str, str]
# model, what its name rests on, its page, the page's key
KNOWN: tuple[tuple[Any, tuple[str, ...], str, str], ...] = (
    (Exchanger, ("unit",), "web:exchangers-show", "pk"),
    (Reading, ("exchanger__unit", "visit__site"), "web:reading", "pk"),
    (Descale, ("exchanger__unit",), "web:descale", "pk"),
    (Notice, ("descale__exchanger__unit",), "web:descale", "descale_id"),
    (Document, (), "web:document", "pk"),
    (Visit, ("site",), "web:visit", "pk"),
    (Finding, ("visit__site", "unit"), "web:visit", "visit_id"),
    (Person, (), "web:people-show", "pk"),
)


def subjects_of(items: Iterable[WorkItem]) -> dict[str, About]:
    """Name and address of what each subject is, one query a kind of record."""
    wanted = {each.subject for each in items if _is_id(each.subject)}
    found: dict[str, About] = {}
    for model, related, page, key in KNOWN:
        if not wanted:
            break
        for row in model.objects.filter(pk__in=wanted).select_related(*related):
            found[str(row.pk)] = (_named(row), reverse(page, args=[getattr(row, key)]))
    return found


def _is_id(text: str) -> bool:
    try:
        return bool(uuid.UUID(text))
    except ValueError:
        return False


def _named(row: Any) -> str:
    if isinstance(row, Finding):
        return str(row.unit or row.visit.site)
    if isinstance(row, Notice):
        return str(row.descale)
    return f"{row.exchanger}" if isinstance(row, Reading) else str(row)
