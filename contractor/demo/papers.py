"""Copies of the reports under names that a person can read. The service keeps its own by digest."""

from __future__ import annotations

import shutil
from pathlib import Path

from django.conf import settings

from reporting.models import Document
from reporting.services import file_name_of


def folder() -> Path:
    return Path(settings.VAR_DIR) / "demo-reports"


def copies() -> list[Path]:
    folder().mkdir(exist_ok=True)
    standing = Document.objects.exclude(state="withdrawn").order_by("exchanger__unit__tag", "exchanger__name")
    return [copy_of(document) for document in standing]


def copy_of(document: Document) -> Path:
    path = folder() / file_name_of(document)
    if not path.exists():
        shutil.copyfile(document.file.path, path)
    return path
