"""Axes: nice round ticks and the mapping from values to points."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps `low`..`high` onto `start`..`end` [points]; what lies outside is held at the edge."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)

    def holds(self, value: float) -> bool:
        return self.low <= value <= self.high


def step_for(span: float, wanted: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that cuts a span in about so many parts."""
    raw = span / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * 0.999)


def ticks(low: float, high: float, wanted: int = 5) -> list[float]:
    step = step_for(high - low, wanted)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(i * step, 12) for i in range(first, last + 1)]


def decimals_of(step: float) -> int:
    return max(0, -math.floor(math.log10(step) + 1e-9))


def window(lows: list[float], highs: list[float], limit: float | None) -> tuple[float, float]:
    """Ends of an axis that shows zero, the limit and every interval, unless one is many limits wide."""
    low, high = min([0.0, *lows]), max([0.0, *highs])
    if limit is not None and limit > 0:
        low, high = max(low, -3 * limit), min(max(high, 1.5 * limit), 6 * limit)
    if high - low <= 0:
        low, high = low - 1.0, high + 1.0
    room = (high - low) * 0.06
    return (low - room if low < 0 else low), high + room
