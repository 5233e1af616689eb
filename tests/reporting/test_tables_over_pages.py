"""Tables that go over a page: heads repeated, no row cut, no head or single row left alone."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader
from reportlab.platypus import Flowable

from reporting.documents import parts
from reporting.documents.frame import Imprint, build, text_width_of

IMPRINT = Imprint("Northmoor Mechanical", "Test", "Test", "foot")


def rows_by_page(rows: int, above: float, paper: str) -> list[list[str]]:
    """Which rows each page holds, of a table that begins so far down the first page; two lines a row."""
    width = text_width_of(paper)
    cells = [(f"row {n} begins", "and goes on in a second line " * 4 + f"row {n} ends") for n in range(rows)]
    story: list[Flowable] = [parts.gap(above), parts.table(("Name", "What"), cells, (1, 2), width)]
    found = []
    for page in PdfReader(BytesIO(build(story, paper, IMPRINT))).pages:
        text = " ".join(page.extract_text().split())
        here = [f"{n}" for n in range(rows) if f"row {n} begins" in text]
        assert here == [f"{n}" for n in range(rows) if f"row {n} ends" in text], "a row is cut"
        assert ("Name" in text) == bool(here), "the head stands with its rows, on every page"
        found.append(here)
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("above", [0.0, 300.0, 520.0, 560.0, 590.0, 610.0, 630.0, 650.0, 664.0])
def test_a_long_table_breaks_between_rows_with_two_at_least_on_each_side(above: float, paper: str) -> None:
    found = rows_by_page(40, above, paper)
    assert sum(len(page) for page in found) == 40
    assert all(len(page) != 1 for page in found)


@pytest.mark.parametrize("above", [560.0, 610.0, 650.0])
def test_a_short_table_goes_to_the_next_page_whole(above: float) -> None:
    assert rows_by_page(5, above, "a4") == [[], ["0", "1", "2", "3", "4"]]


def test_a_row_higher_than_a_page_is_cut_rather_than_lost() -> None:
    story = [parts.table(("Name", "What"), [("long", "words and words " * 1200 + "the end")], (1, 2), 480.0)]
    told = [page.extract_text() for page in PdfReader(BytesIO(build(story, "letter", IMPRINT))).pages]
    assert len(told) > 1 and "the end" in " ".join(told[-1].split())
