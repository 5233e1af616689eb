"""A value over time, each with its 95 % interval, with the limit and what was done to the unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.figures.limit import unit_label
from reporting.documents.figures.scale import Scale, decimals_of, step_for, ticks, window
from reporting.documents.figures.shapes import Box, Dot, Figure, Label, Line, Polygon, Shape
from reporting.documents.type import width as text_width

HEIGHT = 168.0
TOP, BOTTOM, LEFT, RIGHT = 44.0, 148.0, 34.0, 12.0


OWN_LIMIT = "limit at that load"


@dataclass(frozen=True, slots=True)
class HistoryPoint:
    at: datetime
    value: Interval
    mode: str
    this_one: bool = False
    limit: float | None = None
    """Its own limit, where that moves with the load."""


@dataclass(frozen=True, slots=True)
class HistoryMark:
    """Something done to the unit, as a line across the chart."""

    at: datetime
    text: str


def history_figure(
    name: str,
    points: Sequence[HistoryPoint],
    limit: float | None,
    unit: str,
    exponent: int = 0,
    marks: Sequence[HistoryMark] = (),
    width: float = 470.0,
) -> Figure:
    points = sorted(points, key=lambda p: p.at)
    marks = sorted((m for m in marks if points[0].at <= m.at <= points[-1].at), key=lambda m: m.at)
    own_limits = [p.limit for p in points if p.limit is not None]
    low, high = window([p.value.low for p in points], [p.value.high for p in points],
                       max([*own_limits, *([] if limit is None else [limit])], default=None))  # fmt: skip
    up = Scale(low, high, BOTTOM, TOP)
    first, last = points[0].at.timestamp(), points[-1].at.timestamp()
    room = max((last - first) * 0.04, 86_400.0)
    along = Scale(first - room, last + room, LEFT, width - RIGHT)
    shapes: list[Shape] = [
        *_frame(up, along, unit, exponent),
        *_dates(along, points),
        *_marks(along, marks),
        *_limit_line(up, along, limit, points),
        *(shape for p in points for shape in (*_own_limit(up, along, p), *_point(up, along, p))),
        *_key(points, width),
    ]
    text = _words(name, points, limit, unit, exponent, marks)
    return Figure(width, HEIGHT, tuple(shapes), f"{name} over time", text)


def _frame(up: Scale, along: Scale, unit: str, exponent: int) -> list[Shape]:
    shapes: list[Shape] = [Label(0.0, 10.0, unit_label(unit, exponent), 8.5, "muted")]
    decimals = decimals_of(step_for(up.high - up.low, 5))
    for tick in ticks(up.low, up.high, 5):
        y = up.at(tick)
        shapes.append(
            Line(along.start, y, along.end, y, "muted" if tick == 0 else "rule", 0.75 if tick == 0 else 0.5)
        )
        shapes.append(Label(along.start - 6, y + 3, words.fixed(tick, decimals), 8.5, "muted", anchor="end"))
    return shapes


def _dates(along: Scale, points: Sequence[HistoryPoint]) -> list[Shape]:
    """Dates under the points, as many as fit beside each other."""
    shapes: list[Shape] = []
    taken: list[tuple[float, float]] = []
    for point in (points[-1], *points[:-1]):
        x = along.at(point.at.timestamp())
        text = words.short_day(point.at)
        half = text_width(text, 8.5) / 2 + 5
        x_text = min(max(x, half), along.end + RIGHT - half)
        if any(x_text - half < right and left < x_text + half for left, right in taken):
            continue
        taken.append((x_text - half, x_text + half))
        shapes.append(Line(x, BOTTOM, x, BOTTOM + 3.5, "muted", 0.75))
        shapes.append(Label(x_text, BOTTOM + 14, text, 8.5, "muted", anchor="middle"))
    return shapes


def _marks(along: Scale, marks: Sequence[HistoryMark]) -> list[Shape]:
    shapes: list[Shape] = []
    free_from = [along.start, along.start]
    for mark in marks:
        x = along.at(mark.at.timestamp())
        shapes.append(Line(x, TOP - 6, x, BOTTOM, "accent", 0.9, (1.5, 2.0)))
        half = text_width(mark.text, 8.5) / 2 + 4
        x_text = min(max(x, along.start + half), along.end - half)
        row = next((r for r in (0, 1) if x_text - half >= free_from[r]), None)
        if row is not None:
            shapes.append(Label(x_text, TOP - 9 - 11 * row, mark.text, 8.5, "accent", anchor="middle"))
            free_from[row] = x_text + half
    return shapes


def _limit_line(up: Scale, along: Scale, limit: float | None, points: Sequence[HistoryPoint]) -> list[Shape]:
    """The limit across the chart, named in the widest gap between two points."""
    if limit is None or not up.holds(limit):
        return []
    y = up.at(limit)
    across = [along.start, *(along.at(p.at.timestamp()) for p in points), along.end]
    gap, middle = max((b - a, (a + b) / 2) for a, b in pairwise(across))
    text = f"limit {words.fixed(limit, 2)}"
    half = text_width(text, 9.0, strong=True) / 2 + 2
    return [
        Line(along.start, y, along.end, y, "ink", 1.25, (3.0, 2.0)),
        *([Box(middle - half, y - 13, 2 * half, 10.5, "paper")] if gap < 2 * half + 12 else []),
        Label(middle, y - 4, text, 9.0, "ink", True, "middle"),
    ]


def _own_limit(up: Scale, along: Scale, point: HistoryPoint) -> list[Shape]:
    """A short piece of the limit's line across the point."""
    if point.limit is None or not up.holds(point.limit):
        return []
    x, y = along.at(point.at.timestamp()), up.at(point.limit)
    return [Line(max(x - 10, along.start), y, min(x + 10, along.end), y, "ink", 1.25, (3.0, 2.0))]


def _point(up: Scale, along: Scale, point: HistoryPoint) -> list[Shape]:
    x, y = along.at(point.at.timestamp()), up.at(point.value.value)
    low, high = up.at(point.value.low), up.at(point.value.high)
    shapes: list[Shape] = [Line(x, low, x, high, "accent", 2.25 if point.this_one else 1.25)]
    for end, value, way in ((low, point.value.low, 1), (high, point.value.high, -1)):
        if up.holds(value):
            shapes.append(Line(x - 3.5, end, x + 3.5, end, "accent", 1.25))
        else:
            shapes.append(
                Polygon(((x - 4, end - 4 * way), (x + 4, end - 4 * way), (x, end + 2 * way)), "accent")
            )
    if up.holds(point.value.value):
        shapes.append(_mark_of(point.mode, x, y, point.this_one))
    return shapes


def _mark_of(mode: str, x: float, y: float, full: bool) -> Shape:
    """A round mark for cooling, a diamond for heating; the newest is filled."""
    fill = "accent" if full else "paper"
    if mode == "cooling":
        return Dot(x, y, 3.8, fill, "accent")
    return Polygon(((x, y - 5), (x + 5, y), (x, y + 5), (x - 5, y)), fill, "accent")


def _key(points: Sequence[HistoryPoint], width: float) -> list[Shape]:
    modes = [mode for mode in ("cooling", "heating") if any(p.mode == mode for p in points)]
    x = width - RIGHT
    shapes: list[Shape] = []
    for mode in reversed(modes):
        x -= text_width(mode, 8.5)
        shapes.append(Label(x, 10.0, mode, 8.5, "muted"))
        x -= 9
        shapes.append(_mark_of(mode, x, 7.0, False))
        x -= 16
    if any(p.limit is not None for p in points):
        x -= text_width(OWN_LIMIT, 8.5) + 6
        shapes.append(Label(x, 10.0, OWN_LIMIT, 8.5, "muted"))
        shapes.append(Line(x - 18, 7.0, x - 4, 7.0, "ink", 1.25, (3.0, 2.0)))
    return shapes


def _words(
    name: str,
    points: Sequence[HistoryPoint],
    limit: float | None,
    unit: str,
    exponent: int,
    marks: Sequence[HistoryMark],
) -> str:
    measured = unit_label(unit, exponent)
    told = "; ".join(
        f"{words.short_day(p.at)} in {p.mode} {'{} ({})'.format(*words.interval_parts(p.value, ''))}"
        + ("" if p.limit is None else f", {OWN_LIMIT} {words.fixed(p.limit, 1)}")
        for p in points
    )
    done = "".join(f" {words.short_day(m.at)}: {m.text}." for m in marks)
    against = "" if limit is None else f" The limit is {words.fixed(limit, 2)}."
    return f"{name} {measured}, with the 95 % interval: {told}.{against}{done}"
