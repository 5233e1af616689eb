"""The typeface of every document: registered once a process, and what to do with letters it does not have."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import STATE_DEFAULTS
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "Waterside"
STRONG = "Waterside-Strong"
FOLDER = Path(__file__).parent / "fonts"
FILES = {REGULAR: "SourceSans3-Regular.ttf", STRONG: "SourceSans3-SemiBold.ttf"}

NO_LETTERS = "(…)"
NO_LETTERS_NOTE = (
    f"{NO_LETTERS} stands for words in a script that this document's typeface lacks; the record keeps them."
)
NUMBER_AND_UNIT = re.compile(r"(\d) (°|K\b|%|k?Pa\b|kW|W\b|psi|bar\b|L/s|kg/s|US gpm)")
UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn"}


@cache
def register() -> None:
    """Make the typeface known to the PDF library. Files are read once a process."""
    for name, file in FILES.items():
        pdfmetrics.registerFont(TTFont(name, FOLDER / file))
    STATE_DEFAULTS["fontName"] = REGULAR  # else every drawing asks for a font that is not in the file
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=STRONG, italic=REGULAR, boldItalic=STRONG)


def _font(name: str) -> Any:
    return pdfmetrics.getFont(name)


@cache
def letters() -> frozenset[int]:
    """Code points that both weights have."""
    register()
    sets = [frozenset(_font(name).face.charToGlyph) for name in FILES]
    return frozenset.intersection(*sets) - {0xFFFD}


def plain(text: str) -> str:
    """Text with only letters the typeface has: never a black box, never a control character.

    A letter that is missing loses its accents if that helps; a run of missing letters becomes one mark.
    """
    known = letters()
    kept: list[str] = []
    for char in unicodedata.normalize("NFC", text):
        if char.isspace() and char not in "\u00a0\u202f\u2009":
            kept.append(" ")
        elif ord(char) in known:
            kept.append(char)
        elif unicodedata.category(char) not in UNSEEN:
            kept.append(_without_accents(char, known))
    return _one_mark_a_run("".join(kept))


def _without_accents(char: str, known: frozenset[int]) -> str:
    bare = "".join(c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c))
    if bare and all(ord(c) in known for c in bare):
        return bare
    return "" if unicodedata.combining(char) else NO_LETTERS


def _one_mark_a_run(text: str) -> str:
    for run in (NO_LETTERS + NO_LETTERS, f"{NO_LETTERS} {NO_LETTERS}"):
        while run in text:
            text = text.replace(run, NO_LETTERS)
    return text


def lacks_letters(text: str) -> bool:
    return NO_LETTERS in plain(text)


def markup(text: str) -> str:
    """Text made safe for a paragraph; a number stays on one line with its unit."""
    return escape(NUMBER_AND_UNIT.sub("\\1\u00a0\\2", plain(text)))


def width(text: str, size: float, *, strong: bool = False) -> float:
    """Width of a text in points."""
    register()
    return float(pdfmetrics.stringWidth(text, STRONG if strong else REGULAR, size))
