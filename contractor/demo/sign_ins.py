"""The demo's sign-ins: passwords made at the first run and kept beside its database, nowhere else."""

from __future__ import annotations

import json
import os
import secrets
from pathlib import Path

from django.conf import settings


def kept_in() -> Path:
    return Path(settings.VAR_DIR) / "demo-sign-ins.json"


def kept() -> dict[str, dict[str, str]]:
    """Role and password by e-mail; empty before the first run."""
    try:
        found: dict[str, dict[str, str]] = json.loads(kept_in().read_text())
    except FileNotFoundError:
        return {}
    return found


def make(people: list[dict[str, str]]) -> dict[str, dict[str, str]]:
    made = {
        person["email"]: {
            "role": person["role"],
            "name": person["name"],
            "password": secrets.token_urlsafe(12),
        }
        for person in people
    }
    path = kept_in()
    path.unlink(missing_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        json.dump(made, file, indent=1)
    return made
