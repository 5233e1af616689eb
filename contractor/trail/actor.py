"""Who is acting now: set once at each front door (request, task, command), read by every tracked write."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Actor:
    person_id: UUID | None
    by: str


NOBODY = Actor(None, "program")
_actor: ContextVar[Actor] = ContextVar("actor", default=NOBODY)


def current_actor() -> Actor:
    return _actor.get()


@contextmanager
def acting_as(person_id: UUID | None, by: str) -> Iterator[None]:
    token = _actor.set(Actor(person_id, by))
    try:
        yield
    finally:
        _actor.reset(token)
