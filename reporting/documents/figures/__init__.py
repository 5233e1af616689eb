"""Charts, each drawn once from data into plain shapes, then rendered for the PDF or for a page."""

from reporting.documents.figures.before_after import before_after_figure
from reporting.documents.figures.history import HistoryMark, HistoryPoint, history_figure
from reporting.documents.figures.limit import limit_figure
from reporting.documents.figures.mark import verdict_mark
from reporting.documents.figures.pdf import to_drawing
from reporting.documents.figures.shapes import Figure
from reporting.documents.figures.svg import to_svg

__all__ = [
    "Figure",
    "HistoryMark",
    "HistoryPoint",
    "before_after_figure",
    "history_figure",
    "limit_figure",
    "to_drawing",
    "to_svg",
    "verdict_mark",
]
