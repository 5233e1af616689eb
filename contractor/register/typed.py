"""Values as typed in the field: {"value": "85.2", "unit": "degF"} becomes SI once, and is kept beside it.

A decimal comma is read as a decimal point where it can be nothing else: one comma, no point, and not three
digits behind it. `1,234` might be either and is asked about.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from contractor.http.problems import Problem
from diagnostics.engine import quantities

LONGEST = 40
SPACES = dict.fromkeys(map(ord, " \u00a0\u2009\u202f"), None)
MINUS = {0x2212: "-", 0x2013: "-"}
PARENTHESES = str.maketrans("()", "  ")
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+")
A_NUMBER = "a number such as 85.2"
# names with small powers, multiplied and divided: a power of powers would keep a calculator busy for ever
FACTOR = r"[^\W\d][^\W]*[\u00b2\u00b3]?(\s*(\*\*|\^)\s*-?\d(?!\s*(\*\*|\^|\d)))?"
UNIT = re.compile(rf"%|[\u00b0]?{FACTOR}(\s*[*/\u00b7 ]\s*[\u00b0]?{FACTOR})*")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with a unit: its name as typed, the column of its SI value, the engine's kind of quantity.

    A refrigerant's pressure is kept absolute, or as a gauge pressure where `gauge` is set. `mass_column`
    takes a flow typed as mass a time.
    """

    name: str
    column: str
    kind: str
    gauge: bool = False
    mass_column: str = ""

    @property
    def expected(self) -> str:
        if self.kind == "water_flow" and not self.mass_column:
            return "gpm, L/s or m**3/h"
        return quantities.KINDS[self.kind].expected

    @property
    def si_unit(self) -> str:
        return SI_AS_TYPED[self.kind] if not self.gauge else "Pa_gauge"

    @property
    def columns(self) -> tuple[str, ...]:
        return (self.column, self.mass_column) if self.mass_column else (self.column,)


SI_AS_TYPED = {
    "temperature": "K",
    "temperature_difference": "K",
    "refrigerant_pressure": "Pa_abs",
    "pressure_difference": "Pa",
    "water_flow": "m**3/s",
    "flow_coefficient": "Kv",
    "area": "m**2",
    "length": "m",
    "volume": "m**3",
    "mass": "kg",
    "duration": "s",
    "power": "W",
    "current": "A",
    "voltage": "V",
    "fraction": "dimensionless",
    "ratio": "dimensionless",
    "fouling_resistance": "m**2*K/W",
    "conductivity": "S/m",
}


@dataclass
class Settled:
    """SI columns and what was typed, and what could not be read (pointer and words)."""

    columns: dict[str, float | None] = field(default_factory=dict)
    as_typed: dict[str, dict[str, str]] = field(default_factory=dict)
    errors: list[dict[str, object]] = field(default_factory=list)

    def refuse(self, pointer: str, detail: str) -> None:
        self.errors.append({"pointer": pointer, "detail": detail})

    def or_problem(self) -> Settled:
        if self.errors:
            raise Problem("invalid", str(self.errors[0]["detail"]), errors=self.errors)
        return self


def number(value: object) -> float:
    """The number that was typed. Raises ValueError with words a technician can act on."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"not a number; expected {A_NUMBER}")
    if isinstance(value, str):
        value = _plain_digits(value)
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise ValueError(f"too large to be a reading; expected {A_NUMBER}")
    return found


def _plain_digits(text: str) -> str:
    plain = text.translate(SPACES).translate(MINUS)
    if len(text) > LONGEST:
        raise ValueError(f"longer than {LONGEST} characters; expected {A_NUMBER}")
    if DECIMAL_COMMA.fullmatch(plain):
        if len(plain.partition(",")[2]) == 3:
            point, bare = plain.replace(",", "."), plain.replace(",", "")
            raise ValueError(
                f"{text!r} might be {point} or {bare}; expected one of these, with a point or none"
            )
        plain = plain.replace(",", ".")
    if not plain:
        raise ValueError(f"no number; expected {A_NUMBER}")
    if not NUMBER.fullmatch(plain) or not plain.isascii():
        raise ValueError(f"{text!r} is not a number; expected {A_NUMBER}")
    return plain


def settle(
    known: Iterable[Quantity],
    sent: Mapping[str, object],
    *,
    barometric_pa: float,
    at: str = "/as_typed",
) -> Settled:
    """Turn everything in `sent` into SI. `null` clears a quantity. Nothing is refused for its size."""
    by_name = {quantity.name: quantity for quantity in known}
    settled = Settled()
    for name, entry in sent.items():
        quantity = by_name.get(name)
        if quantity is None:
            settled.refuse(
                f"{at}/{name}", f"{name!r} is not known here; expected one of {', '.join(by_name)}."
            )
        elif entry is None:
            settled.columns.update(dict.fromkeys(quantity.columns))
        else:
            _settle_one(settled, quantity, entry, barometric_pa, f"{at}/{name}")
    return settled


def conversion_of(unit: str, quantity: Quantity) -> quantities.Conversion:
    """How the unit becomes SI. Raises UnitError with what would be right."""
    plain = unit.translate(PARENTHESES).strip()
    if plain and not UNIT.fullmatch(plain):
        raise quantities.UnitError(unit, "not a known unit", quantity.expected)
    return quantities.conversion(unit.strip(), quantity.kind)


def _settle_one(
    settled: Settled, quantity: Quantity, entry: object, barometric_pa: float, pointer: str
) -> None:
    if not isinstance(entry, Mapping) or not set(entry) <= {"value", "unit"} or "value" not in entry:
        settled.refuse(
            pointer, f'expected {{"value": "85.2", "unit": "..."}} with a unit: {quantity.expected}.'
        )
        return
    unit = entry.get("unit", "")
    if not isinstance(unit, str) or len(unit) > LONGEST:
        settled.refuse(f"{pointer}/unit", f"not a unit; expected {quantity.expected}.")
        return
    before = len(settled.errors)
    try:
        value = number(entry["value"])
    except ValueError as error:
        settled.refuse(f"{pointer}/value", f"{error}.")
    try:
        line = conversion_of(unit, quantity)
        if line.is_mass_flow and not quantity.mass_column:
            raise quantities.UnitError(unit, "a mass a time; this is a volume a time", quantity.expected)
    except quantities.UnitError as error:
        settled.refuse(f"{pointer}/unit", f"{unit!r}: {error.reason}; expected {error.expected}.")
    if len(settled.errors) > before:
        return
    si = float(quantities.to_si(value, unit, quantity.kind, barometric_pa=barometric_pa))
    if not math.isfinite(si):
        settled.refuse(f"{pointer}/value", f"too large to be a reading; expected {A_NUMBER}.")
        return
    settled.columns.update(dict.fromkeys(quantity.columns))
    column = quantity.mass_column if line.is_mass_flow else quantity.column
    settled.columns[column] = si - barometric_pa if quantity.gauge else si
    settled.as_typed[quantity.name] = {"value": text_of(entry["value"]), "unit": unit}


def text_of(value: Any) -> str:
    return value if isinstance(value, str) else repr(value)


def barometric_at(elevation_m: float | None) -> float:
    """The standard atmosphere at the site; at sea level where the elevation is not known."""
    return float(quantities.standard_atmosphere_pa(elevation_m or 0.0))


def agree(first: float | None, second: float | None) -> bool:
    if first is None or second is None:
        return first is second
    return math.isclose(first, second, rel_tol=1e-9, abs_tol=1e-12)


def settle_facts(
    known: Iterable[Quantity],
    fields: Mapping[str, Any],
    typed_before: Mapping[str, Any],
    *,
    barometric_pa: float,
) -> dict[str, Any]:
    """Fields of a register row, both forms made one: SI by column name, as typed with a unit, or both alike.

    A value given in SI counts as typed in SI. What is not mentioned stays.
    """
    known = list(known)
    settled = settle(known, fields.get("as_typed") or {}, barometric_pa=barometric_pa)
    typed: dict[str, Any] = {**typed_before, **settled.as_typed}
    columns: dict[str, float | None] = dict(settled.columns)
    for quantity in known:
        if quantity.column not in fields:
            continue
        given = fields[quantity.column]
        if quantity.column in settled.columns:
            if not agree(given, settled.columns[quantity.column]):
                words = f"differs from as_typed/{quantity.name}; expected one of the two, or both alike."
                settled.refuse(f"/{quantity.column}", words)
            continue
        columns[quantity.column] = given
        if given is not None:
            typed[quantity.name] = {"value": repr(float(given)), "unit": quantity.si_unit}
    settled.or_problem()
    for quantity in known:
        if quantity.column in columns and columns[quantity.column] is None:
            typed.pop(quantity.name, None)
    plain = {name: value for name, value in fields.items() if name != "as_typed"}
    return {**plain, **columns, "as_typed": typed}
