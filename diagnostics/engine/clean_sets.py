"""Clean visits read in several sets minutes apart count once: swinging ones become their mean, settling ones
no reference, and of those that agree the last stands for the visit, since their errors are mostly shared."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnostics.engine import gates, hunting
from diagnostics.engine.gate import Gate
from diagnostics.engine.records import ReadingSet


@dataclass(frozen=True, slots=True)
class CleanSet:
    """A clean visit's set, or the mean of three with its spreads by field; `unsteady` says why it is none."""

    reading: ReadingSet
    spreads: Mapping[str, float] | None = None
    unsteady: str | None = None


def steadied(visits: Sequence[ReadingSet]) -> list[CleanSet]:
    """The clean visits, oldest first, with the sets of one visit judged together by the gate for drift."""
    found: list[CleanSet] = []
    taken: set[int] = set()
    for visit in reversed(visits):
        if id(visit) in taken:
            continue
        gate = Gate()
        mean = gates.check_drift(gate, visit, visits)
        if mean is not None:
            before = gates.second_sets(visit, visits, gates.THREE_SETS_WITHIN_S)
            latest = sorted(before, key=lambda row: row.taken_at)[1 - hunting.SETS :]
            taken |= {id(row) for row in latest}
            found.append(CleanSet(mean.reading, mean.spreads))
        elif gate.withheld:
            taken |= {id(row) for row in gates.second_sets(visit, visits)}
            found.append(CleanSet(visit, None, gate.warnings[0].text))
        else:
            taken |= _same_visit(visit, visits)
            found.append(CleanSet(visit))
    return found[::-1]


def _same_visit(last: ReadingSet, visits: Sequence[ReadingSet]) -> set[int]:
    """Earlier sets of the same visit: minutes before it, or before another of them."""
    found: set[int] = set()
    latest = [last]
    while latest:
        before = gates.second_sets(latest.pop(), visits, gates.THREE_SETS_WITHIN_S)
        new = [row for row in before if id(row) not in found]
        found |= {id(row) for row in new}
        latest += new
    return found
