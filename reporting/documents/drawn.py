"""Flowables that are drawn: a QR code with its words, a signature as it was drawn, a line to write on."""

from __future__ import annotations

from typing import Any

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable

from reporting.documents.job_facts import Strokes
from reporting.documents.palette import PALETTE


def qr_code(address: str, side: float = 84.0) -> Drawing:
    """A code that a phone's camera reads; level M bears a smear."""
    widget: Any = QrCodeWidget(address, barLevel="M", barBorder=2)
    left, low, right, _ = widget.getBounds()
    scale = side / (right - left)
    drawing = Drawing(side, side, transform=[scale, 0, 0, scale, -left * scale, -low * scale])
    widget.barFillColor = HexColor(PALETTE["ink"])
    drawing.add(widget)
    return drawing


class Drawn(Flowable):
    """A signature: strokes of points in shares of width and height, y downwards."""

    def __init__(self, strokes: Strokes, width: float = 170.0, height: float = 54.0) -> None:
        super().__init__()
        self.strokes, self.width, self.height = strokes, width, height

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.setStrokeColor(HexColor(PALETTE["rule"]))
        canvas.setLineWidth(0.5)
        canvas.line(0, 0, self.width, 0)
        canvas.setStrokeColor(HexColor(PALETTE["ink"]))
        canvas.setLineWidth(1.1)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for stroke in self.strokes:
            self._stroke(canvas, stroke)

    def _stroke(self, canvas: Any, stroke: tuple[tuple[float, float], ...]) -> None:
        points = [(x * self.width, (1.0 - y) * self.height) for x, y in stroke]
        if not points:
            return
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:] or points:
            path.lineTo(*point)
        canvas.drawPath(path, stroke=1, fill=0)


class Box(Flowable):
    """A box to tick."""

    def __init__(self, side: float = 9.0) -> None:
        super().__init__()
        self.width = self.height = side

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.setStrokeColor(HexColor(PALETTE["muted"]))
        canvas.setLineWidth(0.9)
        canvas.rect(0, -1, self.width, self.height, stroke=1, fill=0)
