"""How a worker holds its database, and how it writes.

A worker's connection stays open from item to item. After a restart of the database the first item fails at
its claim and stays waiting; the sweeper hands it over again. What people write waits for the disk; what a
worker writes can be made again from its row: if the machine loses power, the last half second of a worker's
commits may be missing, always together with the mark that the item is done, for commits keep their order. The
row then waits again and the work is repeated. Neither database can be damaged by this, and no other process
writes any differently.
"""

from __future__ import annotations

from typing import Any

from django.db import close_old_connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.signals import connection_created


def use_as_worker() -> None:
    connection_created.connect(loosen, dispatch_uid="workqueue.loosen")


def loosen(connection: BaseDatabaseWrapper, **kwargs: Any) -> None:
    connection.health_check_enabled = False  # type: ignore[attr-defined]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET synchronous_commit TO off")
            return
        cursor.execute("PRAGMA journal_mode")
        if cursor.fetchone()[0] == "wal":  # with a rollback journal it could damage the file
            cursor.execute("PRAGMA synchronous=NORMAL")


def renew_if_broken() -> None:
    close_old_connections()
