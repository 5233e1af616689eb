"""Numbers for people: an SI value in the units the reader chose, with as many digits as mean something."""

from __future__ import annotations

from dataclasses import dataclass

from contractor.accounts.models import DecimalMark, Units
from contractor.register.typed import Quantity
from diagnostics.engine.quantities import standard_atmosphere_pa


@dataclass(frozen=True, slots=True)
class Shown:
    """value * factor + offset, in `unit`, with `digits` behind the point."""

    unit: str
    factor: float
    digits: int
    offset: float = 0.0


# exact by definition: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 US gal = 231 in3, 1 Btu (IT) = 1055.05585262 J
PSI = 6894.757293168
GPM = 6.30901964e-5
# Kv of 1 Cv: 1 US gpm at 1 psi, as m3/h at 1 bar
CV = GPM * 3600 * (1e5 / PSI) ** 0.5
MBH = 293.07107017
FOULING = 0.17611018
SHOWN: dict[str, tuple[Shown, Shown]] = {
    # kind: (SI, inch-pound)
    "temperature": (Shown("°C", 1.0, 1, -273.15), Shown("°F", 1.8, 1, -459.67)),
    "temperature_difference": (Shown("K", 1.0, 1), Shown("°F", 1.8, 1)),
    "refrigerant_pressure": (Shown("kPa gauge", 1e-3, 0), Shown("psig", 1 / PSI, 0)),
    "gauge_pressure": (Shown("kPa gauge", 1e-3, 0), Shown("psig", 1 / PSI, 0)),
    "flow_coefficient": (Shown("Kv", 1.0, 2), Shown("Cv", 1 / CV, 2)),
    "ratio": (Shown("", 1.0, 2), Shown("", 1.0, 2)),
    "pressure_difference": (Shown("kPa", 1e-3, 1), Shown("psi", 1 / PSI, 1)),
    "water_flow": (Shown("L/s", 1e3, 2), Shown("gpm", 1 / GPM, 1)),
    "air_flow": (Shown("m³/h", 3600.0, 0), Shown("cfm", 60 / 0.3048**3, 0)),
    "power": (Shown("kW", 1e-3, 1), Shown("MBH", 1 / MBH, 1)),
    "electric_power": (Shown("kW", 1e-3, 2), Shown("kW", 1e-3, 2)),
    "fouling_resistance": (Shown("m² K/kW", 1e3, 3), Shown("h ft² °F/Btu", 1 / FOULING, 5)),
    "length": (Shown("m", 1.0, 2), Shown("ft", 1 / 0.3048, 1)),
    "bore": (Shown("mm", 1e3, 1), Shown("in", 1 / 0.0254, 3)),
    "area": (Shown("m²", 1.0, 2), Shown("ft²", 1 / 0.09290304, 1)),
    "volume": (Shown("L", 1e3, 1), Shown("gal", 1 / 0.003785411784, 1)),
    "mass": (Shown("kg", 1.0, 2), Shown("lb", 1 / 0.45359237, 2)),
    "fraction": (Shown("%", 100.0, 0), Shown("%", 100.0, 0)),
    "duration": (Shown("min", 1 / 60, 0), Shown("min", 1 / 60, 0)),
    "current": (Shown("A", 1.0, 1), Shown("A", 1.0, 1)),
    "voltage": (Shown("V", 1.0, 0), Shown("V", 1.0, 0)),
}


# what is read in other units than the rest of its kind
OWN_KIND = {"bore": "bore", "hose_bore": "bore", "pump_power": "electric_power",
            "compressor_power": "electric_power", "fan_power": "electric_power"}  # fmt: skip


def kind_of(quantity: Quantity) -> str:
    return OWN_KIND.get(quantity.name, quantity.kind)


def way(kind: str, units: str) -> Shown:
    if kind not in SHOWN:
        raise LookupError(f"{kind!r} is no kind of quantity; expected one of {', '.join(SHOWN)}")
    return SHOWN[kind][1 if units == Units.INCH_POUND else 0]


def number_in(value: float, kind: str, units: str, elevation_m: float | None = None) -> float:
    """The number alone. Refrigerant pressures are absolute in SI and shown as the gauge shows them."""
    if kind == "refrigerant_pressure":
        value -= float(standard_atmosphere_pa(elevation_m or 0.0))
    how = way(kind, units)
    return value * how.factor + how.offset


def in_words(
    value: float | None,
    kind: str,
    units: str,
    elevation_m: float | None = None,
    mark: str = DecimalMark.POINT,
) -> str:
    """'85.2 °F', or '85,2 °F' for who writes a comma; an empty value is a dash."""
    if value is None:
        return "–"
    how = way(kind, units)
    number = round(number_in(value, kind, units, elevation_m), how.digits) + 0.0
    space = "" if how.unit in ("", "%") else "\N{NO-BREAK SPACE}"
    digits = written(f"{number:.{how.digits}f}", mark)
    return f"{digits}{space}{how.unit}".replace("-", "\N{MINUS SIGN}")


def written(number: str, mark: str) -> str:
    """A number that has a decimal point, with the mark that its reader writes."""
    return number.replace(".", ",") if mark == DecimalMark.COMMA else number


def read(typed: str, mark: str) -> str:
    """What was typed by someone who writes a comma, as the services read it; what is no number stays.

    For them 1,234 is a little more than one, and 1.234,5 a little more than a thousand. A point alone is left
    as it is typed: what a form shows of a value kept before may have one.
    """
    if mark != DecimalMark.COMMA or "," not in typed:
        return typed
    whole, _, decimals = typed.rpartition(",")
    return f"{whole.replace('.', '')}.{decimals}" if "," not in whole else typed
