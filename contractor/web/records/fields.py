"""A form's field for each field that the API describes: pages and programs go by one description."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from rest_framework import serializers
from rest_framework.relations import ManyRelatedField, PrimaryKeyRelatedField

from contractor.accounts.models import Units
from contractor.register.models import Rig
from contractor.register.typed import Quantity
from contractor.web.forms.base import MomentField
from contractor.web.quantities import kind_of, read
from contractor.web.records.lists import field_of_list

YES_NO = [("", "not known"), ("true", "yes"), ("false", "no")]
# the first of each row is the one offered first: inch-pound, SI
CHOICES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "temperature": (("degF",), ("degC", "K")),
    "temperature_difference": (("delta_degF",), ("delta_degC", "K")),
    "refrigerant_pressure": (("psig",), ("kPa_gauge", "bar_gauge")),
    "pressure_difference": (("psi", "ftH2O"), ("kPa", "bar")),
    "water_flow": (("gpm",), ("L/s", "m**3/h")),
    "flow_coefficient": (("Cv",), ("Kv",)),
    "area": (("ft**2",), ("m**2",)),
    "length": (("ft", "inch"), ("m", "mm")),
    "volume": (("gallon",), ("L", "m**3")),
    "mass": (("lb",), ("kg",)),
    "duration": (("minute", "hour"), ("minute", "hour")),
    "bore": (("inch",), ("mm",)),
    "electric_power": (("W", "kW"), ("kW", "W")),
    "power": (("MBH", "ton_refrigeration", "Btu/h"), ("kW", "W")),
    "fraction": (("%",), ("%", "dimensionless")),
    "ratio": (("dimensionless",), ("dimensionless",)),
    "current": (("A",), ("A",)),
    "voltage": (("V",), ("V",)),
    "fouling_resistance": (("hour*foot**2*delta_degF/Btu",), ("m**2*K/W",)),
}
NAMES = {
    "degF": "°F", "degC": "°C", "delta_degF": "°F", "delta_degC": "°C", "m**2": "m²",
    "kPa_gauge": "kPa gauge", "bar_gauge": "bar gauge", "ft**2": "ft²", "m**3": "m³", "m**3/h": "m³/h",
    "ton_refrigeration": "tons", "inch": "in", "gallon": "gal",
    "ftH2O": "ft water", "dimensionless": "as it is",
    "hour*foot**2*delta_degF/Btu": "h ft² °F/Btu", "m**2*K/W": "m² K/W", "Pa_abs": "Pa absolute",
    "Pa_gauge": "Pa gauge", "m**3/s": "m³/s",
}  # fmt: skip


def own_units(quantity: Quantity, units: str) -> tuple[str, ...]:
    """The reader's own; the first is the one offered first."""
    return CHOICES[kind_of(quantity)][0 if units == Units.INCH_POUND else 1]


def unit_choices(kind: str, units: str, typed: str = "") -> list[tuple[str, str]]:
    """The reader's own units first, then the others; a unit that was typed before is always among them."""
    ours, theirs = CHOICES[kind] if units == Units.INCH_POUND else CHOICES[kind][::-1]
    names = list(dict.fromkeys([*([typed] if typed else []), *ours, *theirs]))
    return [(name, NAMES.get(name, name)) for name in names]


class WithUnit(forms.MultiWidget):
    """A number and its unit, side by side; the number's box is the field's own."""

    template_name = "web/parts/with_unit.html"
    use_fieldset = False

    def __init__(self, choices: list[tuple[str, str]], label: str) -> None:
        number = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        unit = forms.Select(choices=choices, attrs={"aria-label": f"Unit of {label}"})
        super().__init__({"": number, "unit": unit})

    def decompress(self, value: Any) -> list[Any]:
        return [value.get("value"), value.get("unit")] if isinstance(value, dict) else [None, None]

    def id_for_label(self, id_: str) -> str:
        return f"{id_}_0" if id_ else id_


class QuantityField(forms.MultiValueField):
    """What was typed and its unit, as the services take it; converted and judged there, once."""

    def __init__(
        self, quantity: Quantity, units: str, typed_unit: str, mark: str = "", **options: Any
    ) -> None:
        self.mark = mark
        choices = unit_choices(kind_of(quantity), units, typed_unit)
        super().__init__(
            (forms.CharField(required=False, max_length=40), forms.CharField(required=False)),
            require_all_fields=False,
            required=False,
            widget=WithUnit(choices, str(options.get("label", ""))),
            **options,
        )

    def compress(self, data_list: list[Any]) -> dict[str, str] | None:
        if not data_list or not (data_list[0] or "").strip():
            return None
        return {"value": read(data_list[0].strip(), self.mark), "unit": data_list[1] or ""}


def yes_no(field: Any, options: dict[str, Any]) -> forms.Field:
    if field.allow_null:
        return forms.ChoiceField(choices=YES_NO, **{**options, "required": False})
    return forms.BooleanField(**{**options, "required": False})


def choice(field: Any, options: dict[str, Any]) -> forms.Field:
    given = [(value, str(words)) for value, words in field.choices.items() if value != ""]
    empty = [("", "not known")] if field.allow_blank or field.allow_null else []
    if field.required and not empty:  # nobody becomes an owner by its standing first in a list
        empty = [("", "choose")]
    return forms.ChoiceField(choices=[*empty, *given], **options)


def one_of(field: Any, options: dict[str, Any]) -> forms.Field:
    empty = "choose" if options.get("required", True) else "none"
    return forms.ModelChoiceField(field.get_queryset(), empty_label=empty, **options)


def some_of(field: Any, options: dict[str, Any]) -> forms.Field:
    rows = field.child_relation.get_queryset()
    return forms.ModelMultipleChoiceField(rows, widget=forms.CheckboxSelectMultiple, **options)


def text(field: Any, options: dict[str, Any]) -> forms.Field:
    long = field.style.get("base_template") == "textarea.html"
    widget = forms.Textarea(attrs={"rows": 4}) if long else forms.TextInput()
    return forms.CharField(max_length=field.max_length, widget=widget, **options)


def typed(kind: type[forms.Field], widget: forms.Widget) -> Callable[[Any, dict[str, Any]], forms.Field]:
    return lambda field, options: kind(widget=widget, **options)


MAKERS: tuple[tuple[type[Any], Callable[[Any, dict[str, Any]], forms.Field]], ...] = (
    (serializers.BooleanField, yes_no),
    (serializers.ChoiceField, choice),
    (ManyRelatedField, some_of),
    (PrimaryKeyRelatedField, one_of),
    (serializers.EmailField, typed(forms.CharField, forms.EmailInput())),
    (serializers.CharField, text),
    (
        serializers.DateTimeField,
        lambda field, options: MomentField(**options),
    ),
    (serializers.DateField, typed(forms.DateField, forms.DateInput({"type": "date"}, "%Y-%m-%d"))),
    (serializers.TimeField, typed(forms.TimeField, forms.TimeInput({"type": "time"}, "%H:%M"))),
    (serializers.IntegerField, typed(forms.CharField, forms.TextInput({"inputmode": "numeric"}))),
    (serializers.FloatField, typed(forms.CharField, forms.TextInput({"inputmode": "decimal"}))),
)


def field_for(name: str, field: Any, options: dict[str, Any]) -> forms.Field | None:
    """None for what no page asks, such as rows inside rows."""
    if isinstance(field, serializers.JSONField):
        of_rig = getattr(field.parent, "Meta").model is Rig  # noqa: B009
        return field_of_list(name, of_rig, options)
    make = next((make for kind, make in MAKERS if isinstance(field, kind)), None)
    return make(field, options) if make else None
