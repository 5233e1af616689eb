"""The form of a record, made from the serializer of its API address."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Model
from rest_framework import serializers

from contractor.register.typed import Quantity, barometric_at, settle
from contractor.web.forms.base import RoomForm
from contractor.web.forms.words import in_our_words
from contractor.web.page import put_errors
from contractor.web.quantities import read
from contractor.web.records.curve import CurveField
from contractor.web.records.fields import QuantityField, field_for, own_units
from contractor.web.records.words import help_of, label_of, unit_of
from diagnostics.engine.quantities import from_si, standard_atmosphere_pa

NOT_ASKED = {"id", "as_typed", "version", "created_at", "changed_at"}


class RecordForm(RoomForm):
    """Fields of a serializer in its order; the columns of a quantity are one field, number and unit."""

    optional_word = "if known"

    def __init__(
        self, data: Any = None, files: Any = None, *, serializer: Any, quantities: Iterable[Quantity],
        units: str, sections: Any = (), left_out: Iterable[str] = (), initial: Any = None,
        mark: str = "",
    ) -> None:  # fmt: skip
        super().__init__(data, files, initial=initial)
        self.sections_given = tuple(sections)
        self.serializer, self.mark = serializer, mark
        self.by_column = {column: each for each in quantities for column in each.columns}
        fixed: frozenset[str] = (
            getattr(serializer, "fixed", frozenset()) if serializer.instance is not None else frozenset()
        )
        for name, field in serializer.fields.items():
            if not (field.read_only or name in NOT_ASKED or name in fixed or name in left_out):
                self.add(name, field, units)
        for each in quantities:
            if each.name not in self.fields and each.column not in serializer.fields:
                self.add_quantity(each, None, units)
        in_our_words(self.fields.values())

    def legends(self) -> Any:
        return self.sections_given

    @property
    def record(self) -> str:
        model = getattr(getattr(self.serializer, "Meta", None), "model", None)
        return model._meta.model_name if model is not None else ""

    def add(self, name: str, field: Any, units: str) -> None:
        quantity = self.by_column.get(name)
        if quantity is not None:
            self.add_quantity(quantity, field, units)
            return
        unit = unit_of(name)
        label = f"{label_of(name)} [{unit}]" if unit else label_of(name)
        required = field.required and not field.allow_null and not getattr(field, "allow_blank", False)
        options = {
            "label": label,
            "help_text": help_of(name, str(field.help_text or ""), self.record),
            "required": required,
        }
        if name == "pump_curve":
            self.fields[name] = CurveField(units, self.mark, **options)
        elif made := field_for(name, field, options):
            self.fields[name] = made

    def add_quantity(self, quantity: Quantity, field: Any, units: str) -> None:
        if quantity.name in self.fields:
            return
        before = (self.initial.get(quantity.name) or {}).get("unit", "")
        words = {
            "label": label_of(quantity.name),
            "help_text": help_of(quantity.name, _said(field), self.record),
        }
        self.fields[quantity.name] = QuantityField(quantity, units, before, self.mark, **words)

    def clean(self) -> dict[str, Any]:
        """What was typed with a unit is judged with the rest, by what converts it."""
        typed = {each.name: self.cleaned_data.get(each.name) for each in self.by_column.values()}
        new = {name: value for name, value in typed.items() if value and name in self.changed_data}
        judged = settle(self.by_column.values(), new, barometric_pa=barometric_at(None))
        put_errors(self, judged.errors)
        return self.cleaned_data

    def sent(self) -> dict[str, Any]:
        """As the API takes it. What was left empty is told as empty, so that it can be cleared."""
        names = {each.name for each in self.by_column.values()}
        plain = {name: self._read(name, _plain(value)) for name, value in self.cleaned_data.items()
                 if name not in names}  # fmt: skip
        plain = {name: self._empty(name) if value in ("", None) else value for name, value in plain.items()
                 if value not in ("", None) or self._may_be_empty(name)}  # fmt: skip
        typed = {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}
        if self.serializer.instance is None:
            typed = {name: value for name, value in typed.items() if value is not None}
            plain = {name: value for name, value in plain.items() if value is not None}
        return {**plain, "as_typed": typed} if names else plain

    def changed(self, *always: str) -> dict[str, Any]:
        """What differs from the row, so that the rest keeps what was typed to the letter."""
        names, sent = {*self.changed_data, *always}, self.sent()
        typed = {name: value for name, value in sent.pop("as_typed", {}).items() if name in names}
        plain = {name: value for name, value in sent.items() if name in names}
        return {**plain, "as_typed": typed} if typed else plain

    def _read(self, name: str, value: Any) -> Any:
        """A plain number may be typed with the mark its reader writes."""
        is_number = isinstance(self.serializer.fields.get(name), serializers.FloatField)
        return read(value, self.mark) if is_number and isinstance(value, str) else value

    def _may_be_empty(self, name: str) -> bool:
        """A choice that has a default and no empty word was not asked for: what it is stays."""
        field = self.serializer.fields[name]
        fixed = isinstance(field, serializers.ChoiceField) and not field.required
        return not fixed or field.allow_null or field.allow_blank

    def _empty(self, name: str) -> Any:
        field = self.serializer.fields[name]
        return None if field.allow_null else ""


def _said(field: Any) -> str:
    return "" if field is None else str(field.help_text or "")


def _plain(value: Any) -> Any:
    if isinstance(value, Model):
        return str(value.pk)
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    if hasattr(value, "model"):  # rows that were ticked
        return [str(row.pk) for row in value]
    return value


def initial_of(
    row: Any,
    serializer: Any,
    quantities: Iterable[Quantity],
    units: str = "",
    elevation_m: float | None = None,
) -> dict[str, Any]:
    """What the form shows of a row: quantities as they were typed, else in the reader's units."""
    shown: dict[str, Any] = {}
    for name, field in serializer.fields.items():
        if name in NOT_ASKED or field.read_only:
            continue
        value: Any = getattr(row, field.source, None)
        if isinstance(field, serializers.BooleanField) and field.allow_null:
            value = {True: "true", False: "false"}.get(value, "")
        shown[name] = list(value.all()) if hasattr(value, "all") else value
    return {**shown, **typed_of(row, quantities, units, elevation_m)}


def typed_of(
    row: Any, quantities: Iterable[Quantity], units: str = "", elevation_m: float | None = None
) -> dict[str, dict[str, Any]]:
    """As typed. What came in SI alone is told in the first unit of who reads it, by six digits."""
    typed: Mapping[str, Any] = getattr(row, "as_typed", None) or {}
    found: dict[str, dict[str, Any]] = {}
    for each in quantities:
        value = getattr(row, each.column, None)
        if value is None:
            continue
        said: dict[str, Any] = typed.get(each.name) or {"unit": each.si_unit}
        foreign = "value" not in said or came_in_si(said.get("unit"), each, units)
        found[each.name] = as_read(value, each, units, elevation_m) if foreign else said
    return found


def came_in_si(unit: Any, each: Quantity, units: str) -> bool:
    """As programs send it, in a unit that the reader has no use for; kelvin are nobody's on a gauge."""
    return unit == each.si_unit and (unit == "K" or unit not in own_units(each, units))


def as_read(value: float, each: Quantity, units: str, elevation_m: float | None) -> dict[str, str]:
    """A value in SI [SI], of a refrigerant's pressure absolute unless the record keeps it by the gauge."""
    unit = own_units(each, units)[0]
    air_pa = 0.0 if each.gauge else float(standard_atmosphere_pa(elevation_m or 0.0))
    return {"value": f"{from_si(value, unit, each.kind, barometric_pa=air_pa):.6g}", "unit": unit}


def pk_of(text: str | None) -> str | None:
    """An id given in an address, if it is one."""
    try:
        return str(uuid.UUID(text or ""))
    except ValueError:
        return None
