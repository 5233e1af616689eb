"""Which exchangers reach their limit soon, by a straight line through what was read since the cleaning.

The line has no interval and knows no law of growth: it says when to look, never that a unit is fouled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Max, QuerySet

from contractor.register.models import UnitEvent
from diagnostics.models import Assessment

AREA_RESISTANCE = "m2K/W"
CLEANED = ("descaled",)
AHEAD = timedelta(days=90)
FEWEST = 3
SHORTEST = timedelta(days=30)
NEAREST = 200

Point = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class Due:
    row: Assessment
    at: datetime
    readings: int

    @property
    def words(self) -> str:
        return f"by a straight line through {self.readings} readings the limit comes about {self.at:%B %Y}"


def reaching_limit(latest: QuerySet[Assessment], now: datetime) -> list[Due]:
    """In three queries whatever the number: the nearest to their limit, their cleanings, their readings."""
    rows = list(
        latest.exclude(verdict="fouled")
        .filter(fouling_m2k_per_w__gt=0, probability_over_limit__isnull=False)
        .order_by("-probability_over_limit", "-pk")[:NEAREST]
    )
    points = points_since_cleaning(rows)
    found = [due(row, points.get(row.reading.exchanger_id, []), now) for row in rows]
    return sorted((each for each in found if each is not None), key=lambda each: each.at)


def points_since_cleaning(rows: Sequence[Assessment]) -> dict[Any, list[Point]]:
    exchangers = [row.reading.exchanger_id for row in rows]
    units = {row.reading.exchanger_id: row.reading.exchanger.unit_id for row in rows}
    events = UnitEvent.objects.filter(unit__in=set(units.values()), what__in=CLEANED, taken_back_at=None)
    cleaned = dict(events.values_list("unit").annotate(last=Max("at")).order_by())
    read = Assessment.objects.current().filter(
        reading__exchanger__in=exchangers, fouling_m2k_per_w__isnull=False
    )
    points: dict[Any, list[Point]] = {}
    columns = ("reading__exchanger", "reading__taken_at", "fouling_m2k_per_w")
    for exchanger, at, value in read.order_by().values_list(*columns):
        last = cleaned.get(units[exchanger])
        if last is None or at >= last:
            points.setdefault(exchanger, []).append((at, value))
    return points


def due(row: Assessment, points: Sequence[Point], now: datetime) -> Due | None:
    """None without a limit by area, with too few or too close readings, or where the line is not rising."""
    limit = row.result.get("limit") or {}
    if limit.get("unit") != AREA_RESISTANCE or not limit.get("value"):
        return None
    at = crossing(points, float(limit["value"]))
    return Due(row, at, len(points)) if at is not None and at <= now + AHEAD else None


def crossing(points: Sequence[Point], limit: float) -> datetime | None:
    """When the least-squares line through the points reaches the limit."""
    if len(points) < FEWEST:
        return None
    first, last = min(at for at, _ in points), max(at for at, _ in points)
    if last - first < SHORTEST:
        return None
    days = [(at - first) / timedelta(days=1) for at, _ in points]
    middle, height = sum(days) / len(days), sum(value for _, value in points) / len(points)
    spread = sum((day - middle) ** 2 for day in days)
    slope = sum((d - middle) * (v - height) for d, (_, v) in zip(days, points, strict=True)) / spread
    if slope <= 0:
        return None
    reached = middle + (limit - height) / slope
    return first + timedelta(days=max(reached, 0.0)) if reached < 36_500 else None
