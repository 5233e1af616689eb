"""Which relation of the engine is checked against which outside source: `published` marks each such test."""

from __future__ import annotations

import inspect
from collections import defaultdict
from collections.abc import Callable
from typing import Any, TypeVar

Test = TypeVar("Test", bound=Callable[..., Any])

CHECKS: defaultdict[str, set[str]] = defaultdict(set)
"""Sources by the full name of the relation they check."""


def name_of(relation: Callable[..., Any]) -> str:
    """Return the full name of a public function or method of the engine."""
    plain = inspect.unwrap(relation)
    return f"{plain.__module__}.{plain.__qualname__}"


def published(*relations: Callable[..., Any], source: str) -> Callable[[Test], Test]:
    """Mark a test as the check of one or more relations against an outside source.

    The source says where the expected values come from: a published table, standard or worked example
    (author, year, table), a reference library, or "from memory" or "common practice" where that is so.
    """
    if not relations or len(source.strip()) < 8:
        raise ValueError("a published check names at least one relation and its source")

    def mark(test: Test) -> Test:
        for relation in relations:
            CHECKS[name_of(relation)].add(source)
        return test

    return mark
