"""Who does the work of each kind.

Registered in an app's ready(), by name, so that no lower room imports a higher one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from contractor.workqueue.models import WorkItem
    from contractor.workqueue.progress import Progress

Result = dict[str, Any] | None


class Handler(Protocol):
    def __call__(self, item: WorkItem, progress: Progress, /) -> Result: ...


class WorkRefused(Exception):
    """An expected failure.

    The item ends as failed at once, with these words. Anything else raised is tried again.
    """

    def __init__(self, type: str, title: str, detail: str, **more: object) -> None:
        super().__init__(detail)
        self.type, self.title, self.detail, self.more = type, title, detail, more


HANDLERS: dict[str, Handler] = {}


def handles(kind: str) -> Callable[[Handler], Handler]:
    """Decorator. One handler a kind; registering the same one again is harmless."""

    def register(function: Handler) -> Handler:
        if HANDLERS.get(kind, function) is not function:
            raise ValueError(f"kind {kind!r} has a handler already: {HANDLERS[kind]!r}")
        HANDLERS[kind] = function
        return function

    return register


@handles("noop")
def noop(item: WorkItem, progress: Progress, /) -> Result:
    return None
