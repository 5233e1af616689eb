"""The limits of an instrument's error as people say them: 0.5 °F, 1 psi, 2 % of the reading.

A limit is a difference: no scale's zero and no air pressure come into it. One unit serves both limits of an
instrument, and what it reads decides which units fit.
"""

from __future__ import annotations

from typing import Any

from django import forms

from contractor.accounts.models import Person
from contractor.register.models import Instrument
from contractor.register.typed import Quantity, number
from contractor.visits.quantities import BY_NAME
from contractor.web import quantities
from contractor.web.forms.words import in_our_words
from contractor.web.records.fields import NAMES, own_units, unit_choices
from contractor.web.records.forms import RecordForm
from diagnostics.engine.quantities import UnitError, conversion, from_si, to_si

OF_THE_READING = "%"
BOTH = ("repeating", "random")
DIFFERENCE_OF = {"temperature": "temperature_difference", "refrigerant_pressure": "pressure_difference"}
FITS = (
    ("Temperatures", "temperature_difference"), ("Pressures", "pressure_difference"),
    ("Flow", "water_flow"), ("Power", "electric_power"), ("Current", "current"), ("Voltage", "voltage"),
    ("Power factor", "ratio"),
)  # fmt: skip


def difference_of(reading: str) -> Quantity:
    """A limit of this reading's error, as a quantity with a unit."""
    read = BY_NAME[reading]
    return Quantity(read.name, read.column, DIFFERENCE_OF.get(read.kind, read.kind))


def choices(units: str) -> list[Any]:
    """'% of the reading', then the reader's own units of each kind and the others."""
    groups = [(words, unit_choices(kind, units)) for words, kind in FITS]
    return [("", "choose"), (OF_THE_READING, "% of the reading"), *groups]


def as_typed(row: dict[str, Any], units: str) -> dict[str, Any]:
    """What the form shows of a row's limits: in the first unit of who reads them, by six digits."""
    if row.get("relative") is None or not row.get("reading"):
        return {}
    if row["relative"]:
        shown = {name: f"{100 * row[name]:.6g}" for name in BOTH}
        return {**shown, "limits_in": OF_THE_READING}
    quantity = difference_of(row["reading"])
    unit = own_units(quantity, units)[0]
    shown = {name: f"{from_si(row[name], unit, quantity.kind):.6g}" for name in BOTH}
    return {**shown, "limits_in": unit}


class LimitsForm(RecordForm):
    """An instrument's: both limits in one unit, a difference or a share of the reading."""

    def __init__(self, data: Any = None, files: Any = None, *, units: str, **given: Any) -> None:
        given["initial"] = {**given["initial"], **as_typed(given["initial"], units)}
        super().__init__(data, files, units=units, **given)
        self.units = units
        self.fields.pop("relative", None)
        said = "What it reads decides which fits. A temperature's limit is a difference: 1 K is 1.8 °F."
        unit = forms.ChoiceField(choices=choices(units), label="Limits are in", help_text=said)
        self.fields = {
            name: field
            for each, made in self.fields.items()
            for name, field in ([("limits_in", unit)] if each == BOTH[0] else []) + [(each, made)]
        }
        in_our_words([unit])

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        unit, reading = given.get("limits_in"), given.get("reading")
        if unit and reading and unit != OF_THE_READING:
            quantity = difference_of(reading)
            try:
                conversion(unit, quantity.kind)
            except UnitError:
                self.add_error("limits_in", self._fitting(quantity))
        return given

    def _fitting(self, quantity: Quantity) -> str:
        known = [NAMES.get(name, name) for name, _ in unit_choices(quantities.kind_of(quantity), self.units)]
        read = quantity.name.replace("_", " ")
        return f"Does not fit {read}; expected {', '.join(known)} or % of the reading."

    def sent(self) -> dict[str, Any]:
        """Limits in SI, or as fractions of the reading."""
        sent = super().sent()
        unit, reading = sent.pop("limits_in", None), self.cleaned_data.get("reading")
        if not unit or not reading:  # refused at their fields; what the limits are cannot be told
            return {name: value for name, value in sent.items() if name not in BOTH}
        limits = {name: self._in_si(sent[name], unit, reading) for name in BOTH if name in sent}
        return {**sent, **limits, "relative": unit == OF_THE_READING}

    def changed(self, *always: str) -> dict[str, Any]:
        """With another unit or another reading both limits are told anew."""
        anew = (*BOTH, "relative") if {"limits_in", "reading"} & set(self.changed_data) else ()
        return super().changed(*always, *anew)

    @staticmethod
    def _in_si(typed: Any, unit: str, reading: str) -> Any:
        try:
            value = number(typed)
        except ValueError:
            return typed  # refused at its field, in words
        if unit == OF_THE_READING:
            return value / 100
        return float(to_si(value, unit, difference_of(reading).kind))


def in_words(instrument: Instrument, limit: float, person: Person) -> str:
    """'± 1.0 psi' or '± 2 % of the reading'."""
    if instrument.relative:
        return f"± {quantities.written(f'{100 * limit:g}', person.decimal_mark)} % of the reading"
    quantity = difference_of(instrument.reading)
    how = quantities.way(quantities.kind_of(quantity), person.units)
    digits = quantities.written(f"{limit * how.factor:.3g}", person.decimal_mark)
    return f"± {digits}\N{NO-BREAK SPACE}{how.unit}".strip()
