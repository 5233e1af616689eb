"""Tags to stick on units: every unit's code in letters and as a QR code that opens it."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from pypdf import PdfReader
from reportlab.graphics.barcode.qrencoder import QRErrorCorrectLevel

from reporting.documents import tag_sheet
from reporting.documents.tag_sheet import Tag, render
from tests import make
from tests.cast import Cast

TAGS = [Tag(f"QH-{n:02d}", "Level 3", "Quay House", f"https://example.org/t/QH-{n:02d}/") for n in range(14)]


def words(content: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_twelve_a_page_each_with_its_code_in_letters(paper: str) -> None:
    first, second = words(render(TAGS, paper, "Northmoor Mechanical"))
    assert all(tag.code in first for tag in TAGS[:12]) and "QH-12" not in first
    assert "QH-12" in second and "QH-13" in second


def test_the_same_tags_give_the_same_bytes() -> None:
    assert render(TAGS, "a4", "N") == render(TAGS, "a4", "N")


def test_the_code_holds_the_address_and_stands_some_damage() -> None:
    """Level M restores 15 % (ISO/IEC 18004, table of error correction levels)."""
    widget = tag_sheet._widget(TAGS[0].address)
    assert widget.value == TAGS[0].address
    assert widget.qr.errorCorrectLevel == QRErrorCorrectLevel.M
    assert widget.barBorder == 4, "four modules of quiet edge, ISO/IEC 18004"


def test_the_code_is_drawn_as_the_barcode_library_draws_it() -> None:
    """Against reportlab's own shapes of the same address, one unit a module."""
    widget = tag_sheet._widget(TAGS[0].address)
    across, runs = tag_sheet._dark_runs(TAGS[0].address)
    widget.barWidth = widget.barHeight = across + 8
    outline, *shapes = widget.draw().contents
    theirs = [(shape.x, shape.y, shape.width) for shape in shapes]
    mine = [(4.0 + first, 4.0 + across - 1 - row, length) for row, first, length in runs]
    assert outline.width == across + 8 and len(mine) == len(theirs)
    assert all(each == pytest.approx(other) for each, other in zip(mine, theirs, strict=True))


@pytest.mark.django_db
def test_a_sites_sheet_has_all_its_units_and_no_others(cast: Cast) -> None:
    make.unit(cast.site, tag="HR-A-002")
    make.unit(tag="XX-1")
    client = Client()
    client.force_login(cast.assigned)
    answer = client.get(f"/crew/sites/{cast.site.pk}/tags/?paper=letter")
    assert answer["Content-Type"] == "application/pdf"
    [text] = words(answer.content)
    assert "HR-A-001" in text and "HR-A-002" in text and "XX-1" not in text
