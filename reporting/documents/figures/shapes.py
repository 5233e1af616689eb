"""What a figure is made of. Points, y downwards from the top left; colours by their part in the palette."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Line:
    x1: float
    y1: float
    x2: float
    y2: float
    ink: str = "ink"
    width: float = 0.75
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float
    fill: str
    corner: float = 0.0


@dataclass(frozen=True, slots=True)
class Polygon:
    points: tuple[tuple[float, float], ...]
    fill: str
    edge: str | None = None


@dataclass(frozen=True, slots=True)
class Dot:
    x: float
    y: float
    radius: float
    fill: str
    edge: str
    edge_width: float = 1.25


@dataclass(frozen=True, slots=True)
class Label:
    x: float
    y: float
    text: str
    size: float = 9.0
    ink: str = "ink"
    strong: bool = False
    anchor: Anchor = "start"


Shape = Line | Box | Polygon | Dot | Label


@dataclass(frozen=True, slots=True)
class Figure:
    """Shapes in drawing order; `title` names the chart, `words` tell all it shows to who cannot see it."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str
    words: str
