"""Rows become records: matched by name and tag, created or changed through the services, never doubled.

A customer is known by its name, a site by customer and name, a unit by its tag, an exchanger by unit and
name (capitals and spaces do not matter). A blank cell leaves what is known. A row is
brought in whole or not at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from contractor.http.problems import Problem
from contractor.register import services
from contractor.register.importing.columns import BY_NAME, COLUMNS, NAMED_BY, RECORDS
from contractor.register.importing.reading import HEADER, Fault, RegisterRow
from contractor.register.models import Customer, Exchanger, Site, Unit
from contractor.register.models.units import canonical_refrigerant
from contractor.register.typed import conversion_of

LIMITS = re.compile(r"\w+ lies between (?P<low>\S+) and (?P<high>\S+); .*")
Key = tuple[str, ...]
Noted = tuple[str, str, Any]


@dataclass
class Report:
    """How many of each record were created, changed and left as they were; and what was wrong."""

    created: dict[str, set[Any]] = field(default_factory=lambda: {record: set() for record in RECORDS})
    changed: dict[str, set[Any]] = field(default_factory=lambda: {record: set() for record in RECORDS})
    seen: dict[str, set[Any]] = field(default_factory=lambda: {record: set() for record in RECORDS})
    faults: list[Fault] = field(default_factory=list)

    def counts(self, record: str) -> tuple[int, int, int]:
        created = self.created[record]
        changed = self.changed[record] - created
        return len(created), len(changed), len(self.seen[record] - created - changed)


class RowRefused(Exception):
    def __init__(self, *faults: Fault) -> None:
        self.faults = faults


def plain(name: str) -> str:
    return " ".join(name.split()).casefold()


class Bringing:
    """One file's way into the register; remembers what its earlier lines said."""

    def __init__(self, file: str) -> None:
        self.file, self.report = file, Report()
        self.said: dict[tuple[Key, str], tuple[Any, int]] = {}
        self.found: dict[Key, Any] = {}

    def bring_in(self, rows: Iterable[RegisterRow]) -> Report:
        for row in rows:
            try:
                self._bring_in_row(row)
            except RowRefused as refused:
                self.report.faults.extend(refused.faults)
        return self.report

    def _bring_in_row(self, row: RegisterRow) -> None:
        if row.faults:
            raise RowRefused(*row.faults)
        keys = self._keys(row)
        said = self._agreeing(row, keys)
        found: dict[Key, Any] = {}
        noted: list[Noted] = []
        with transaction.atomic():
            above: Any = None
            for record, key in keys.items():
                fresh = {name: value for (at, name), value in said.items() if at == key}
                above = self._settle(row, record, key, fresh, above, noted)
                found[key] = above
        self.found.update(found)
        self.said.update({place: (value, row.line) for place, value in said.items()})
        for record, what, pk in noted:
            getattr(self.report, what)[record].add(pk)

    # --- whom the row speaks of
    def _keys(self, row: RegisterRow) -> dict[str, Key]:
        """The records that the row names, from the customer down."""
        fields = row.fields
        if fields["exchanger"]:
            fields["exchanger"].setdefault("name", "1")
        names = {
            "customer": fields["customer"].get("name"),
            "site": fields["site"].get("name"),
            "unit": fields["unit"].get("tag"),
            "exchanger": fields["exchanger"].get("name"),
        }
        keys: dict[str, Key] = {}
        above: Key = ()
        for place, record in enumerate(RECORDS):
            below = [lower for lower in RECORDS[place:] if fields[lower]]
            if not below:
                break
            name = names[record]
            if name is None:
                raise RowRefused(self._unnamed(row, record, below[0]))
            above = (*(() if record == "unit" else above), record, plain(name))
            keys[record] = above
        return keys

    def _unnamed(self, row: RegisterRow, record: str, told: str) -> Fault:
        column = NAMED_BY[record]
        return Fault(self.file, row.line, f"blank, though the row tells of a {told}",
                     f"which {record} it is", column, "")  # fmt: skip

    def _agreeing(self, row: RegisterRow, keys: dict[str, Key]) -> dict[tuple[Key, str], Any]:
        """What the row says that no earlier line said; refused where it contradicts one."""
        said: dict[tuple[Key, str], Any] = {}
        for record, key in keys.items():
            values = dict(row.fields[record])
            typed = values.pop("as_typed", {})
            if record == "unit":
                values["site"] = keys["site"]
            for name, value in {**values, **{f"as_typed/{n}": v for n, v in typed.items()}}.items():
                compared = plain(value) if name in ("name", "tag") else value
                earlier = self.said.get((key, name))
                if earlier is None:
                    said[key, name] = compared
                elif earlier[0] != compared:
                    raise RowRefused(self._contradiction(row, record, name, earlier))
        return said

    def _contradiction(self, row: RegisterRow, record: str, name: str, earlier: tuple[Any, int]) -> Fault:
        value, line = earlier
        column, cell = self._cell(row, record, name)
        if name == "site":
            column, cell = self._cell(row, "unit", "tag")
            return Fault(self.file, row.line, f"the tag is on another site in line {line}",
                         "each tag on one unit of one site", column, cell)  # fmt: skip
        told = value["value"] if isinstance(value, dict) else value
        return Fault(self.file, row.line, f"line {line} says {told!r} of the same {record}",
                     "the same in every line, or blank", column, cell)  # fmt: skip

    # --- into the register
    def _settle(
        self, row: RegisterRow, record: str, key: Key, fresh: dict[str, Any], above: Any, noted: list[Noted]
    ) -> Any:
        """The record itself, created or changed where the row says something new of it."""
        values = self._values(row, record, fresh)
        try:
            existing = self.found.get(key) or FIND[record](values, above)
            if existing is None:
                existing = ADD[record](values, above)
                noted.append((record, "created", existing.pk))
            else:
                self._refuse_elsewhere(row, record, existing, above)
                version = existing.version
                given = {name: value for name, value in values.items() if name != IDENTITY[record]}
                if given and CHANGE[record](existing, given).version != version:
                    noted.append((record, "changed", existing.pk))
        except Problem as problem:
            raise RowRefused(*self._faults_of(row, record, problem)) from problem
        noted.append((record, "seen", existing.pk))
        return existing

    def _refuse_elsewhere(self, row: RegisterRow, record: str, existing: Any, above: Any) -> None:
        column, cell = self._cell(row, record, IDENTITY[record])
        if existing.is_retired:
            expected = "one in use; bring it back first"
            raise RowRefused(Fault(self.file, row.line, f"this {record} is retired", expected, column, cell))
        if record == "unit" and existing.site_id != above.pk:
            there = f"the tag is on a unit at {existing.site} of {existing.site.customer}"
            expected = "that site, or a tag of its own"
            raise RowRefused(Fault(self.file, row.line, there, expected, column, cell))

    def _values(self, row: RegisterRow, record: str, fresh: dict[str, Any]) -> dict[str, Any]:
        """Fields as the row types them, of those that are new; always with the name."""
        fields = row.fields[record]
        values = {name: value for name, value in fields.items() if name in fresh and name != "as_typed"}
        typed = {name: v for name, v in fields.get("as_typed", {}).items() if f"as_typed/{name}" in fresh}
        if typed:
            values["as_typed"] = typed
        values[IDENTITY[record]] = " ".join(str(fields[IDENTITY[record]]).split())
        return values

    def _cell(self, row: RegisterRow, record: str, name: str) -> tuple[str, str]:
        """The column as the file writes it, and the cell."""
        field_name = name.removeprefix("as_typed/").partition("/")[0]
        for column in COLUMNS:
            target = column.quantity.column if column.quantity else column.field
            if column.record == record and field_name in (column.field, target):
                return row.cells.get(column.name, (column.name, ""))
        return NAMED_BY[record], row.cells.get(NAMED_BY[record], ("", ""))[1]

    def _faults_of(self, row: RegisterRow, record: str, problem: Problem) -> list[Fault]:
        faults = []
        for error in problem.errors or [{"pointer": "", "detail": str(problem.detail)}]:
            column, cell = self._cell(row, record, str(error["pointer"]).removeprefix("#/"))
            detail = _in_the_headings_unit(str(error["detail"]), column)
            reason, _, expected = detail.rstrip(".").partition("; expected ")
            faults.append(
                Fault(self.file, row.line, reason, expected or f"a {record} that fits", column, cell)
            )
        return faults


def _in_the_headings_unit(detail: str, label: str) -> str:
    """Limits that the register tells in SI, in the unit that the file's heading names."""
    limits, heading = LIMITS.fullmatch(detail), HEADER.fullmatch(label)
    column = BY_NAME.get(heading["name"].casefold()) if heading else None
    if limits is None or heading is None or column is None or column.quantity is None:
        return detail
    unit = (heading["unit"] or "").strip()
    line = conversion_of(unit, column.quantity)
    if column.quantity.gauge and not line.gauge:
        return detail
    low, high = ((float(limits[end]) - line.offset) / line.scale for end in ("low", "high"))
    return f"out of range; expected {low:.6g} to {high:.6g} {unit}".rstrip()


def _find_unit(values: dict[str, Any], site: Site) -> Unit | None:
    return Unit.objects.with_tag(values["tag"]).select_related("site__customer").first()


def _add_unit(values: dict[str, Any], site: Site) -> Unit:
    if "refrigerant" not in values:
        raise Problem(
            "invalid", errors=[{"pointer": "/refrigerant", "detail": "a new unit; expected its refrigerant"}]
        )
    return services.add_unit({**values, "site": site})


def _change_unit(unit: Unit, values: dict[str, Any]) -> Unit:
    if "refrigerant" in values:
        try:
            values["refrigerant"] = canonical_refrigerant(values["refrigerant"])
        except ValueError as error:
            raise Problem("invalid", errors=[{"pointer": "/refrigerant", "detail": str(error)}]) from error
    return services.change_unit(unit, values)


def _add_exchanger(values: dict[str, Any], unit: Unit) -> Exchanger:
    if "kind" not in values:
        raise Problem(
            "invalid", errors=[{"pointer": "/kind", "detail": "a new exchanger; expected its kind"}]
        )
    return services.add_exchanger({**values, "unit": unit})


IDENTITY = {"customer": "name", "site": "name", "unit": "tag", "exchanger": "name"}
FIND: dict[str, Any] = {
    "customer": lambda values, above: Customer.objects.filter(name__iexact=values["name"]).first(),
    "site": lambda values, customer: customer.sites.filter(name__iexact=values["name"]).first(),
    "unit": _find_unit,
    "exchanger": lambda values, unit: unit.exchangers.filter(name__iexact=values["name"]).first(),
}
ADD: dict[str, Any] = {
    "customer": lambda values, above: services.add_customer(values),
    "site": lambda values, customer: services.add_site({**values, "customer": customer}),
    "unit": _add_unit,
    "exchanger": _add_exchanger,
}
CHANGE: dict[str, Any] = {
    "customer": services.change_customer,
    "site": services.change_site,
    "unit": _change_unit,
    "exchanger": services.change_exchanger,
}
