"""The readings form's fields: in the order one walks round a unit, each with its units and a word of help."""

from __future__ import annotations

from dataclasses import dataclass

from contractor.accounts.models import Units
from contractor.visits.quantities import BY_NAME

# as the phone's script names and converts them; (inch-pound first choice, SI first choice)
CHOICES: dict[str, tuple[str, ...]] = {
    "temperature": ("degF", "degC"),
    "refrigerant_pressure": ("psig", "kPa_gauge", "bar_gauge", "inHg_vacuum", "psia", "kPa_abs", "bar_abs"),
    "pressure_difference": ("psi", "kPa", "ftH2O", "inH2O", "bar"),
    "water_flow": ("gpm", "L/s", "L/min", "m**3/h"),
    "power": ("kW", "W"),
    "current": ("A",),
    "voltage": ("V",),
    "ratio": ("dimensionless",),
}
FIRST = {Units.INCH_POUND: 0, Units.SI: 1}
WORDS = {
    "degF": "°F", "degC": "°C", "kPa_gauge": "kPa gauge", "bar_gauge": "bar gauge", "kPa_abs": "kPa absolute",
    "bar_abs": "bar absolute", "inHg_vacuum": "inHg of vacuum", "ftH2O": "ft of water",
    "inH2O": "in of water",
    "m**3/h": "m³/h", "dimensionless": "",
}  # fmt: skip
HELP = {
    "entering_water": "In the port, or strapped and insulated. One probe for both ports is best.",
    "leaving_water": "After the water has left the exchanger, before any mixing.",
    "water_flow": "From a meter. Else the pressure drop tells it.",
    "water_pressure_drop": "Across the exchanger's own ports.",
    "balancing_valve_pressure_drop": "Across its two test ports; the set position stays as it is.",
    "head_pressure": "High side, as the gauge shows it.",
    "suction_pressure": "Low side, as the gauge shows it.",
    "liquid_line": "Right where the liquid leaves the condensing coil.",
    "suction_line": "At the compressor's inlet, insulated.",
    "discharge_line": "A hand's breadth from the compressor.",
    "static_pressure": "Machine off and settled: tells whether air is in the refrigerant.",
    "static_coldest": "The coldest part the refrigerant touches, machine off and settled.",
}
GROUPS = (
    ("Water", ("entering_water", "leaving_water", "water_flow", "water_pressure_drop",
               "balancing_valve_pressure_drop")),
    ("Refrigerant", ("head_pressure", "liquid_line", "suction_pressure", "suction_line", "discharge_line")),
    ("Power", ("compressor_power", "amps", "volts", "power_factor")),
    ("Air", ("entering_air", "entering_air_wet_bulb", "leaving_air")),
    ("Machine off", ("static_pressure", "static_coldest")),
)  # fmt: skip
ALWAYS_OPEN = ("Water", "Refrigerant")
EARLY = ("entering_water", "leaving_water", "water_flow", "water_pressure_drop", "head_pressure",
         "liquid_line", "suction_pressure", "suction_line")  # fmt: skip
SHORT_ROW = ("entering_water", "leaving_water", "head_pressure", "suction_pressure", "liquid_line")


@dataclass(frozen=True, slots=True)
class Field:
    name: str
    label: str
    kind: str
    units: tuple[tuple[str, str], ...]
    help: str


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    fields: tuple[Field, ...]
    open: bool


def field(name: str, units: str) -> Field:
    kind = BY_NAME[name].kind
    choices = CHOICES[kind]
    first = choices[min(FIRST.get(Units(units), 0), len(choices) - 1)]
    ordered = (first, *(unit for unit in choices if unit != first))
    shown = tuple((unit, WORDS.get(unit, unit)) for unit in ordered)
    label = name.replace("_", " ").capitalize()
    return Field(name, label, kind, shown, HELP.get(name, ""))


def groups(units: str) -> list[Group]:
    return [
        Group(title, tuple(field(name, units) for name in names), title in ALWAYS_OPEN)
        for title, names in GROUPS
    ]


def short_row(units: str) -> list[Field]:
    return [field(name, units) for name in SHORT_ROW]


def early(units: str) -> list[Field]:
    return [field(name, units) for name in EARLY]
