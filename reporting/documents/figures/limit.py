"""One value with its 95 % interval against its limit, on a line."""

from __future__ import annotations

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.figures.scale import Scale, decimals_of, step_for, ticks, window
from reporting.documents.figures.shapes import Box, Dot, Figure, Label, Line, Polygon, Shape

HEIGHT = 96.0
BAR_Y = 46.0
AXIS_Y = 68.0


def limit_figure(
    name: str, value: Interval, limit: float | None, unit: str, exponent: int = 0, width: float = 470.0
) -> Figure:
    """Value and limit are in units of `10**exponent unit`, as they shall be written along the axis."""
    low, high = window([value.low], [value.high], limit)
    scale = Scale(low, high, 6.0, width - 6.0)
    shapes = [
        *_beyond(scale, limit),
        *_axis(scale, unit, exponent),
        *_interval(scale, value),
        *_limit_mark(scale, limit),
    ]
    return Figure(
        width, HEIGHT, tuple(shapes), f"{name} against its limit", _words(name, value, limit, unit, exponent)
    )


def _beyond(scale: Scale, limit: float | None) -> list[Shape]:
    if limit is None or not scale.holds(limit):
        return []
    x = scale.at(limit)
    return [Box(x, 22.0, scale.end - x, AXIS_Y - 22.0, "wash")]


def _limit_mark(scale: Scale, limit: float | None) -> list[Shape]:
    if limit is None or not scale.holds(limit):
        return []
    x = scale.at(limit)
    text = f"limit {words.fixed(limit, 2)}"
    left_room = x - scale.start > 60
    return [
        Line(x, 16.0, x, AXIS_Y, "ink", 1.25, (3.0, 2.0)),
        Label(x - 5 if left_room else x + 5, 17.0, text, 9.0, "ink", True, "end" if left_room else "start"),
        *([Label(x + 5, 17.0, "beyond the limit", 9.0, "muted")] if left_room and scale.end - x > 80 else []),
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


def unit_label(unit: str, exponent: int) -> str:
    return f"in {words.counted_in(unit, exponent)}"


def _interval(scale: Scale, value: Interval) -> list[Shape]:
    left, right, middle = scale.at(value.low), scale.at(value.high), scale.at(value.value)
    shapes: list[Shape] = [Box(left, BAR_Y - 5.0, max(right - left, 1.0), 10.0, "soft", 1.0)]
    for x, inside, way in ((left, scale.holds(value.low), -1), (right, scale.holds(value.high), 1)):
        if inside:
            shapes.append(Line(x, BAR_Y - 8.0, x, BAR_Y + 8.0, "accent", 1.25))
        else:
            tip = ((x - 5 * way, BAR_Y - 8), (x + 2 * way, BAR_Y), (x - 5 * way, BAR_Y + 8))
            shapes.append(Polygon(tip, "accent"))
    if scale.holds(value.value):
        shapes.append(Dot(middle, BAR_Y, 4.5, "accent", "paper"))
    decimals = words.decimals_for((value.high - value.low) / 2)
    anchor = max(scale.start + 10, min(middle, scale.end - 10))
    shapes.append(
        Label(anchor, BAR_Y - 11.0, words.fixed(value.value, decimals), 10.0, "accent", True, "middle")
    )
    return shapes


def _words(name: str, value: Interval, limit: float | None, unit: str, exponent: int) -> str:
    middle, ends = words.interval_parts(value, "")
    tail = f" {words.times_ten(exponent)} {words.pretty_unit(unit)}".replace("  ", " ")
    text = f"{name} {middle}{tail}; with 95 % probability the truth lies from {ends}{tail}."
    if limit is None:
        return text
    if value.low > limit:
        place = "the whole interval lies beyond it"
    elif value.high < limit:
        place = "the whole interval lies within it"
    else:
        place = "the interval holds it"
    return f"{text} The limit is {words.fixed(limit, 2)}{tail}: {place}."
