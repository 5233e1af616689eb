"""A sheet of tags to cut out and stick on units: a QR code that opens the unit, and its code in letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from reporting.documents.frame import PAPERS
from reporting.documents.palette import PALETTE
from reporting.documents.type import REGULAR, STRONG, plain, register, width

MM = 72 / 25.4
MARGIN, ACROSS, DOWN = 12 * MM, 2, 6


@dataclass(frozen=True, slots=True)
class Tag:
    """One unit's: the code on the unit, where it stands, and the address that the QR code holds."""

    code: str
    place: str
    site: str
    address: str


def render(tags: Sequence[Tag], paper: str, contractor: str) -> bytes:
    """The finished PDF; the same tags give the same bytes."""
    register()
    out = BytesIO()
    canvas = Canvas(out, pagesize=PAPERS[paper], invariant=1, lang="en-GB")
    canvas.setTitle(plain(f"Tags of {tags[0].site}" if tags else "Tags"))
    canvas.setAuthor(plain(contractor))
    for number, tag in enumerate(tags):
        if number and number % (ACROSS * DOWN) == 0:
            canvas.showPage()
        _label(canvas, tag, number % (ACROSS * DOWN), PAPERS[paper], contractor)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _label(canvas: Canvas, tag: Tag, place: int, page: tuple[float, float], contractor: str) -> None:
    wide, high = (page[0] - 2 * MARGIN) / ACROSS, (page[1] - 2 * MARGIN) / DOWN
    left, bottom = MARGIN + place % ACROSS * wide, page[1] - MARGIN - (place // ACROSS + 1) * high
    canvas.setStrokeColor(HexColor(PALETTE["rule"]))
    canvas.setDash(2, 2)
    canvas.rect(left, bottom, wide, high)
    canvas.setDash()
    side = min(high - 8 * MM, 34 * MM)
    renderPDF.draw(_code(tag.address, side), canvas, left + 4 * MM, bottom + (high - side) / 2)
    room = wide - side - 12 * MM
    _words(canvas, tag, contractor, left + side + 8 * MM, bottom + high - 12 * MM, room)


def _code(address: str, side: float) -> Drawing:
    widget = QrCodeWidget(address, barLevel="M", barWidth=side, barHeight=side, barBorder=4)
    drawing = Drawing(side, side)
    drawing.add(widget)
    return drawing


def _words(canvas: Canvas, tag: Tag, contractor: str, left: float, top: float, room: float) -> None:
    size = 22.0
    while size > 9 and width(tag.code, size, strong=True) > room:
        size -= 1
    canvas.setFillColor(HexColor(PALETTE["ink"]))
    canvas.setFont(STRONG, size)
    canvas.drawString(left, top - size * 0.6, plain(tag.code))
    canvas.setFillColor(HexColor(PALETTE["muted"]))
    for line, words in enumerate((tag.site, tag.place, contractor)):
        canvas.setFont(REGULAR, 9)
        canvas.drawString(left, top - size * 0.6 - 16 - 12 * line, _cut(words, room))


def _cut(words: str, room: float) -> str:
    text = plain(words)
    while text and width(text, 9) > room:
        text = text[:-1]
    return text if text == plain(words) else text.rstrip() + "…"
