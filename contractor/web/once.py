"""A form that is sent twice is carried out once: a second press, or the way back and Save again."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest

from contractor.http.models import KeptAnswer
from contractor.http.problems import Problem
from contractor.web.held import SEAL

KEY = "once"
ABOUT_SENDING = frozenset({"csrfmiddlewaretoken", SEAL, KEY, "version"})
SAVED_ALREADY = (
    "This form was saved once already, with other content. To change what it made, open that. "
    "To make a further one, save again."
)


def key_of(request: HttpRequest) -> str:
    """The key that the form was made with, or ''."""
    try:
        return str(uuid.UUID(request.POST.get(KEY, "")))
    except ValueError:
        return ""


def fingerprint(request: HttpRequest) -> str:
    """sha256 of what was typed; of files their names and sizes."""
    typed = {name: values for name, values in request.POST.lists() if name not in ABOUT_SENDING}
    files = {name: [(one.name, one.size) for one in found] for name, found in request.FILES.lists()}
    return hashlib.sha256(json.dumps([typed, files], sort_keys=True).encode()).hexdigest()


def carry_out(request: HttpRequest, work: Callable[[], str]) -> str:
    """The address to go to: as `work` says, or as it said the first time. Call it inside a transaction.

    Raises Problem (409) where the same form comes again with other content.
    """
    key, person = key_of(request), str(request.user.pk)
    if not key:
        return work()
    said: dict[str, Any] = {"method": "POST", "path": request.path[:300], "fingerprint": fingerprint(request)}
    row, is_new = KeptAnswer.objects.get_or_create(person_id=person, key=f"page:{key}", defaults=said)
    if not is_new:
        if row.fingerprint != said["fingerprint"]:
            raise Problem(detail=SAVED_ALREADY, status=409, title="Saved already")
        return str(row.headers["Location"])
    address = work()
    row.status, row.headers = 302, {"Location": address}
    row.save(update_fields=["status", "headers"])
    return address
