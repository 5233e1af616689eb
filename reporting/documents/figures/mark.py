"""The mark beside a verdict: its shape tells, not its colour."""

from __future__ import annotations

import math

from reporting.documents.figures.shapes import Dot, Figure, Line, Polygon, Shape

SIZE = 18.0


def verdict_mark(kind: str) -> Figure:
    """Disc: fouled. Ring with a tick: clean. Half disc: undecided. Ring with a dash: withheld."""
    c, r = SIZE / 2, SIZE / 2 - 1.5
    ring = Dot(c, c, r, "paper", "ink", 1.5)
    shapes: list[Shape] = [ring]
    if kind == "fouled":
        shapes = [Dot(c, c, r, "ink", "ink", 1.5)]
    elif kind == "clean":
        shapes += [
            Line(c - 3.6, c + 0.2, c - 1, c + 3, "ink", 1.6),
            Line(c - 1, c + 3, c + 3.8, c - 3.2, "ink", 1.6),
        ]
    elif kind == "undecided":
        arc = [math.pi * (0.5 + i / 24) for i in range(25)]
        shapes.append(Polygon(tuple((c + r * math.cos(a), c - r * math.sin(a)) for a in arc), "ink"))
    else:
        shapes.append(Line(c - 3.4, c, c + 3.4, c, "ink", 1.6))
    return Figure(SIZE, SIZE, tuple(shapes), f"Mark: {kind}", kind)
