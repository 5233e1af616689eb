"""Labels, safety data sheets and acceptances as files: told by their first bytes, limited in size, kept as
they came."""

from __future__ import annotations

from typing import Any

from django.core.files.base import ContentFile, File
from django.db import models

from contractor.http.problems import Problem

LARGEST_BYTES = 10 * 1024 * 1024
# what a file begins with, what it is called, and what it is served as
KINDS = (
    (b"%PDF-", "pdf", "application/pdf"),
    (b"\xff\xd8\xff", "jpg", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "png", "image/png"),
)
MEDIA_TYPES = {ending: media_type for _, ending, media_type in KINDS}
EXPECTED = "a PDF, or a JPEG or PNG picture, of at most 10 MB"


def checked(upload: File[bytes], part: str) -> tuple[ContentFile[bytes], str]:
    """The content and its ending; a Problem that points to the part on anything else."""
    if upload.size is not None and upload.size > LARGEST_BYTES:
        raise refused(part, f"the file has {upload.size / 1024 / 1024:.1f} MB")
    content = upload.read()
    for beginning, ending, _ in KINDS:
        if content.startswith(beginning):
            return ContentFile(content), ending
    raise refused(part, "the file is none such by its first bytes" if content else "the file is empty")


def attach(row: models.Model, part: str, upload: File[bytes]) -> None:
    """Keep a file with its row. An older one stays in the storage, its name in the trail."""
    content, ending = checked(upload, part)
    kept: Any = getattr(row, part)
    kept.save(f"{part.replace('_', '-')}-{row.pk}.{ending}", content, save=False)
    try:
        row.save()
    except BaseException:
        kept.storage.delete(str(kept.name))
        raise


def refused(part: str, reason: str) -> Problem:
    detail = f"The {part.replace('_', ' ')} cannot be kept: {reason}; expected {EXPECTED}."
    return Problem("invalid", detail, errors=[{"pointer": f"/{part}", "detail": detail}])
