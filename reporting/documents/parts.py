"""The pieces of a document: headings, paragraphs, tables, the message on top, figures with words."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Paragraph, Spacer, Table, TableStyle

from reporting.documents.figures import Figure, to_drawing
from reporting.documents.palette import PALETTE
from reporting.documents.row_table import RowTable
from reporting.documents.type import REGULAR, STRONG, markup, plain, register

Cell = str | Flowable
HEADING_ROOM = 96.0
MOST_ROWS_KEPT = 13
LONG_NOTE = 28


@cache
def style(name: str) -> ParagraphStyle:
    register()
    ink, muted, accent = (HexColor(PALETTE[c]) for c in ("ink", "muted", "accent"))
    base: dict[str, Any] = {"fontName": REGULAR, "fontSize": 10, "leading": 14.5, "textColor": ink}
    made: dict[str, dict[str, Any]] = {
        "body": {},
        "small": {"fontSize": 8.5, "leading": 12, "textColor": muted},
        "label": {"fontSize": 9, "leading": 13, "textColor": muted},
        "cell": {"fontSize": 9.5, "leading": 13},
        "cell-strong": {"fontSize": 9.5, "leading": 13, "fontName": STRONG},
        "cell-muted": {"fontSize": 9.5, "leading": 13, "textColor": muted},
        "head": {"fontSize": 8.5, "leading": 12, "textColor": muted, "fontName": STRONG},
        "right": {"fontSize": 9.5, "leading": 13, "alignment": TA_RIGHT},
        "heading": {"fontName": STRONG, "fontSize": 13, "leading": 17, "spaceBefore": 17, "spaceAfter": 5},
        "overline": {"fontName": STRONG, "fontSize": 10, "leading": 14, "textColor": accent},
        "message-1": {"fontName": STRONG, "fontSize": 21, "leading": 26},
        "message-2": {"fontName": STRONG, "fontSize": 16, "leading": 20.5},
        "message-3": {"fontName": STRONG, "fontSize": 12, "leading": 16},
        "verdict": {"fontSize": 11, "leading": 15.5},
        "figure": {"fontName": STRONG, "fontSize": 18, "leading": 23, "textColor": accent},
    }
    return ParagraphStyle(name, **{**base, **made[name]})


def text(words: str, of: str = "body", *, lead: str = "") -> Paragraph:
    """A paragraph; `lead` stands before the words in the stronger weight."""
    strong = f"<b>{markup(lead)}</b> " if lead else ""
    return Paragraph(strong + markup(words), style(of))


def gap(points: float) -> Spacer:
    return Spacer(1, points)


class Bookmark(Flowable):
    """An entry of the outline at this place; takes no room."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title, self.width, self.height = plain(title), 0.0, 0.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        return 0.0, 0.0

    def draw(self) -> None:
        key = f"section-{self.title}"
        self.canv.bookmarkHorizontal(key, 0, 24)
        self.canv.addOutlineEntry(self.title, key, 0, False)


def section(title: str, *parts: Flowable, kept: int = 1) -> list[Flowable]:
    """A heading that never stands alone at the foot of a page; the first `kept` parts stay with it."""
    first = parts[0]
    head: list[Flowable] = [text(title, "heading"), Bookmark(title)]
    if getattr(first, "_nrows", 0) > MOST_ROWS_KEPT:
        return [CondPageBreak(HEADING_ROOM), *head, *parts]
    return [KeepTogether([*head, *parts[:kept]]), *parts[kept:]]


def looking(look: list[Any]) -> TableStyle:
    """Cells hold paragraphs of their own; the table's own font is set so that no other gets into the file."""
    return TableStyle([("FONTNAME", (0, 0), (-1, -1), REGULAR), *look])


def message_size(words: str) -> str:
    return "message-1" if len(words) <= 110 else "message-2" if len(words) <= 260 else "message-3"


def message(
    overline: str,
    words: str,
    verdict: Flowable,
    reasons: Sequence[str],
    width: float,
    second: Flowable | None = None,
) -> Table:
    """The first thing on the first page: what to do next, what comes second to it, the verdict, then why."""
    rows: list[Any] = [
        [text(overline, "overline")],
        [text(words, message_size(words))],
        *([] if second is None else [[[second, gap(6)]]]),
        [verdict],
        *[[text(reason)] for reason in reasons],
    ]
    last = len(rows) - 1
    look: list[Any] = [
        ("BACKGROUND", (0, 0), (-1, -1), HexColor(PALETTE["wash"])),
        ("LINEBEFORE", (0, 0), (0, -1), 4, HexColor(PALETTE["accent"])),
        ("LEFTPADDING", (0, 0), (-1, -1), 18),
        ("RIGHTPADDING", (0, 0), (-1, -1), 16),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ("TOPPADDING", (0, 0), (0, 0), 14),
        ("BOTTOMPADDING", (0, 1), (0, 1), 8),
        ("BOTTOMPADDING", (0, last), (0, last), 14),
    ]
    return Table(rows, colWidths=[width], style=looking(look), splitInRow=1)


def beside(mark: Figure, words: Sequence[Flowable], width: float) -> Table:
    """A small mark with words to its right."""
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
    ]
    column = mark.width + 8
    return Table([[to_drawing(mark), list(words)]], colWidths=[column, width - column], style=looking(look))


def key_figures(cards: Sequence[tuple[str, str, str]], width: float) -> Table:
    """Three or four figures side by side: name, value, interval."""
    cells = [[text(name, "label"), text(value, "figure"), text(note, "small")] for name, value, note in cards]
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 12),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 8),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ("LINEBEFORE", (1, 0), (-1, -1), 0.5, HexColor(PALETTE["rule"])),
    ]
    shares = [1.35 if len(note) > LONG_NOTE else 1.0 for _, _, note in cards]
    widths = [width * share / sum(shares) for share in shares]
    return Table([cells], colWidths=widths, style=looking(look))


def pairs(rows: Sequence[tuple[str, str]], width: float) -> Table:
    """Names and values in two columns of pairs, read down the left one first."""
    half = (len(rows) + 1) // 2
    right = [*rows[half:], *[("", "")] * (2 * half - len(rows))]
    cells = [
        [text(a, "label"), text(b, "cell"), text(c, "label"), text(d, "cell")]
        for (a, b), (c, d) in zip(rows[:half], right, strict=True)
    ]
    name = 78.0
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 10),
        ("TOPPADDING", (0, 0), (-1, -1), 2.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
    ]
    widths = [name, width / 2 - name, name, width / 2 - name]
    return RowTable(cells, colWidths=widths, style=looking(look))


def table(
    head: Sequence[str], rows: Sequence[Sequence[Cell]], shares: Sequence[float], width: float
) -> Table:
    """A plain table under a repeated head, or without one; the first column names its row."""
    heads = 1 if any(head) else 0
    cells: list[list[Flowable]] = [[text(h, "head") for h in head]] if heads else []
    for row in rows:
        cells.append([c if isinstance(c, Flowable) else text(c, "cell") for c in row])
    rule = HexColor(PALETTE["rule"])
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 10),
        ("TOPPADDING", (0, 0), (-1, -1), 3.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
        ("LINEBELOW", (0, 0), (-1, -1), 0.5, rule),
        *([("LINEBELOW", (0, 0), (-1, 0), 0.9, HexColor(PALETTE["muted"]))] if heads else []),
    ]
    total = sum(shares)
    widths = [width * share / total for share in shares]
    return RowTable(cells, colWidths=widths, style=looking(look), repeatRows=heads)


def numbered(sentences: Sequence[str], width: float, of: str = "body", mark: str | None = None) -> Table:
    """Sentences one under the other, each with its number or a mark, so that people can point at them."""
    cells = [[text(mark or f"{i}", of), text(s, of)] for i, s in enumerate(sentences, start=1)]
    look: list[Any] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    return RowTable(cells, colWidths=[20, width - 20], style=looking(look))


def figure(drawn: Figure, caption: str | None = None) -> list[Flowable]:
    """A chart with its words under it, or a shorter caption where a table beside it tells the same."""
    return [to_drawing(drawn), gap(2), text(drawn.words if caption is None else caption, "small")]
