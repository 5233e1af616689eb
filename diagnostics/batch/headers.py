"""Headers: which known column stands where, in which unit; what is wrong with them."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from diagnostics.batch.columns import LIMIT, UNIT_WHERE_NONE_IS_WRITTEN, Column, Layout
from diagnostics.batch.faults import Fault, NothingRun, cut
from diagnostics.batch.sheets import HEADER_LINE, OTHER_SEPARATORS, Sheet, separated_otherwise
from diagnostics.engine.quantities import Conversion, UnitError, conversion

_NAME_AND_UNIT = re.compile(r"\s*(?P<name>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\]\s*)?")


@dataclass(frozen=True, slots=True)
class Bound:
    """A known column found in a file: its place, the header cell as written, how its cells become SI."""

    index: int
    column: Column
    label: str
    conversion: Conversion | None


@dataclass(frozen=True, slots=True)
class Header:
    """The known columns of a file in the file's order, and what is said about the unknown ones."""

    bound: tuple[Bound, ...]
    width: int
    nameless: frozenset[int]
    notes: tuple[str, ...]

    @property
    def last_named(self) -> int:
        """How many cells a row has at least: up to the last column with a name."""
        return max((index + 1 for index in range(self.width) if index not in self.nameless), default=0)


def read_header(sheet: Sheet, layout: Layout) -> Header:
    """Match a file's header with the columns it may have. Raises NothingRun with everything that is wrong."""
    _refuse_other_separators(sheet, layout)
    bound: list[Bound] = []
    faults: list[Fault] = []
    notes: list[str] = []
    for index, cell in enumerate(sheet.header):
        try:
            one = _bind(index, cell, layout)
        except UnitError as error:
            faults.append(Fault(sheet.name, HEADER_LINE, error.reason, error.expected, column=cell.strip()))
            continue
        if one is not None:
            bound.append(one)
        elif cell.strip():
            notes.append(_note_on_unknown(sheet, layout, cell))
    faults += _doubled(sheet, layout)
    faults += _missing(sheet, layout)
    if faults:
        raise NothingRun(*faults)
    nameless = frozenset(index for index, cell in enumerate(sheet.header) if not cell.strip())
    return Header(tuple(bound), len(sheet.header), nameless, tuple(notes))


def split(cell: str) -> tuple[str, str | None]:
    """Name as the layouts write it, and unit; None: none written; the whole cell: brackets do not match."""
    match = _NAME_AND_UNIT.fullmatch(cell)
    if match is None:
        return plain_name(cell.partition("[")[0]), cell
    unit = match["unit"]
    return plain_name(match["name"]), None if unit is None else unit.strip()


def plain_name(text: str) -> str:
    return re.sub(r"[\s_-]+", "_", text.strip().casefold())


def _bind(index: int, cell: str, layout: Layout) -> Bound | None:
    name, unit = split(cell)
    column = layout.column(name)
    if column is None:
        return None
    fits = column.units_that_fit
    if unit == cell:
        raise UnitError(cell, "brackets do not match", f"{name} [{fits}]" if fits else name)
    if column.kind == LIMIT:
        return Bound(index, column, cell.strip(), None)
    if not fits:
        if unit is not None:
            raise UnitError(unit, "this column takes no unit", name)
        return Bound(index, column, cell.strip(), None)
    unit = unit or UNIT_WHERE_NONE_IS_WRITTEN.get(column.kind)
    if unit is None:
        raise UnitError("", "no unit", f"{name} [{fits.partition(',')[0]}], or in the brackets one of {fits}")
    return Bound(index, column, cell.strip(), conversion(unit, column.kind))


def _refuse_other_separators(sheet: Sheet, layout: Layout) -> None:
    line = sheet.lines[0] if sheet.lines else ""
    for separator in OTHER_SEPARATORS:
        names = [split(part.strip().strip('"'))[0] for cell in sheet.header for part in cell.split(separator)]
        known = [name for name in names if layout.column(name) is not None]
        whole = [cell for cell in sheet.header if layout.column(split(cell)[0]) is not None]
        declared = line.strip().casefold() == f"sep={separator}".strip()
        if declared or (len(known) > len(whole) and any(separator in cell for cell in sheet.header)):
            raise NothingRun(separated_otherwise(sheet.name, separator))


def _doubled(sheet: Sheet, layout: Layout) -> list[Fault]:
    labels: dict[str, list[str]] = {}
    for cell in sheet.header:
        labels.setdefault(split(cell)[0], []).append(cell.strip())
    faults = []
    for name, written in labels.items():
        if len(written) > 1 and layout.column(name) is not None:
            reason = f"{name} is also there as {', '.join(map(cut, written[:-1]))}"
            faults.append(Fault(sheet.name, HEADER_LINE, reason, "one column of each name", written[-1]))
    return faults


def _missing(sheet: Sheet, layout: Layout) -> list[Fault]:
    present = {split(cell)[0] for cell in sheet.header}
    compulsory = [column.name for column in layout.columns if column.compulsory]
    reason, expected = f"no column of this name; {layout.what} need it", ", ".join(compulsory)
    return [
        Fault(sheet.name, HEADER_LINE, reason, expected, name) for name in compulsory if name not in present
    ]


def _note_on_unknown(sheet: Sheet, layout: Layout, cell: str) -> str:
    name = split(re.sub(r"[(].*", "", cell))[0]
    near = difflib.get_close_matches(name, [column.name for column in layout.columns], n=1, cutoff=0.8)
    hint = ""
    if near:
        column = layout.column(near[0])
        fits = column.units_that_fit if column else ""
        hint = f"; did you mean {near[0]}{f' [{fits}]' if fits else ''}?"
    warning = f"warning: not a column of {layout.what}, not used{hint}"
    return f"{sheet.name}:{HEADER_LINE}: {cut(cell.strip())}: {warning}"
