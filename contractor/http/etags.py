"""ETag "<id>-<version>" on what two people may edit (RFC 9110); If-Match guards every change of it."""

from typing import Any

from django.db import models
from rest_framework.request import Request

from contractor.http.problems import Problem


def etag_of(row: Any) -> str | None:
    version = getattr(row, "version", None)
    return None if version is None else f'"{row.pk}-{version}"'


def listed(header: str) -> list[str]:
    return [part.strip() for part in header.split(",") if part.strip()]


def check_if_match(request: Request, row: models.Model) -> None:
    """428 without If-Match, 412 when the row has moved on. Weak tags never match (strong comparison)."""
    header = request.headers.get("If-Match", "")
    present = etag_of(row)
    if present is None:
        return
    if not header:
        raise Problem("if-match-missing", present_etag=present)
    if header.strip() != "*" and present not in listed(header):
        raise Problem("stale", present_etag=present, headers={"ETag": present})


def not_changed(request: Request, row: models.Model) -> bool:
    """If-None-Match on a read: weak comparison, so W/ in front is no matter."""
    header = request.headers.get("If-None-Match", "")
    present = etag_of(row)
    sent = [tag.removeprefix("W/") for tag in listed(header)]
    return bool(header) and (header.strip() == "*" or present in sent)
