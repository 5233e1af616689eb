"""Taking a work item and letting it go: one statement each, because every item pays for them.

The statements are plain SQL that PostgreSQL and SQLite both speak. A claim is a fresh UUID in the row;
whoever no longer finds theirs there has lost the item.
"""

from __future__ import annotations

import uuid
from datetime import datetime
from functools import cache
from typing import Any

from django.conf import settings
from django.db import connection

from contractor.workqueue.models import WorkItem

TABLE = WorkItem._meta.db_table
TAKE = f"""
UPDATE {TABLE} SET state = 'running', claim = %s, attempts = attempts + 1, started_at = %s, heartbeat_at = %s,
  progress_done = 0, progress_of = 0, progress_words = ''
WHERE id = %s AND (
  (state = 'waiting' AND due_at <= %s) OR (state = 'running' AND heartbeat_at < %s AND attempts < %s))
RETURNING {{columns}}
"""
BEAT = f"UPDATE {TABLE} SET heartbeat_at = %s WHERE id = %s AND state = 'running' AND claim = %s"
CLOSE = f"""
UPDATE {TABLE} SET state = %s, claim = NULL, finished_at = %s, result = %s, problem = %s
WHERE id = %s AND state = 'running' AND claim = %s
"""
AGAIN = f"""
UPDATE {TABLE} SET state = 'waiting', claim = NULL, heartbeat_at = NULL, handed_over_at = NULL,
  due_at = %s, problem = %s
WHERE id = %s AND state = 'running' AND claim = %s
"""


@cache
def take_statement() -> str:
    return TAKE.format(columns=", ".join(str(column.column) for column in WorkItem._meta.concrete_fields))


def stored(column: str, value: Any) -> Any:
    """The value as the database at hand stores that column."""
    return WorkItem._meta.get_field(column).get_db_prep_save(value, connection)  # type: ignore[union-attr]


def take(item_id: uuid.UUID, now: datetime) -> WorkItem | None:
    """The item, now ours; None when there is nothing to take: done, not yet due, or held by another."""
    at, lost = stored("started_at", now), stored("heartbeat_at", now - settings.WORK_LOST_AFTER)
    values = [
        stored("claim", uuid.uuid4()), at, at, stored("id", item_id), at, lost, settings.WORK_MAX_ATTEMPTS
    ]  # fmt: skip
    rows: list[WorkItem] = list(WorkItem.objects.raw(take_statement(), values))
    return rows[0] if rows else None


def beat(item_id: uuid.UUID, claim: uuid.UUID, now: datetime) -> bool:
    return changed(BEAT, [stored("heartbeat_at", now), stored("id", item_id), stored("claim", claim)])


def close(item: WorkItem, now: datetime, *, state: str, result: Any = None, problem: Any = None) -> bool:
    """False when the claim was lost: the late end is refused."""
    values = [state, stored("finished_at", now), stored("result", result), stored("problem", problem)]
    return changed(CLOSE, [*values, stored("id", item.pk), stored("claim", item.claim)])


def put_back(item: WorkItem, due_at: datetime, problem: Any) -> bool:
    """To wait for another attempt; False when the claim was lost."""
    values = [stored("due_at", due_at), stored("problem", problem), stored("id", item.pk)]
    return changed(AGAIN, [*values, stored("claim", item.claim)])


def changed(statement: str, values: list[Any]) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return bool(cursor.rowcount == 1)
