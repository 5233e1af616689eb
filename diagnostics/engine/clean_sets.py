"""Clean visits read in several sets minutes apart: swinging ones become their mean, settling ones no
reference."""

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
            found.append(CleanSet(visit))
    return found[::-1]
