"""The demo's scenario cut down to a few units, so that the real command can be run in a test."""

from __future__ import annotations

import csv
import os
import sqlite3
import subprocess
import sys
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

from django.conf import settings

FULL = settings.BASE_DIR / "fixtures" / "scenario"
TAGS = ("HRQ-11", "HRS-03", "LFC-05")
NOT_THEIRS = ("DATABASE_URL", "REDIS_URL", "DJANGO_SETTINGS_MODULE")


def scenario_in(folder: Path, tags: tuple[str, ...] = TAGS) -> Path:
    folder.mkdir(exist_ok=True)
    for path in FULL.glob("*.csv"):
        with path.open(newline="") as file:
            reader = csv.DictReader(file)
            kept = [row for row in reader if row.get("tag", tags[0]) in tags]
        with (folder / path.name).open("w", newline="") as file:
            writer = csv.DictWriter(file, reader.fieldnames or [])
            writer.writeheader()
            writer.writerows(kept)
    return folder


def environment(var: Path, **more: str) -> Mapping[str, str]:
    """As on a fresh machine: the embedded setting, in a folder of its own."""
    kept = {name: value for name, value in os.environ.items() if name not in NOT_THEIRS}
    return {**kept, "WATERSIDE_VAR": str(var), "COLUMNS": "180", **more}


def demo(var: Path, *options: str, **more: str) -> subprocess.CompletedProcess[str]:
    """Run the command to its end."""
    return subprocess.run(
        [sys.executable, "manage.py", "demo", *options], cwd=settings.BASE_DIR, env=environment(var, **more),
        capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=300,
    )  # fmt: skip


def in_its_shell(var: Path, code: str) -> None:
    subprocess.run(
        [sys.executable, "manage.py", "shell", "--verbosity", "0", "-c", code], cwd=settings.BASE_DIR,
        env=environment(var), capture_output=True, stdin=subprocess.DEVNULL, timeout=120, check=True,
    )  # fmt: skip


def count(var: Path, table: str) -> int:
    with closing(sqlite3.connect(var / "waterside.sqlite3")) as database:
        [(found,)] = database.execute(f"SELECT count(*) FROM {table}")
    return int(found)
