"""The sheet of every document: paper, margins, masthead, page numbers, the same bytes every time."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from reporting.documents.palette import PALETTE
from reporting.documents.type import REGULAR, STRONG, plain, register, width

PAPERS: dict[str, tuple[float, float]] = {"a4": A4, "letter": LETTER}
MARGIN, HEAD, FOOT = 54.0, 64.0, 56.0
STAMPS = re.compile(rb"/(CreationDate|ModDate) \(D:\d{14}\+00'00'\)")


@dataclass(frozen=True, slots=True)
class Imprint:
    """What stands on every sheet and in the file's properties."""

    contractor: str
    title: str
    subject: str
    foot: str


def text_width_of(paper: str) -> float:
    return PAPERS[paper][0] - 2 * MARGIN


def numbered_canvas(imprint: Imprint) -> type[Canvas]:
    """A canvas that knows how many pages there are: they are kept, then finished together."""

    class NumberedCanvas(Canvas):
        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self._kept: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self._kept.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]

        def save(self) -> None:
            total = len(self._kept)
            for number, state in enumerate(self._kept, start=1):
                self.__dict__.update(state)
                _furnish(self, imprint, number, total)
                super().showPage()
            super().save()

    return NumberedCanvas


def _furnish(canvas: Canvas, imprint: Imprint, number: int, total: int) -> None:
    """Masthead and foot, written after the page's own text so that a reader aloud meets the message first."""
    page_width, page_height = canvas._pagesize  # type: ignore[attr-defined]
    right, top = page_width - MARGIN, page_height - 40
    canvas.saveState()
    canvas.setFillColor(HexColor(PALETTE["accent"]))
    canvas.rect(MARGIN, top - 9, 22, 2, stroke=0, fill=1)
    canvas.setFont(STRONG, 11)
    canvas.drawString(MARGIN, top, _cut(imprint.contractor, 11, 220, strong=True))
    canvas.setFillColor(HexColor(PALETTE["muted"]))
    canvas.setFont(REGULAR, 9)
    canvas.drawRightString(right, top, _cut(imprint.title, 9, right - MARGIN - 230))
    canvas.setStrokeColor(HexColor(PALETTE["rule"]))
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, 40, right, 40)
    page = f"Page {number} of {total}"
    canvas.drawRightString(right, 27, page)
    canvas.drawString(MARGIN, 27, _cut(imprint.foot, 9, right - MARGIN - width(page, 9) - 20))
    canvas.restoreState()


def _cut(text: str, size: float, room: float, *, strong: bool = False) -> str:
    """The text, or as much of it as fits with an ellipsis."""
    text = plain(text)
    if width(text, size, strong=strong) <= room:
        return text
    while text and width(text + "…", size, strong=strong) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def build(story: Sequence[Flowable], paper: str, imprint: Imprint) -> bytes:
    """The finished PDF, undated. The same story gives the same bytes."""
    register()
    page_width, page_height = PAPERS[paper]
    out = BytesIO()
    template = BaseDocTemplate(
        out,
        pagesize=(page_width, page_height),
        title=plain(imprint.title),
        author=plain(imprint.contractor),
        subject=plain(imprint.subject),
        creator="Waterside",
        lang="en-GB",
        invariant=1,
        initialFontName=REGULAR,
    )
    frame = Frame(
        MARGIN, FOOT, page_width - 2 * MARGIN, page_height - HEAD - FOOT,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    template.addPageTemplates([PageTemplate(frames=[frame])])
    maker: Callable[..., Canvas] = numbered_canvas(imprint)
    template.build(list(story), canvasmaker=maker)
    return out.getvalue()


def dated(content: bytes, prepared_at: datetime) -> bytes:
    """The same document, its properties saying when it was prepared; a stamp keeps its length."""
    stamp = f"D:{prepared_at.astimezone(UTC):%Y%m%d%H%M%S}+00'00'".encode()
    found, count = STAMPS.subn(rb"/\1 (" + stamp + rb")", content)
    if count != 2:
        raise ValueError(f"{count} dates in the file's properties; expected 2")
    return found
