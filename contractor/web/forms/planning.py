"""Everything a plan of a descale takes. What is left empty is the label's, or common practice."""

from __future__ import annotations

from typing import Any

from django import forms

from contractor.accounts.models import Units
from contractor.descales.api.asking import DEPOSITS
from contractor.descales.planning import Asked
from contractor.register.models import Cleaner, Rig
from contractor.register.typed import Quantity, settle
from contractor.web.forms.base import MomentField, NumberField
from contractor.web.forms.descales import LocalForm
from contractor.web.records.fields import QuantityField
from diagnostics.engine.quantities import standard_atmosphere_pa

SUPPLY_K = (273.15, 333.15)
QUANTITIES = (
    Quantity("working_level", "working_level_m3", "volume"),
    Quantity("return_height", "return_height_m", "length"),
    Quantity("highest_point", "highest_point_m", "length"),
    Quantity("supply", "supply_k", "temperature"),
)
WORDS = {
    "working_level": ("In the tank while running", "Left empty: two fifths of the tank."),
    "return_height": ("Return above the tank's level", "Where the solution falls back. Left empty: 0.5 m."),
    "highest_point": ("Highest point above the tank's level", "It is filled first. Left empty: 1 m."),
    "supply": ("Water it is mixed with", "Between 0 and 60 °C. Left empty: 15 °C (59 °F)."),
}
FITTINGS = {
    "entrance": "Ends where it leaves a tank",
    "exit": "Ends where it enters a tank",
    "elbow_90": "Elbows of 90°, tight",
    "elbow_90_long": "Elbows of 90°, long",
    "elbow_45": "Elbows of 45°",
    "tee_through": "Tees, straight through",
    "tee_branch": "Tees, round the corner",
    "gate_valve": "Gate valves, open",
    "check_valve": "Check valves",
}
MOST_FITTINGS = 40


class PlanForm(LocalForm):
    """Left empty, a field takes what the label or the usual circuit says."""

    groups = (
        ("What goes in, and when", ("cleaner", "rig", "starts_at", "strength_percent", "deposit", "supply")),
        ("The circuit", ("working_level", "return_height", "highest_point")),
        ("Fittings between tank and exchanger", tuple(FITTINGS)),
        ("The place", ("in_a_pit", "confined_space_permit")),
    )
    notes = {
        "Fittings between tank and exchanger": "How many of each, both hoses together. None counted: two "
        "ends, four tight elbows and two open valves, as is usual.",
    }
    cleaner = forms.ModelChoiceField(Cleaner.objects.in_use().order_by("name"), empty_label="choose")
    rig = forms.ModelChoiceField(Rig.objects.in_use().order_by("name"), empty_label="choose")
    starts_at = MomentField(
        required=False, label="Acid goes in", help_text="By the clock on the site's wall."
    )
    strength_percent = NumberField(
        required=False, min_value=0, max_value=100, label="Strength of the bath [% by mass]",
        help_text="Left empty: the label's usual.",
    )  # fmt: skip
    deposit = forms.ChoiceField(
        required=False,
        label="Deposit expected",
        help_text="Left empty: what the water makes likely.",
        choices=[("", "not said"), *((name, name.replace("_", " ")) for name in DEPOSITS)],
    )
    in_a_pit = forms.BooleanField(required=False, label="In a pit or vault", help_text="A confined space.")
    confined_space_permit = forms.CharField(
        required=False, max_length=80, help_text="Reference of its permit, where it is one."
    )

    def __init__(self, *args: Any, units: str = Units.INCH_POUND, mark: str = "", **kwargs: Any) -> None:
        super().__init__(*args, mark=mark, **kwargs)
        for each in QUANTITIES:
            label, said = WORDS[each.name]
            before = (self.initial.get(each.name) or {}).get("unit", "")
            self.fields[each.name] = QuantityField(each, units, before, mark, label=label, help_text=said)
        for name, label in FITTINGS.items():
            self.fields[name] = forms.IntegerField(
                required=False, min_value=0, max_value=MOST_FITTINGS, label=label,
                widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
            )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        typed = {each.name: given[each.name] for each in QUANTITIES if given.get(each.name)}
        # no pressure is among them, so that the air's does not matter
        settled = settle(QUANTITIES, typed, barometric_pa=float(standard_atmosphere_pa(0.0)))
        for error in settled.errors:
            name = next(n for n in str(error["pointer"]).split("/") if n in WORDS)
            self.add_error(name, str(error["detail"]))
        self.si = {name: value for name, value in settled.columns.items() if value is not None}
        self.refuse_impossible()
        return given

    def refuse_impossible(self) -> None:
        by_column = {each.column: each.name for each in QUANTITIES}
        for column, value in self.si.items():
            if column != "supply_k" and value < 0.0:
                self.add_error(by_column[column], "Below zero; expected zero or above.")
        supply = self.si.get("supply_k")
        if supply is not None and not SUPPLY_K[0] <= supply <= SUPPLY_K[1]:
            self.add_error("supply", "Expected water between 0 and 60 °C (32 and 140 °F).")
        if sum(self.cleaned_data.get(name) or 0 for name in FITTINGS) > MOST_FITTINGS:
            self.add_error(None, f"More than {MOST_FITTINGS} fittings; expected those of one circuit.")

    def asked(self) -> Asked:
        plain = ("starts_at", "deposit", "in_a_pit", "confined_space_permit")
        given: dict[str, Any] = {
            name: value for name in plain if (value := self.cleaned_data[name]) not in ("", None)
        }
        counts = {name: self.cleaned_data.get(name) or 0 for name in FITTINGS}
        if any(counts.values()):
            given["fittings"] = tuple(name for name, count in counts.items() for _ in range(count))
        if (percent := self.cleaned_data["strength_percent"]) is not None:
            given["strength"] = percent / 100.0
        given.update(self.si)
        return Asked(**given)

    @staticmethod
    def of(asked: Asked, units: str) -> dict[str, Any]:
        """As an earlier plan was asked for; what was left to the label or to practice stays empty."""
        usual = Asked()
        shown: dict[str, Any] = {"deposit": asked.deposit, "in_a_pit": asked.in_a_pit,
                                 "confined_space_permit": asked.confined_space_permit}  # fmt: skip
        if asked.strength is not None:
            shown["strength_percent"] = f"{100 * asked.strength:.4g}"
        if asked.fittings != usual.fittings:
            shown.update({name: asked.fittings.count(name) or None for name in FITTINGS})
        for each in QUANTITIES:
            value = getattr(asked, each.column)
            if value is not None and value != getattr(usual, each.column):
                shown[each.name] = as_shown(each, value, units)
        return shown


def as_shown(quantity: Quantity, value: float, units: str) -> dict[str, str]:
    if quantity.kind == "temperature" and units == Units.INCH_POUND:
        return {"value": f"{value * 1.8 - 459.67:.4g}", "unit": "degF"}
    if quantity.kind == "temperature":
        return {"value": f"{value - 273.15:.4g}", "unit": "degC"}
    if quantity.kind == "volume":
        return {"value": f"{1000 * value:.4g}", "unit": "L"}
    return {"value": f"{value:.4g}", "unit": "m"}
