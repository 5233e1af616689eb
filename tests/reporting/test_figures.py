"""One chart, drawn once: shapes that the PDF and the page render alike, with words for who cannot see it."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine.records import Interval
from reporting.documents.figures import (
    Figure,
    HistoryMark,
    HistoryPoint,
    history_figure,
    limit_figure,
    to_drawing,
    to_svg,
    verdict_mark,
)
from reporting.documents.figures.scale import Scale, ticks
from reporting.documents.figures.shapes import Box, Dot, Label, Line, Polygon
from reporting.documents.palette import PALETTE

SVG = "{http://www.w3.org/2000/svg}"
DAY = datetime(2024, 1, 5, tzinfo=UTC)


USUAL = Interval(2.6, 1.9, 3.4)


def limit(value: Interval = USUAL, at: float | None = 1.76) -> Figure:
    return limit_figure("Fouling resistance", value, at, "m2K/W", -4)


def history(count: int = 6) -> Figure:
    points = [
        HistoryPoint(
            DAY + timedelta(days=90 * i),
            Interval(i / 2, i / 2 - 0.4, i / 2 + 0.5),
            "heating" if i % 3 == 1 else "cooling",
        )
        for i in range(count)
    ]
    return history_figure(
        "Fouling resistance", points, 1.76, "m2K/W", -4, [HistoryMark(DAY + timedelta(days=200), "Descaled")]
    )


def excess() -> Figure:
    """Each point beside the limit at its own load."""
    points = [
        HistoryPoint(
            DAY + timedelta(days=90 * i), Interval(i, i - 0.4, i + 0.5), "cooling", i == 3, 3.6 + i / 10
        )
        for i in range(4)
    ]
    return history_figure("Excess approach", points, None, "K", 0)


ALL = [limit(), excess(), limit(at=None), limit(Interval(4, -90, 190)), history(), history(1), history(60),
       *(verdict_mark(kind) for kind in ("fouled", "clean", "undecided", "withheld"))]  # fmt: skip


@pytest.mark.parametrize("figure", ALL)
def test_the_svg_is_well_formed_named_and_described(figure: Figure) -> None:
    root = ET.fromstring(to_svg(figure))
    title, words = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None and title.text == figure.title
    assert words is not None and words.text == figure.words
    assert root.get("role") == "img"
    assert (root.get("aria-labelledby") or "").split() == [title.get("id"), words.get("id")]
    assert len(list(root)) == len(figure.shapes) + 2, "every shape is drawn"


@pytest.mark.parametrize("figure", ALL)
def test_the_svg_carries_no_style_or_script_that_a_strict_page_would_block(figure: Figure) -> None:
    for element in ET.fromstring(to_svg(figure)).iter():
        assert element.tag not in (f"{SVG}style", f"{SVG}script", f"{SVG}image")
        assert "style" not in element.attrib
        assert not any(name.startswith("on") or "href" in name for name in element.attrib)


def test_markup_in_a_name_stays_text() -> None:
    drawn = limit_figure("<script>&", Interval(1, 0, 2), 1.5, "K/W")
    root = ET.fromstring(to_svg(drawn))
    assert (root.findtext(f"{SVG}title") or "").startswith("<script>&")


@pytest.mark.parametrize("figure", ALL)
def test_the_pdf_draws_the_same_shapes(figure: Figure) -> None:
    drawing = to_drawing(figure)
    assert (drawing.width, drawing.height) == (figure.width, figure.height)
    assert len(drawing.contents) == len(figure.shapes)


@pytest.mark.parametrize("figure", ALL)
def test_nothing_is_drawn_outside_the_figure(figure: Figure) -> None:
    from reporting.documents.type import width

    for shape in figure.shapes:
        match shape:
            case Line():
                places = [(shape.x1, shape.y1), (shape.x2, shape.y2)]
            case Box():
                places = [(shape.x, shape.y), (shape.x + shape.width, shape.y + shape.height)]
            case Polygon():
                places = list(shape.points)
            case Dot():
                places = [(shape.x - shape.radius, shape.y), (shape.x + shape.radius, shape.y)]
            case Label():
                wide = width(shape.text, shape.size, strong=shape.strong)
                left = shape.x - {"start": 0, "middle": wide / 2, "end": wide}[shape.anchor]
                places = [(left, shape.y - shape.size * 0.7), (left + wide, shape.y)]
        for x, y in places:
            assert -2.5 <= x <= figure.width + 2.5 and -0.5 <= y <= figure.height + 0.5, shape


def test_the_words_tell_value_interval_limit_and_how_they_lie() -> None:
    assert "2.6" in limit().words and "1.9 to 3.4" in limit().words and "limit is 1.76" in limit().words
    assert "whole interval lies beyond it" in limit().words
    assert "interval holds it" in limit(Interval(1.5, 0.1, 3.1)).words
    assert "whole interval lies within it" in limit(Interval(0.2, -0.3, 0.7)).words


def test_a_limit_that_moves_with_the_load_stands_beside_each_point() -> None:
    dashes = [shape for shape in excess().shapes if isinstance(shape, Line) and shape.dash]
    heights = sorted({shape.y1 for shape in dashes if shape.x2 - shape.x1 > 15})
    assert len(heights) == 4, "one for each point, each at its own height"
    labels = [shape.text for shape in excess().shapes if isinstance(shape, Label)]
    assert "limit at that load" in labels
    assert "limit at that load 3.9" in excess().words
    assert not [shape for shape in history().shapes if isinstance(shape, Label) and "load" in shape.text]


def test_the_words_of_the_history_tell_every_point_and_what_was_done() -> None:
    words = history(4).words
    assert words.count("(") == 4 and "Descaled" in words and "5\u00a0Jan\u00a02024" in words


def test_the_bar_ends_where_the_interval_does_and_the_limit_line_stands_at_the_limit() -> None:
    """By arithmetic: places on the axis are proportional to values."""
    drawn = limit(Interval(2.0, 1.0, 3.0), 1.5)
    bar = next(shape for shape in drawn.shapes if isinstance(shape, Box) and shape.fill == "soft")
    line = next(shape for shape in drawn.shapes if isinstance(shape, Line) and shape.dash)
    middle = next(shape for shape in drawn.shapes if isinstance(shape, Dot))
    assert middle.x == pytest.approx(bar.x + bar.width / 2)
    assert line.x1 == pytest.approx(bar.x + bar.width / 4)


def test_an_interval_many_limits_wide_is_cut_with_an_arrow_not_squeezed() -> None:
    drawn = limit(Interval(4.0, -90.0, 190.0))
    assert sum(isinstance(shape, Polygon) for shape in drawn.shapes) == 2


def test_cooling_and_heating_are_told_apart_by_shape() -> None:
    shapes = history(6).shapes
    assert any(isinstance(s, Dot) for s in shapes) and any(
        isinstance(s, Polygon) and len(s.points) == 4 for s in shapes
    )


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("ground", ["paper", "wash"])
@pytest.mark.parametrize("ink", ["ink", "muted", "accent"])
def test_text_stands_out_from_its_ground(ink: str, ground: str) -> None:
    """WCAG 2.2, 1.4.3: contrast of at least 4.5, by its own formula of relative luminance."""
    light, dark = sorted((luminance(PALETTE[ink]), luminance(PALETTE[ground])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


@given(st.floats(-1e3, 1e3), st.floats(1e-3, 1e6))
def test_ticks_lie_within_the_axis_and_are_evenly_spaced(low: float, span: float) -> None:
    found = ticks(low, low + span, 5)
    assert len(found) <= 12
    assert all(low - span * 1e-6 <= tick <= low + span * (1 + 1e-6) for tick in found)


@given(st.floats(-1e3, 1e3))
def test_what_lies_outside_the_axis_is_held_at_its_edge(value: float) -> None:
    scale = Scale(0.0, 10.0, 100.0, 200.0)
    assert 100.0 <= scale.at(value) <= 200.0
