"""Placeholder label and safety sheet of a generic cleaner, so that the demo's descale can be walked through.

Invented for the demo: every page says that nobody works by it. A real job takes the supplier's own.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, SimpleDocTemplate, Table, TableStyle

from contractor.register.models import Cleaner
from reporting.documents.frame import PAPERS
from reporting.documents.palette import PALETTE
from reporting.documents.parts import gap, text
from reporting.documents.type import REGULAR, plain

WARNING = "Invented for the demo; not a safety data sheet to work by"
MARGIN = 56.0


def label_of(cleaner: Cleaner) -> bytes:
    """The placeholder label: what it is, how strong, how warm, how long, on what."""
    rows = [
        ("Acid", _acids(cleaner)),
        ("Bath, acid by mass", f"{_share(cleaner.strength_low)} to {_share(cleaner.strength_high)}, "
                               f"usually {_share(cleaner.strength_usual)}"),
        ("Never warmer than", f"{(cleaner.highest_temperature_k or 273.15) - 273.15:.0f} °C"),
        ("Out after at most", f"{(cleaner.longest_time_s or 0.0) / 3600.0:g} hours"),
        ("May touch", _words(cleaner.metals_allowed)),
        ("Only with its inhibitor", _words(cleaner.metals_only_inhibited) if cleaner.inhibited else "none"),
        ("Must not touch", _words(cleaner.metals_forbidden)),
        ("Always", "Acid into water, never the reverse, in portions. Never with bleach or another cleaner."),
    ]  # fmt: skip
    return _pdf(f"Label: {cleaner}", rows)


def safety_sheet_of(cleaner: Cleaner) -> bytes:
    """The placeholder safety sheet: protection, first aid, spills, storage, disposal."""
    rows = [
        ("Contains", _acids(cleaner)),
        ("Hazards", "Corrosive to eyes, skin and metals; gives off carbon dioxide on scale."),
        ("Protection", "; ".join(cleaner.protection)),
        ("First aid", cleaner.first_aid),
        ("Emergency number", cleaner.emergency_phone or "none: this sheet is invented"),
        ("Spills", f"Neutralise with {_words(cleaner.neutralisers)}; ventilate; keep out of drains."),
        ("Storage", cleaner.storage),
        ("Disposal", cleaner.disposal),
    ]
    return _pdf(f"Safety sheet: {cleaner}", rows)


def _pdf(title: str, rows: list[tuple[str, str]]) -> bytes:
    out = BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=PAPERS["a4"], leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN,
        bottomMargin=MARGIN, title=plain(title), author=plain(WARNING), lang="en-GB", invariant=1,
    )  # fmt: skip
    table = Table(
        [[text(name, "label"), text(words, "cell")] for name, words in rows],
        colWidths=[120, document.width - 120],
        style=TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"),
                          ("LINEBELOW", (0, 0), (-1, -1), 0.5, HexColor(PALETTE["rule"]))]),
    )  # fmt: skip
    story: list[Flowable] = [
        text(WARNING.upper(), "overline"), gap(6), text(title, "message-2"), gap(10), table, gap(14),
        text(f"{WARNING}. A real job takes the supplier's own label and safety data sheet."),
    ]  # fmt: skip
    document.build(story, onFirstPage=_foot, onLaterPages=_foot)
    return out.getvalue()


def _foot(canvas: Any, document: Any) -> None:
    canvas.setFont(REGULAR, 8.5)
    canvas.setFillColor(HexColor(PALETTE["muted"]))
    canvas.drawString(MARGIN, MARGIN / 2, plain(f"{WARNING}. Page {document.page}"))


def _acids(cleaner: Cleaner) -> str:
    said = [f"{one['acid'].replace('_', ' ')} {_share(one['share'])}" for one in cleaner.acids]
    return f"{', '.join(said)} of the acid; acid in the product {_share(cleaner.product_strength)}"


def _share(value: float | None) -> str:
    return "not told" if value is None else f"{100.0 * value:.3g} %"


def _words(names: list[str]) -> str:
    return ", ".join(name.replace("_", " ") for name in names) or "none"
