"""A figure as SVG for a page: named and described for who cannot see it, colours open to the page's own."""

from __future__ import annotations

import hashlib
from xml.sax.saxutils import escape, quoteattr

from reporting.documents.figures.shapes import Box, Dot, Figure, Label, Line, Polygon, Shape
from reporting.documents.palette import PALETTE


def to_svg(figure: Figure) -> str:
    """Colours are `var(--figure-ink, #16252b)` and so on: a page may set them, for dark among others."""
    body = "".join(_drawn(shape) for shape in figure.shapes)
    key = hashlib.sha256((figure.title + figure.words + body).encode()).hexdigest()[:12]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(figure.width)} {_n(figure.height)}" '
        f'width="100%" role="img" aria-labelledby="t{key} d{key}" class="figure">'
        f'<title id="t{key}">{escape(figure.title)}</title><desc id="d{key}">{escape(figure.words)}</desc>'
        f"{body}</svg>"
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _colour(name: str) -> str:
    return quoteattr(f"var(--figure-{name}, {PALETTE[name]})")


def _drawn(shape: Shape) -> str:
    match shape:
        case Line():
            dash = f' stroke-dasharray="{" ".join(_n(d) for d in shape.dash)}"' if shape.dash else ""
            return (
                f'<line x1="{_n(shape.x1)}" y1="{_n(shape.y1)}" x2="{_n(shape.x2)}" y2="{_n(shape.y2)}" '
                f'stroke={_colour(shape.ink)} stroke-width="{_n(shape.width)}"{dash}/>'
            )
        case Box():
            return (
                f'<rect x="{_n(shape.x)}" y="{_n(shape.y)}" '
                f'width="{_n(shape.width)}" height="{_n(shape.height)}" '
                f'rx="{_n(shape.corner)}" fill={_colour(shape.fill)}/>'
            )
        case Polygon():
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in shape.points)
            edge = f' stroke={_colour(shape.edge)} stroke-width="1.25"' if shape.edge else ""
            return f'<polygon points="{points}" fill={_colour(shape.fill)}{edge}/>'
        case Dot():
            return (
                f'<circle cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.radius)}" '
                f"fill={_colour(shape.fill)} "
                f'stroke={_colour(shape.edge)} stroke-width="{_n(shape.edge_width)}"/>'
            )
        case Label():
            weight = ' font-weight="600"' if shape.strong else ""
            return (
                f'<text x="{_n(shape.x)}" y="{_n(shape.y)}" font-size="{_n(shape.size)}" '
                f'text-anchor="{shape.anchor}" fill={_colour(shape.ink)}{weight}>{escape(shape.text)}</text>'
            )
