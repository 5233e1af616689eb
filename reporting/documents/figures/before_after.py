"""Two values with their 95 % intervals on one line: before and after, and the limit they are held against."""

from __future__ import annotations

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.figures.limit import unit_label
from reporting.documents.figures.scale import Scale, decimals_of, step_for, ticks, window
from reporting.documents.figures.shapes import Box, Dot, Figure, Label, Line, Shape

HEIGHT = 128.0
ROWS = {"before": 40.0, "after": 72.0}
AXIS_Y = 98.0
NAMES = 52.0


def before_after_figure(
    name: str,
    before: Interval,
    after: Interval,
    limit: float | None,
    unit: str,
    exponent: int = 0,
    width: float = 470.0,
) -> Figure:
    """Values and limit in units of `10**exponent unit`."""
    low, high = window([before.low, after.low, 0.0], [before.high, after.high], limit)
    scale = Scale(low, high, NAMES, width - 6.0)
    shapes: list[Shape] = [*_limit(scale, limit), *_axis(scale, unit, exponent)]
    for said, value, fill in (("before", before, "soft"), ("after", after, "accent")):
        shapes += _row(scale, said, value, fill)
    told = _words(name, before, after, limit, unit, exponent)
    return Figure(width, HEIGHT, tuple(shapes), f"{name} before and after", told)


def _row(scale: Scale, said: str, value: Interval, fill: str) -> list[Shape]:
    y = ROWS[said]
    left, right = (scale.at(max(min(v, scale.high), scale.low)) for v in (value.low, value.high))
    decimals = words.decimals_for((value.high - value.low) / 2)
    middle = scale.at(max(min(value.value, scale.high), scale.low))
    return [
        Label(0.0, y + 3.5, said, 10.0, "ink", True),
        Box(left, y - 5.0, max(right - left, 1.0), 10.0, "soft", 1.0),
        Line(left, y - 8.0, left, y + 8.0, "accent", 1.25),
        Line(right, y - 8.0, right, y + 8.0, "accent", 1.25),
        Dot(middle, y, 4.5, "accent" if fill == "accent" else "paper", "accent"),
        Label(middle, y - 10.5, words.fixed(value.value, decimals), 10.0, "accent", True, "middle"),
    ]


def _limit(scale: Scale, limit: float | None) -> list[Shape]:
    if limit is None or not scale.holds(limit):
        return []
    x = scale.at(limit)
    left_room = x - scale.start > 60
    at = x - 5 if left_room else x + 5
    return [
        Box(x, 18.0, scale.end - x, AXIS_Y - 18.0, "wash"),
        Line(x, 12.0, x, AXIS_Y, "ink", 1.25, (3.0, 2.0)),
        Label(at, 14.0, f"limit {words.fixed(limit, 2)}", 9.0, "ink", True, "end" if left_room else "start"),
    ]


def _axis(scale: Scale, unit: str, exponent: int) -> list[Shape]:
    shapes: list[Shape] = [Line(scale.start, AXIS_Y, scale.end, AXIS_Y, "muted", 0.75)]
    decimals = decimals_of(step_for(scale.high - scale.low, 6))
    for tick in ticks(scale.low, scale.high, 6):
        x = scale.at(tick)
        shapes.append(Line(x, AXIS_Y, x, AXIS_Y + 3.5, "muted", 0.75))
        shapes.append(Label(x, AXIS_Y + 13.0, words.fixed(tick, decimals), 8.5, "muted", anchor="middle"))
    shapes.append(Label(scale.end, AXIS_Y + 25.0, unit_label(unit, exponent), 8.5, "muted", anchor="end"))
    return shapes


def _words(
    name: str, before: Interval, after: Interval, limit: float | None, unit: str, exponent: int
) -> str:
    tail = f" {words.times_ten(exponent)} {words.pretty_unit(unit)}".replace("  ", " ")
    (first, first_ends), (then, then_ends) = words.interval_parts(before, ""), words.interval_parts(after, "")
    told = f"{name} {first}{tail} before ({first_ends}) and {then}{tail} after ({then_ends})"
    return f"{told}." if limit is None else f"{told}; the limit is {words.fixed(limit, 2)}{tail}."
