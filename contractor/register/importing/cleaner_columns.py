"""The columns of a file of cleaners' sheets, one sheet a row, and how a cell is read.

Lists stand in one cell with semicolons between: `copper; bronze; epdm`. Acids carry their share of all acid:
`glycolic: 67 %; formic: 33 %`, or alone `citric`. Whether a sheet may say so is the register's to judge.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any

from contractor.register.importing.columns import (
    CellFault,
    Column,
    Layout,
    plain_number,
    text,
    word,
    yes_no,
)
from contractor.register.models.cleaners import FORMS, METAL_LISTS
from contractor.register.quantities import CLEANER
from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.metals import MATERIALS
from diagnostics.engine.descaling.neutralising import AGENTS

PAPER_FILES = {"label_file": "label", "safety_sheet_file": "safety_sheet"}
PLAIN_NUMBERS = (
    "product_density_kg_per_m3", "renew_below_share", "renewal_ph", "strength_per_drop",
    "copper_limit_mg_per_l", "iron_limit_mg_per_l",
)  # fmt: skip
TEXTS = {
    "inhibitor": 120, "fresh_colour": 80, "dye": 80, "first_aid": 4000, "emergency_phone": 40,
    "disposal": 4000, "storage": 4000, "notes": 4000,
}  # fmt: skip


def parts(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(";") if part.strip()]


def plain_word(words: str) -> str:
    return words.strip().casefold().replace(" ", "_").replace("-", "_")


def words_of(names: tuple[str, ...]) -> Callable[[str], list[str]]:
    """A list of known words, each once."""

    def read(cell: str) -> list[str]:
        found = [plain_word(part) for part in parts(cell)]
        for one in found:
            if one not in names:
                raise CellFault(f"{one!r} is not known here", ", ".join(names))
        if len(set(found)) != len(found):
            raise CellFault("a word stands there twice", "each once, with semicolons between")
        return found

    return read


def acids(cell: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for part in parts(cell):
        name, colon, share = part.partition(":")
        known = plain_word(name)
        if known not in ACIDS:
            raise CellFault(f"{known!r} is no acid known here", ", ".join(ACIDS))
        found.append({"acid": known, "share": _share(share) if colon else 1.0})
    if abs(sum(one["share"] for one in found) - 1.0) > 0.01:
        raise CellFault("the shares do not make 1 together", "such as glycolic: 67 %; formic: 33 %")
    return found


def pairs(cell: str) -> dict[str, str]:
    """Who says each property: `strengths: the label; storage: the safety data sheet`."""
    found = {}
    for part in parts(cell):
        name, colon, said = part.partition(":")
        if not colon or not said.strip():
            raise CellFault(f"{part!r} does not say who says it", "such as strengths: the label")
        found[plain_word(name)] = said.strip()
    return found


def day(cell: str) -> dt.date:
    try:
        return dt.date.fromisoformat(cell)
    except ValueError as error:
        raise CellFault("not a date", "year, month, day such as 2026-03-31") from error


def lines(cell: str) -> list[str]:
    return list(dict.fromkeys(parts(cell)))


def _share(cell: str) -> float:
    number = cell.strip()
    percent = number.endswith("%")
    return plain_number(number.removesuffix("%").strip()) / (100.0 if percent else 1.0)


def _columns() -> Iterator[Column]:
    yield Column("cleaner", "cleaner", "name", text(80))
    yield Column("acids", "cleaner", "acids", acids)
    yield Column("form", "cleaner", "form", word(FORMS))
    for each in CLEANER:
        yield Column(each.name, "cleaner", each.name, plain_number, each)
    for name in PLAIN_NUMBERS:
        yield Column(name, "cleaner", name, plain_number)
    for name in ("inhibited", "neutralise_surface"):
        yield Column(name, "cleaner", name, yes_no)
    for name in METAL_LISTS:
        yield Column(name, "cleaner", name, words_of(MATERIALS))
    yield Column("protection", "cleaner", "protection", lines)
    yield Column("neutralisers", "cleaner", "neutralisers", words_of(tuple(AGENTS)))
    for name, longest in TEXTS.items():
        yield Column(name, "cleaner", name, text(longest))
    yield Column("sources", "cleaner", "sources", pairs)
    for name in ("label_on", "safety_sheet_on"):
        yield Column(name, "cleaner", name, day)
    for name in PAPER_FILES:
        yield Column(name, "cleaner", name, text(300))


SHEETS = Layout("a file of cleaners' sheets", ("cleaner",), tuple(_columns()))
