"""Units as typed in the field turned into SI once, at the edge, and back again for display.

Every unit that pint converts may be used, and these of the trade: gpm (US gallons a minute), MBH (1000
Btu/h), ton_refrigeration, psig, psia, and any pressure unit with `_gauge`, `_abs` or `_vacuum` behind it
(kPa_gauge, bar_abs, inHg_vacuum), Kv (m3/h of water at 1 bar) and Cv (US
gpm at 1 psi). A unit is parsed once and kept as a straight line, so converting a value is one multiplication.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt
import pint

from diagnostics.engine.errors import UnknownName, like, within
from diagnostics.engine.spellings import plainly

Values = npt.ArrayLike

STANDARD_ATMOSPHERE_PA = 101325.0

_DEFINITIONS = (
    "gpm = gallon / minute",
    "MBH = 1000 * Btu / hour",
    "ton_refrigeration = refrigeration_ton",
    "Kv = meter**3 / hour / bar**0.5",
    "Cv = gallon / minute / psi**0.5",
)


class UnitError(ValueError):
    """A unit that cannot be used for a quantity; `reason` and `expected` say why and what to write."""

    def __init__(self, unit: str, reason: str, expected: str) -> None:
        self.unit, self.reason, self.expected = unit, reason, expected
        super().__init__(f"unit {unit!r}: {reason}; expected {expected}")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: its SI unit (for water flow, by volume and by mass) and units to suggest."""

    name: str
    si_units: tuple[str, ...]
    expected: str


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            Kind("temperature", ("kelvin",), "degF, degC or K"),
            Kind("temperature_difference", ("kelvin",), "delta_degF, delta_degC or K"),
            Kind("refrigerant_pressure", ("pascal",), "psig, psia, kPa_gauge, kPa_abs, bar_gauge or bar_abs"),
            Kind("pressure_difference", ("pascal",), "psi, ftH2O, kPa or bar"),
            Kind("water_flow", ("meter**3/second", "kilogram/second"), "gpm, L/s, m**3/h, kg/s or lb/h"),
            Kind("flow_coefficient", ("Kv",), "Kv or Cv"),
            Kind("area", ("meter**2",), "m**2 or ft**2"),
            Kind("length", ("meter",), "m, mm, ft or inch"),
            Kind("volume", ("meter**3",), "L, m**3 or gallon"),
            Kind("mass", ("kilogram",), "kg or lb"),
            Kind("power", ("watt",), "W, kW, MBH, Btu/h or ton_refrigeration"),
            Kind("current", ("ampere",), "A"),
            Kind("voltage", ("volt",), "V"),
            Kind("duration", ("second",), "minute, hour or second"),
            Kind("conductivity", ("siemens/meter",), "uS/cm, mS/cm or S/m"),
            Kind("fraction", ("dimensionless",), "%, percent or dimensionless"),
            Kind("ratio", ("dimensionless",), "dimensionless"),
            Kind("count", ("dimensionless",), "count or dimensionless"),
            Kind("fouling_resistance", ("meter**2*kelvin/watt",), "m**2*K/W or hour*foot**2*delta_degF/Btu"),
            Kind("thermal_resistance", ("kelvin/watt",), "K/W"),
        )
    }
)

_MAY_BE_BLANK = ("fraction", "ratio", "count")
_TEMPERATURE_DIFFERENCES = ("kelvin", "delta_degree_Celsius", "delta_degree_Fahrenheit")
_LONGEST_UNIT = 80
_POWER_OF_A_NUMBER = re.compile(r"[\d.)]\s*(\*\*|\^|[⁰¹²³⁴-⁹⁻])")
"""Would be worked out by the parser, for hours where someone types 9**9**9**9."""

_MEANT = MappingProxyType({"F": "degF", "C": "degC", "f": "degF", "c": "degC"})


@dataclass(frozen=True, slots=True)
class Conversion:
    """A unit as a straight line: SI = value * scale + offset, plus barometric pressure for a gauge.

    `si_unit` tells what comes out; of a water flow, whether volume or mass.
    """

    unit: str
    kind: str
    si_unit: str
    scale: float
    offset: float
    gauge: bool = False

    @property
    def is_mass_flow(self) -> bool:
        """True where the unit is of mass a time."""
        return self.si_unit == "kilogram/second"


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[Any]:
    """Return the unit registry, made once a process: pint's own units and those of the trade.

    Returns
    -------
    pint.UnitRegistry
        The registry.

    References
    ----------
    US gallon and Btu (IT) as in NIST Special Publication 811 (2008), appendix B.8.

    Examples
    --------
    >>> round(float(registry().Quantity(1.0, "gpm").to("liter/second").magnitude), 6)
    0.06309
    """
    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    for definition in _DEFINITIONS:
        units.define(definition)
    return units


@lru_cache(maxsize=1024)
def conversion(unit: str, kind: str) -> Conversion:
    """Return how a unit converts to SI for a kind of quantity, parsed once and then kept.

    Parameters
    ----------
    unit : str
        The unit as typed.
    kind : str
        One of `KINDS`.

    Returns
    -------
    Conversion
        Scale and offset to SI.

    Raises
    ------
    UnknownName
        Where the kind is not known.
    UnitError
        Where the unit is not known, of another dimension, or leaves open what it means (a bare psi for a
        refrigerant's pressure, degF for a temperature difference); says what to write.

    References
    ----------
    NIST Special Publication 811 (2008), appendix B.8, by way of pint.

    Examples
    --------
    >>> conversion("psig", "refrigerant_pressure").gauge
    True
    """
    if kind not in KINDS:
        raise UnknownName("kind of quantity", kind, KINDS)
    typed = unit.strip() if kind == "flow_coefficient" else plainly(unit)
    if kind == "refrigerant_pressure":
        return _pressure_conversion(typed, unit)
    if kind == "pressure_difference" and _split_pressure(typed)[1]:
        raise UnitError(unit, "a pressure difference is neither gauge nor absolute", KINDS[kind].expected)
    parsed = _parse(typed, kind)
    _refuse_wrong_temperature(parsed, typed, kind)
    for si_unit in KINDS[kind].si_units:
        if parsed.is_compatible_with(si_unit):
            scale, offset = _line(parsed, si_unit)
            if offset and kind != "temperature":
                raise UnitError(unit, "a unit without a fixed size (logarithmic)", KINDS[kind].expected)
            return Conversion(unit, kind, si_unit, scale, offset)
    raise UnitError(unit, f"not a unit of {kind.replace('_', ' ')}", KINDS[kind].expected)


def to_si(
    value: Values,
    unit: str,
    kind: str,
    *,
    barometric_pa: float | None = None,
    density: Values | None = None,
) -> Any:
    """Convert a value as typed to SI: K, Pa absolute, m3/s or kg/s, m2, W, s, m2 K/W and so on.

    Parameters
    ----------
    value : float or array
        The number [unit] as typed.
    unit : str
        Its unit.
    kind : str
        One of `KINDS`.
    barometric_pa : float or None
        Barometric pressure [Pa] at the site; compulsory for gauge and vacuum units.
    density : float, array or None
        Density [kg/m3] at the meter; turns a volume flow into a mass flow. Without it a volume flow stays in
        m3/s (`conversion(unit, "water_flow").is_mass_flow` tells which one came out).

    Returns
    -------
    float or array
        The value [SI].

    References
    ----------
    NIST Special Publication 811 (2008), appendix B.

    Examples
    --------
    >>> round(to_si(104.0, "degF", "temperature"), 2)
    313.15
    >>> round(to_si(118.8, "psig", "refrigerant_pressure", barometric_pa=101325.0) / 1000, 1)
    920.4
    """
    line = conversion(unit, kind)
    result = np.asarray(value, dtype=float) * line.scale + line.offset
    if line.gauge:
        result = result + _barometric(line, barometric_pa)
    if density is not None and kind == "water_flow" and not line.is_mass_flow:
        result = result * np.asarray(density, dtype=float)
        return like(result, value, density)
    return like(result, value)


def from_si(
    value: Values,
    unit: str,
    kind: str,
    *,
    barometric_pa: float | None = None,
    density: Values | None = None,
) -> Any:
    """Convert a value in SI to a unit for display; the inverse of `to_si`.

    Parameters
    ----------
    value : float or array
        The value [SI]; a water flow in kg/s where `density` is given, else in the unit's own m3/s or kg/s.
    unit : str
        The unit wanted.
    kind : str
        One of `KINDS`.
    barometric_pa : float or None
        Barometric pressure [Pa] at the site; compulsory for gauge and vacuum units.
    density : float, array or None
        Density [kg/m3], to show a mass flow in a unit of volume.

    Returns
    -------
    float or array
        The number [unit].

    References
    ----------
    NIST Special Publication 811 (2008), appendix B.

    Examples
    --------
    >>> round(from_si(313.15, "degF", "temperature"), 2)
    104.0
    """
    line = conversion(unit, kind)
    amount = np.asarray(value, dtype=float)
    if density is not None and kind == "water_flow" and not line.is_mass_flow:
        return like(amount / np.asarray(density, dtype=float) / line.scale, value, density)
    if line.gauge:
        amount = amount - _barometric(line, barometric_pa)
    return like((amount - line.offset) / line.scale, value)


def standard_atmosphere_pa(elevation_m: Values) -> Any:
    """Return the barometric pressure of the standard atmosphere at an elevation.

    p = 101325 (1 - 2.25577e-5 h)^5.2559, for -500 m to 11 000 m (the troposphere).

    Parameters
    ----------
    elevation_m : float or array
        Elevation above sea level [m].

    Returns
    -------
    float or array
        Barometric pressure [Pa].

    References
    ----------
    ASHRAE Handbook Fundamentals (2017), chapter 1, equation 3, after the US Standard Atmosphere (1976).

    Examples
    --------
    >>> round(standard_atmosphere_pa(1600.0) / 1000, 2)
    83.52
    """
    elevation = within("elevation", "m", elevation_m, -500.0, 11000.0)
    return like(STANDARD_ATMOSPHERE_PA * (1.0 - 2.25577e-5 * elevation) ** 5.2559, elevation_m)


def _barometric(line: Conversion, barometric_pa: float | None) -> float:
    if barometric_pa is None:
        raise UnitError(line.unit, "a gauge pressure without the barometric pressure", "the site's elevation")
    return barometric_pa


def _split_pressure(typed: str) -> tuple[str, str]:
    """Split a pressure unit into its plain unit and what it is measured from (gauge, abs, vacuum, "")."""
    if typed in ("psig", "psia"):
        return "psi", "gauge" if typed == "psig" else "abs"
    match = re.fullmatch(r"(.+)_(gauge|abs|vacuum)", typed)
    return (match[1], match[2]) if match else (typed, "")


def _pressure_conversion(typed: str, unit: str) -> Conversion:
    kind = KINDS["refrigerant_pressure"]
    plain, measured_from = _split_pressure(typed)
    parsed = _parse(plain, kind.name)
    if not parsed.is_compatible_with("pascal"):
        raise UnitError(unit, "not a unit of pressure", kind.expected)
    if not measured_from:
        told = "psig or psia" if typed == "psi" else f"{typed}_gauge or {typed}_abs"
        raise UnitError(unit, "must say gauge or absolute", told)
    scale, _ = _line(parsed, "pascal")
    sign = -1.0 if measured_from == "vacuum" else 1.0
    return Conversion(unit, kind.name, "pascal", sign * scale, 0.0, gauge=measured_from != "abs")


def _parse(typed: str, kind: str) -> Any:
    if not typed and kind not in _MAY_BE_BLANK:
        raise UnitError(typed, "no unit", KINDS[kind].expected)
    if "temperature" in kind and typed in _MEANT:
        raise UnitError(typed, "not a unit of temperature", KINDS[kind].expected)
    if kind == "flow_coefficient" and typed.replace("**", "").replace("^", "") in ("m3/h", "m³/h"):
        typed = "Kv"
    spelled = re.sub(r"\b(mm|cm|m|ft|in|inch|foot|yd)([23])\b", r"\1**\2", typed)
    if len(spelled) > _LONGEST_UNIT or _POWER_OF_A_NUMBER.search(spelled):
        raise UnitError(typed[:_LONGEST_UNIT], "not a known unit", KINDS[kind].expected)
    try:
        return registry().parse_units(spelled)
    except (
        Exception
    ) as error:  # The parser lets many kinds through, AssertionError and RecursionError among them.
        raise UnitError(typed, "not a known unit", KINDS[kind].expected) from error


def _refuse_wrong_temperature(parsed: Any, typed: str, kind: str) -> None:
    name = str(parsed)
    if kind == "temperature" and name.startswith("delta_"):
        raise UnitError(typed, "a difference of temperatures, not a temperature", KINDS[kind].expected)
    if kind == "temperature_difference" and name not in _TEMPERATURE_DIFFERENCES:
        reason = (
            "a temperature, not a difference" if name.startswith("degree") else "not a temperature difference"
        )
        raise UnitError(typed, reason, KINDS[kind].expected)


def _line(parsed: Any, si_unit: str) -> tuple[float, float]:
    quantity = registry().Quantity
    try:
        at_zero = float(quantity(0.0, parsed).to(si_unit).magnitude)
        at_thousand = float(quantity(1000.0, parsed).to(si_unit).magnitude)
    except Exception as error:
        raise UnitError(str(parsed), "not a unit of a usable size", si_unit) from error
    return (at_thousand - at_zero) / 1000.0, at_zero
