"""A sheet of tags to cut out and stick on units: a QR code that opens the unit, and its code in letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from itertools import groupby
from typing import Any

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.lib.colors import HexColor, black
from reportlab.pdfgen.canvas import Canvas

from reporting.documents.frame import PAPERS
from reporting.documents.palette import PALETTE
from reporting.documents.type import REGULAR, STRONG, plain, register, width

MM = 72 / 25.4
MARGIN, ACROSS, DOWN = 12 * MM, 2, 6
QUIET_EDGE = 4  # modules, ISO/IEC 18004


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
    _draw_code(canvas, tag.address, left + 4 * MM, bottom + (high - side) / 2, side)
    room = wide - side - 12 * MM
    _words(canvas, tag, contractor, left + side + 8 * MM, bottom + high - 12 * MM, room)


def _widget(address: str) -> Any:
    return QrCodeWidget(address, barLevel="M", barBorder=QUIET_EDGE)


@lru_cache(maxsize=1024)
def _dark_runs(address: str) -> tuple[int, tuple[tuple[int, int, int], ...]]:
    """How many modules the code has across, and its dark runs: row from the top, first column, length."""
    code = _widget(address).qr
    code.make()
    runs = []
    for row, modules in enumerate(code.modules):
        first = 0
        for dark, same in groupby(map(bool, modules)):
            length = len(list(same))
            if dark:
                runs.append((row, first, length))
            first += length
    return len(code.modules), tuple(runs)


def _draw_code(canvas: Canvas, address: str, left: float, bottom: float, side: float) -> None:
    """As one filled path, with the quiet edge left free: a shape for every run takes six times as long."""
    across, runs = _dark_runs(address)
    canvas.saveState()
    canvas.translate(left, bottom)
    canvas.scale(side / (across + 2 * QUIET_EDGE), side / (across + 2 * QUIET_EDGE))
    path = canvas.beginPath()
    for row, first, length in runs:
        path.rect(QUIET_EDGE + first, QUIET_EDGE + across - 1 - row, length, 1)
    canvas.setFillColor(black)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


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
