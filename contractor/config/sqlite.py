"""Which SQLite library the embedded setting uses, and how.

Libraries from 3.7.0 to 3.51.2 can corrupt a database in WAL mode that two processes write at the same moment
(the WAL-reset bug), and Python often links one of them. The package pysqlite3 brings a newer library; where
it is installed and Python's own is affected, it takes its place before Django loads the database. Where
neither is sound the journal stays in its old mode: slower on the disk, and safe.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path
from typing import Any

Version = tuple[int, int, int]
FIXED = (3, 51, 3)
FIXED_EARLIER = {(3, 44): 6, (3, 50): 7}


def has_wal_reset_bug(version: Version) -> bool:
    """3.7.0 to 3.51.2; mended in 3.51.3, and in 3.44.6 and 3.50.7 of the older lines."""
    mended_at = FIXED_EARLIER.get(version[:2])
    mended = version >= FIXED or (mended_at is not None and version[2] >= mended_at)
    return version >= (3, 7, 0) and not mended


def library_version() -> Version:
    return tuple(sys.modules["sqlite3"].sqlite_version_info)


def use_sound_library() -> None:
    """Must run before anything imports Django's SQLite backend."""
    if not has_wal_reset_bug(sqlite3.sqlite_version_info):
        return
    try:
        import pysqlite3
        from pysqlite3 import dbapi2
    except ImportError:
        return
    if not has_wal_reset_bug(pysqlite3.sqlite_version_info):
        sys.modules["sqlite3"], sys.modules["sqlite3.dbapi2"] = pysqlite3, dbapi2


def database(folder: Path) -> dict[str, Any]:
    use_sound_library()
    journal = "DELETE" if has_wal_reset_bug(library_version()) else "WAL"
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": folder / "waterside.sqlite3",
        "CONN_MAX_AGE": 600,
        "TEST": {"NAME": folder / "test.sqlite3"},
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": f"PRAGMA journal_mode={journal}; PRAGMA synchronous=FULL; "
            "PRAGMA journal_size_limit=67108864;",
        },
    }
