"""What a row may know: the rows of its unit with an earlier or equal time, whatever the file's order."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from diagnostics.engine.records import History, ReadingSet, TableRow, UnitEvent


class Histories:
    """Reading sets, tables and events by unit, in the order of time, so that a history is a slice."""

    def __init__(
        self,
        readings: Sequence[ReadingSet],
        tables: Mapping[str, Sequence[TableRow]],
        events: Mapping[str, Sequence[UnitEvent]],
    ) -> None:
        self._all = readings
        self._of_unit: dict[str, list[ReadingSet]] = {}
        self._place = [0] * len(readings)
        # Rows of the same time go by what they say, so that the file's order changes nothing.
        in_time = sorted(
            range(len(readings)), key=lambda index: (readings[index].taken_at, repr(readings[index]))
        )
        for index in in_time:
            of_unit = self._of_unit.setdefault(readings[index].unit, [])
            self._place[index] = len(of_unit)
            of_unit.append(readings[index])
        self._tables = {unit: tuple(rows) for unit, rows in tables.items()}
        self._events = {unit: sorted(rows, key=_at) for unit, rows in events.items()}

    def before(self, index: int) -> History:
        """Everything known of the unit of this reading set up to its time, the set itself left out."""
        reading = self._all[index]
        of_unit, own = self._of_unit[reading.unit], self._place[index]
        known = bisect_right(of_unit, reading.taken_at, key=_taken_at)
        events = self._events.get(reading.unit, [])
        return History(
            readings=(*of_unit[:own], *of_unit[own + 1 : known]),
            tables=self._tables.get(reading.unit, ()),
            events=tuple(events[: bisect_right(events, reading.taken_at, key=_at)]),
        )


def with_one_gauge_set(reading: ReadingSet, history: History) -> tuple[ReadingSet, History]:
    """Rows of a unit share one gauge set unless it differs: blank ones were read with the one that is
    named."""
    rows = (reading, *history.readings)
    named = {row.gauge_set for row in rows if row.gauge_set}
    if len(named) != 1 or all(row.gauge_set for row in rows):
        return reading, history
    (name,) = named
    first, *others = (row if row.gauge_set else replace(row, gauge_set=name) for row in rows)
    return first, replace(history, readings=tuple(others))


def _taken_at(reading: ReadingSet) -> datetime:
    return reading.taken_at


def _at(event: UnitEvent) -> datetime:
    return event.at
