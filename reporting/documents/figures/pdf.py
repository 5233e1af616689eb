"""A figure as a drawing for the PDF."""

from __future__ import annotations

from typing import Any

from reportlab.graphics import shapes as rl
from reportlab.lib.colors import Color, HexColor

from reporting.documents.figures.shapes import Box, Dot, Figure, Label, Line, Polygon, Shape
from reporting.documents.palette import PALETTE
from reporting.documents.type import REGULAR, STRONG, plain, register


def to_drawing(figure: Figure) -> rl.Drawing:
    register()
    drawing = rl.Drawing(figure.width, figure.height)
    for shape in figure.shapes:
        drawing.add(_drawn(shape, figure.height))
    return drawing


def _colour(name: str) -> Color:
    return HexColor(PALETTE[name])


def _drawn(shape: Shape, height: float) -> rl.Shape:
    match shape:
        case Line():
            look: dict[str, Any] = {"strokeColor": _colour(shape.ink), "strokeWidth": shape.width}
            if shape.dash:
                look["strokeDashArray"] = shape.dash
            return rl.Line(shape.x1, height - shape.y1, shape.x2, height - shape.y2, **look)
        case Box():
            look = {
                "fillColor": _colour(shape.fill),
                "strokeColor": None,
                "rx": shape.corner,
                "ry": shape.corner,
            }
            return rl.Rect(shape.x, height - shape.y - shape.height, shape.width, shape.height, **look)
        case Polygon():
            flat = [v for x, y in shape.points for v in (x, height - y)]
            edge = _colour(shape.edge) if shape.edge else None
            look = {"fillColor": _colour(shape.fill), "strokeColor": edge, "strokeWidth": 1.25}
            return rl.Polygon(flat, **look)
        case Dot():
            look = {"fillColor": _colour(shape.fill), "strokeColor": _colour(shape.edge)}
            look["strokeWidth"] = shape.edge_width
            return rl.Circle(shape.x, height - shape.y, shape.radius, **look)
        case Label():
            look = {"fontName": STRONG if shape.strong else REGULAR, "fontSize": shape.size}
            look |= {"textAnchor": shape.anchor, "fillColor": _colour(shape.ink)}
            return rl.String(shape.x, height - shape.y, plain(shape.text), **look)
