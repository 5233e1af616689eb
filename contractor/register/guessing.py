"""Slows down guessing of tags: looking up codes of units one cannot see otherwise is counted a person."""

from __future__ import annotations

from datetime import datetime, timedelta

from contractor.accounts.guard import count_up, key
from contractor.accounts.models import Person, SignInCount
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.register.models import Unit

WINDOW = timedelta(minutes=15)
LIMIT = 20
declare("too-many-tags", 429, "Too many tags looked up",
        "Only the tag of the machine before you is meant. Wait as long as Retry-After says [s].")  # fmt: skip


def count_tag(person: Person, code: str, now: datetime) -> None:
    """Call outside a transaction, so that a refusal does not undo the count."""
    if person.is_office or Unit.objects.seen_by(person).with_tag(code).exists():
        return
    name = key("tag", str(person.pk))
    if count_up(name, now, WINDOW) > LIMIT:
        ends = SignInCount.objects.values_list("window_ends_at", flat=True).get(pk=name)
        wait = max(int((ends - now).total_seconds()) + 1, 1)
        raise Problem("too-many-tags", headers={"Retry-After": str(wait)})
