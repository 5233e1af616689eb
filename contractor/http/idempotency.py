"""Idempotency-Key: a repeated write gets the first answer, and is carried out once.

The key's row is written first, in the transaction of the write itself, so both are kept or neither. A second
request with the key waits for the first or is told that it still runs; afterwards it gets the stored answer.
Answers are kept for 30 days (longer than a phone stays without signal). Refusals wrote nothing and are not
kept: a reading that came before the visit it belongs to is taken when it comes again under its key. That a
phone holds something refused is noted beside, for the office to see, until it arrives.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, connection, transaction
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.models import KeptAnswer, RefusedPost
from contractor.http.problems import Problem

HEADER = "Idempotency-Key"
KEPT_FOR = timedelta(days=30)
# these the phone sends again by itself
NOT_FOR_GOOD = frozenset({401, 408, 425, 429})
KEPT_HEADERS = ("Location", "ETag", "Retry-After", "Cache-Control")


def key_of(request: Request) -> str:
    """The header's key, with or without the quotes of a structured-field string; '' when absent."""
    sent = request.headers.get(HEADER, "").strip()
    if not sent:
        return ""
    key = sent[1:-1] if len(sent) > 2 and sent[0] == sent[-1] == '"' else sent
    if not re.fullmatch(r"[!#-\[\]-~]{1,80}", key):
        raise Problem("idempotency-key-malformed")
    return key


def fingerprint(request: Request) -> str:
    """sha256 over method, address and canonical content; of a file its own digest, not how it was wrapped."""
    parts: dict[str, Any] = {"method": request.method, "path": request.get_full_path()}
    data = request.data
    if hasattr(data, "lists"):
        parts["fields"] = {name: [value_digest(v) for v in values] for name, values in data.lists()}
    else:
        parts["json"] = data
    canonical = json.dumps(parts, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(canonical.encode()).hexdigest()


def value_digest(value: Any) -> str:
    if not hasattr(value, "chunks"):
        return str(value)
    digest = hashlib.sha256()
    for chunk in value.chunks():
        digest.update(chunk)
    value.seek(0)
    return f"{getattr(value, 'name', '')} {digest.hexdigest()}"


def once(
    request: Request, key: str, carry_out: Callable[[], Response], on_error: Callable[[Exception], Response]
) -> Response:
    """Carry the write out, or answer as the first time.

    `on_error` turns an exception into a problem response.
    """
    print_now = fingerprint(request)
    person: Any = request.user
    if answer := first_answer(request, key, print_now):
        return answer
    with transaction.atomic():
        claim_key(request, key)
        try:
            with transaction.atomic():
                row = KeptAnswer.objects.create(
                    person=person, key=key, method=request.method or "", path=request.path[:300],
                    fingerprint=print_now,
                )  # fmt: skip
        except IntegrityError:
            if answer := first_answer(request, key, print_now):
                return answer
            raise Problem("still-running", headers={"Retry-After": "1"}) from None
        try:
            with transaction.atomic():
                response = carry_out()
        except Exception as exc:
            response = on_error(exc)
        if response.status_code >= 400:
            transaction.set_rollback(True)
        else:
            keep(row, response)
    note_refusal(request, key, response)
    return response


def note_refusal(request: Request, key: str, response: Response) -> None:
    """Of phones alone, which sign in by pages: a program that has a token reads the refusal itself."""
    status, person = response.status_code, str(request.user.pk)
    if request.auth is not None:
        return
    if status < 400:
        RefusedPost.objects.filter(person_id=person, key=key).delete()
    elif status < 500 and status not in NOT_FOR_GOOD:
        reason = str((response.data or {}).get("detail", ""))[:300]
        told = {"path": request.path[:300], "status": status, "reason": reason, "refused_at": timezone.now()}
        RefusedPost.objects.update_or_create(person_id=person, key=key, defaults=told)


def claim_key(request: Request, key: str) -> None:
    """PostgreSQL tells at once that the first still runs; SQLite has one writer, the second waits."""
    if connection.vendor != "postgresql":
        return
    digest = hashlib.sha256(f"{request.user.pk}:{key}".encode()).digest()
    with connection.cursor() as cursor:
        number = int.from_bytes(digest[:8], "big", signed=True)
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
        if not cursor.fetchone()[0]:
            raise Problem("still-running", headers={"Retry-After": "1"})


def first_answer(request: Request, key: str, print_now: str) -> Response | None:
    row = KeptAnswer.objects.filter(person_id=str(request.user.pk), key=key).first()
    if row is None:
        return None
    if row.fingerprint != print_now:
        raise Problem("idempotency-key-reused")
    if row.status is None:
        raise Problem("still-running", headers={"Retry-After": "1"})
    headers = dict(row.headers)
    data = json.loads(row.body) if row.body else None
    response = Response(data, status=row.status, headers=headers)
    response["Idempotent-Replay"] = "true"
    return response


def keep(row: KeptAnswer, response: Response) -> None:
    from rest_framework.utils import encoders

    row.status = response.status_code
    row.headers = {name: response[name] for name in KEPT_HEADERS if response.has_header(name)}
    row.body = json.dumps(response.data, cls=encoders.JSONEncoder) if response.data is not None else ""
    row.save(update_fields=["status", "headers", "body"])


def purge(now: datetime) -> int:
    RefusedPost.objects.filter(refused_at__lt=now - KEPT_FOR).delete()
    return KeptAnswer.objects.filter(created_at__lt=now - KEPT_FOR).delete()[0]
