"""What a row may know: the rows of its unit with an earlier or equal time, whatever the file's order."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from diagnostics.engine.records import History, ReadingSet, TableRow, UnitEvent


class Histories:
    """Reading sets, tables and events by unit, in the order of time, so that a history is a slice."""

    def __init__(
        self,
        readings: Iterable[ReadingSet],
        tables: Mapping[str, Sequence[TableRow]],
        events: Mapping[str, Sequence[UnitEvent]],
    ) -> None:
        self._readings: dict[str, list[ReadingSet]] = {}
        for reading in readings:
            self._readings.setdefault(reading.unit, []).append(reading)
        for of_unit in self._readings.values():
            # Rows of the same time go by what they say, so that the file's order changes nothing.
            of_unit.sort(key=lambda reading: (reading.taken_at, repr(reading)))
        self._place = {id(one): place for rows in self._readings.values() for place, one in enumerate(rows)}
        self._tables = {unit: tuple(rows) for unit, rows in tables.items()}
        self._events = {unit: sorted(rows, key=_at) for unit, rows in events.items()}

    def before(self, reading: ReadingSet) -> History:
        """Everything known of the reading's unit up to its time, the reading itself left out."""
        of_unit = self._readings.get(reading.unit, [])
        known = bisect_right(of_unit, reading.taken_at, key=_taken_at)
        own = self._place.get(id(reading), known)
        events = self._events.get(reading.unit, [])
        return History(
            readings=(*of_unit[:own], *of_unit[own + 1 : known]),
            tables=self._tables.get(reading.unit, ()),
            events=tuple(events[: bisect_right(events, reading.taken_at, key=_at)]),
        )


def _taken_at(reading: ReadingSet) -> datetime:
    return reading.taken_at


def _at(event: UnitEvent) -> datetime:
    return event.at
