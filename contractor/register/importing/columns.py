"""The columns a register file may have, which record each belongs to, and how a cell is read.

A row names a customer, then perhaps a site, a unit (by its tag) and an exchanger of it. Columns of sizes are
written `name [unit]`, as in the batch files, and mean the same there and here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from contractor.register.models import EXCHANGER_MODES, METALS, UNIT_KINDS, WETTED_PARTS
from contractor.register.models.lists import checked_parts
from contractor.register.quantities import EXCHANGER, SITE, UNIT
from contractor.register.typed import Quantity, number
from diagnostics.engine import records
from diagnostics.engine.commas import comma_fault

RECORDS = ("customer", "site", "unit", "exchanger")


class CellFault(ValueError):
    def __init__(self, reason: str, expected: str) -> None:
        self.reason, self.expected = reason, expected
        super().__init__(f"{reason}; expected {expected}")


@dataclass(frozen=True, slots=True)
class Column:
    """`field` of `record` is filled from the column `name`; a `quantity` wants a unit in the header."""

    name: str
    record: str
    field: str
    read: Callable[[str], Any]
    quantity: Quantity | None = None

    @property
    def unit_may_be_blank(self) -> bool:
        return self.quantity is not None and self.quantity.kind == "fraction"


def text(longest: int) -> Callable[[str], str]:
    def read(cell: str) -> str:
        if len(cell) > longest or "\x00" in cell:
            raise CellFault(f"{len(cell)} characters", f"plain text of at most {longest}")
        return cell

    return read


def word(names: tuple[str, ...]) -> Callable[[str], str]:
    def read(cell: str) -> str:
        found = _plain(cell)
        if found not in names:
            raise CellFault("not a word known here", ", ".join(names))
        return found

    return read


def yes_no(cell: str) -> bool:
    if cell.casefold() not in ("yes", "no"):
        raise CellFault("neither yes nor no", "yes or no")
    return cell.casefold() == "yes"


def whole(cell: str) -> int:
    if not (cell.isascii() and cell.isdigit() and 1 <= int(cell) <= 32_767):
        raise CellFault("not a whole number above zero", "a whole number such as 4")
    return int(cell)


def plain_number(cell: str) -> float:
    """A number with a decimal point: files are read as `assess` reads them, and refused in the same words."""
    if fault := comma_fault(cell):
        raise CellFault(*fault)
    try:
        return number(cell)
    except ValueError as error:
        reason, _, expected = str(error).partition("; expected ")
        raise CellFault(reason, expected or "a number") from error


def clock(cell: str) -> dt.time:
    try:
        return dt.datetime.strptime(cell, "%H:%M").time()
    except ValueError as error:
        raise CellFault("not a time of day", "hours and minutes such as 07:30") from error


def materials(cell: str) -> dict[str, str]:
    """`valve_bodies: bronze; gaskets: epdm`."""
    pairs = [pair.partition(":") for pair in cell.split(";") if pair.strip()]
    found = {_plain(part): _plain(material) for part, _, material in pairs}
    if fault := checked_parts(found, WETTED_PARTS):
        raise CellFault(fault.partition("; ")[0].rstrip("."), "such as valve_bodies: bronze; gaskets: epdm")
    return found


def _plain(words: str) -> str:
    return words.strip().casefold().replace(" ", "_").replace("-", "_")


def _texts(record: str, **longest: int) -> list[Column]:
    return [Column(name, record, name, text(length)) for name, length in longest.items()]


def _sizes(record: str, known: tuple[Quantity, ...]) -> list[Column]:
    return [Column(each.name, record, each.name, plain_number, each) for each in known]


def _yes_no(record: str, *names: str) -> list[Column]:
    return [Column(name, record, name, yes_no) for name in names]


COLUMNS = (
    Column("customer", "customer", "name", text(120)),
    Column("customer_code", "customer", "code", text(40)),
    *_texts("customer", contact_name=120, phone=40, email=254),
    Column("customer_notes", "customer", "notes", text(4000)),
    Column("site", "site", "name", text(120)),
    *_texts(
        "site",
        address=300,
        time_zone=60,
        emergency_phone=40,
        drain=200,
        discharge_permit=120,
        discharge_acid_document=120,
        eyewash_place=120,
    ),
    *(
        Column(name, "site", name, clock)
        for name in ("access_from", "access_until", "quiet_from", "quiet_until")
    ),
    *_texts("site", access_notes=4000, safety_notes=4000),
    Column("site_notes", "site", "notes", text(4000)),
    Column("water_source", "site", "water_source", word(records.WATER_SOURCES)),
    Column("antifreeze", "site", "antifreeze", word(records.ANTIFREEZES)),
    *_sizes("site", SITE),
    Column("unit", "unit", "tag", text(40)),
    Column("unit_kind", "unit", "kind", word(UNIT_KINDS)),
    *_texts("unit", place=120, model=80, serial=80, refrigerant=20, loop=60),
    Column("stages", "unit", "stages", whole),
    Column("expansion", "unit", "expansion", word(records.EXPANSION_DEVICES)),
    *_yes_no(
        "unit", "receiver", "head_pressure_valve", "hot_gas_reheat", "desuperheater_coil", "vapour_injection"
    ),
    Column("unit_safety_notes", "unit", "safety_notes", text(4000)),
    Column("unit_notes", "unit", "notes", text(4000)),
    *_sizes("unit", UNIT),
    Column("exchanger", "exchanger", "kind", word(records.EXCHANGER_KINDS)),
    Column("exchanger_name", "exchanger", "name", text(60)),
    Column("exchanger_modes", "exchanger", "modes", word(EXCHANGER_MODES)),
    Column("metal", "exchanger", "metal", word(METALS)),
    Column("count", "exchanger", "count", whole),
    Column("flow_in_heating", "exchanger", "flow_in_heating", word(records.FLOW_ARRANGEMENTS)),
    Column("between_ports", "exchanger", "between_ports", word(records.BETWEEN_PORTS)),
    Column("pressure_drop_exponent", "exchanger", "pressure_drop_exponent", plain_number),
    *_yes_no(
        "exchanger",
        "rating_includes_fouling",
        "isolation_valves",
        "strainer_on_inlet",
        "heats_drinking_water",
    ),
    Column("wetted_materials", "exchanger", "wetted_materials", materials),
    *_texts("exchanger", hose_connections=120, balancing_valve_position=60),
    *_sizes("exchanger", EXCHANGER),
)
BY_NAME = {column.name: column for column in COLUMNS}


@dataclass(frozen=True, slots=True)
class Layout:
    """What a kind of file may hold: its name in words, its records, its columns; the first is compulsory."""

    words: str
    records: tuple[str, ...]
    columns: tuple[Column, ...]

    @property
    def by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}

    def empty(self) -> dict[str, dict[str, Any]]:
        return {record: {} for record in self.records}


REGISTER = Layout("a register file", RECORDS, COLUMNS)
# the columns without which a row of the record says nothing of whom it speaks
NAMED_BY = {"customer": "customer", "site": "site", "unit": "unit", "exchanger": "exchanger"}
