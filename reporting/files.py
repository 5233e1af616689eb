"""Finished files, each under the name of its own digest: written whole or not at all, and never twice."""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path

from django.core.files.storage import default_storage

FOLDER = "documents"


def keep(content: bytes, ending: str) -> tuple[str, str]:
    """Name within the storage, and sha256. A sound file that is there is left; a harmed one is mended."""
    digest = hashlib.sha256(content).hexdigest()
    name = f"{FOLDER}/{digest[:2]}/{digest}.{ending}"
    if read_checked(name, digest) is None:
        _write_whole(Path(default_storage.path(name)), content)
    return name, digest


def _write_whole(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def read_checked(name: str, digest: str) -> bytes | None:
    """The content, or None where the file is gone or no longer what was kept."""
    try:
        content = Path(default_storage.path(name)).read_bytes()
    except OSError:
        return None
    return content if hashlib.sha256(content).hexdigest() == digest else None
