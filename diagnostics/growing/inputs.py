"""What a fit of growth rests on: the results that stand, from where they count, and the limit."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from contractor.register.models import UnitEvent
from diagnostics.answers import answer_of, interval_of
from diagnostics.engine.records import Interval
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import Assessment

RENEWED = ("descaled", "exchanger_replaced")
"""Events from which deposit begins anew."""
FEWEST = 3
SHORTEST = timedelta(days=30)
FOULING = (("m2K/W", "fouling_resistance_m2k_per_w"), ("K/W", "fouling_resistance_k_per_w"))
NINETY_FIVE = 2 * 1.959964
"""Width of a 95 % interval in standard uncertainties, if it has a bell: JCGM 100:2008, table G.1."""

NO_RESULTS = "Fewer than three results with a number and a limit in the same unit."
NO_START = (
    "It was first read with scale on it, so nobody knows when that began. Read it after the next cleaning."
)
TOO_CLOSE = "The results lie within a month of each other: growth does not show yet."


@dataclass(frozen=True, slots=True)
class Point:
    """One result that stands."""

    at: datetime
    value: Interval
    purpose: str


@dataclass(frozen=True, slots=True)
class Known:
    """`spans`: each result with the moment its deposit began to grow and the number of that episode."""

    spans: tuple[tuple[Point, datetime, int], ...]
    since: datetime | None
    limit: float
    unit: str
    why_not: str = ""


def digest_of(assessments: Sequence[int], events: Sequence[UUID]) -> str:
    """Changes where a result or an event comes, goes, or is replaced, or where the engine does."""
    told = repr((ENGINE_VERSION, sorted(assessments), sorted(str(one) for one in events)))
    return hashlib.sha256(told.encode()).hexdigest()


def standing(exchanger_id: UUID) -> list[Assessment]:
    rows = Assessment.objects.current().of_exchanger(exchanger_id).select_related("reading")
    return list(rows.order_by("reading__taken_at", "pk"))


def renewals(unit_id: UUID) -> list[UnitEvent]:
    rows = UnitEvent.objects.filter(unit=unit_id, what__in=RENEWED, taken_back_at=None)
    return list(rows.order_by("at"))


def known(rows: Sequence[Assessment], events: Sequence[UnitEvent]) -> Known:
    unit, key, limit = unit_and_limit(rows)
    points = [point for row in rows if (point := point_of(row, key)) is not None] if key else []
    if len(points) < FEWEST:
        return Known((), None, limit, unit, NO_RESULTS)
    starts = sorted([event.at for event in events] + [p.at for p in points if p.purpose == "after_descale"])
    first = first_start(points, starts)
    if first is not None:
        starts.insert(0, first)
    spans = tuple(placed(points, starts))
    if len(spans) < FEWEST:
        return Known((), None, limit, unit, NO_START)
    if longest(spans) < SHORTEST:
        return Known((), None, limit, unit, TOO_CLOSE)
    return Known(spans, starts[-1], limit, unit)


def unit_and_limit(rows: Sequence[Assessment]) -> tuple[str, str, float]:
    """By area where the latest result and its limit are, else of the whole exchanger."""
    if not rows:
        return "", "", 0.0
    latest = answer_of(rows[-1].result)
    for unit, key in FOULING:
        if latest.limit is not None and latest.limit.unit == unit and rows[-1].result.get(key):
            return unit, key, latest.limit.value
    return "", "", 0.0


def point_of(row: Assessment, key: str) -> Point | None:
    value = interval_of(row.result.get(key))
    if value is None or not value.high > value.low:
        return None
    return Point(row.reading.taken_at, value, row.reading.purpose)


def first_start(points: Sequence[Point], starts: Sequence[datetime]) -> datetime | None:
    """Before any cleaning: the first clean reference, or the first result if nothing was on the surface."""
    early = [point for point in points if not starts or point.at < starts[0]]
    clean = [point for point in early if point.purpose == "clean_reference"]
    if clean:
        return clean[0].at
    return early[0].at if early and early[0].value.low <= 0.0 else None


def placed(points: Sequence[Point], starts: Sequence[datetime]) -> list[tuple[Point, datetime, int]]:
    """Each result in the episode of the last start before it; what was read before all starts is left out."""
    found = []
    for point in points:
        before = [number for number, at in enumerate(starts) if at <= point.at]
        if before:
            found.append((point, starts[before[-1]], before[-1]))
    return found


def longest(spans: Sequence[tuple[Point, datetime, int]]) -> timedelta:
    by_episode: dict[int, list[datetime]] = {}
    for point, _, episode in spans:
        by_episode.setdefault(episode, []).append(point.at)
    return max((max(times) - min(times) for times in by_episode.values()), default=timedelta(0))


def day_of(point: Point, start: datetime) -> float:
    return (point.at - start) / timedelta(days=1)


def results(found: Known) -> Any:
    from diagnostics.engine.growth import Result

    return [
        Result(day_of(point, start), point.value.value, (point.value.high - point.value.low) / NINETY_FIVE,
               episode)
        for point, start, episode in found.spans
    ]  # fmt: skip
