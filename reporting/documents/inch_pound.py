"""The engine's SI quantities inside a sentence, told in inch-pound units: here and nowhere else."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Told:
    """value * factor + offset, in `unit`. `digits` significant ones at least; 0 keeps the decimals given."""

    unit: str
    factor: float
    offset: float = 0.0
    digits: int = 3


# exact by definition: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 US gal = 231 in3, 1 Btu (IT) = 1055.05585262 J
BTU_PER_H, FT2, PSI, GAL = 1055.05585262 / 3600.0, 0.3048**2, 6894.757293168, 0.003785411784
WATER_KG_PER_M3 = 998.2
"""Of water at 20 degC: a mass flow is told as that of so much water, whatever flows."""
UNITS: dict[str, Told] = {
    "°C": Told("°F", 1.8, 32.0, 0),
    "K": Told("°F", 1.8, 0.0, 0),
    "kPa absolute": Told("psi absolute", 1e3 / PSI),
    "Pa absolute": Told("psi absolute", 1.0 / PSI),
    "kPa": Told("psi", 1e3 / PSI),
    "Pa": Told("psi", 1.0 / PSI),
    "kg/s": Told("gpm of water", 60.0 / (WATER_KG_PER_M3 * GAL)),
    "m³/s": Told("gpm", 60.0 / GAL),
    "m²K/W": Told("h·ft²·°F/Btu", 1.8 * BTU_PER_H / FT2, 0.0, 2),
    "K/W": Told("h·°F/Btu", 1.8 * BTU_PER_H, 0.0, 2),
    "W/(m²K)": Told("Btu/(h·ft²·°F)", FT2 / BTU_PER_H / 1.8, 0.0, 2),
}
NUMBER = r"\d+(?:\.\d+)?(?:e[+-]?\d+)?"
MEASURED = re.compile(
    rf"(?<![\w.,-])((?:\+-)?-?)({NUMBER})(?:( (?:to|\+-) )({NUMBER}))? "
    rf"({'|'.join(re.escape(unit) for unit in sorted(UNITS, key=len, reverse=True))})(?![\w/²])"
)


RESISTANCES = ("m²K/W", "K/W", "W/(m²K)")


def told(text: str, resistances: bool = True) -> str:
    """The sentence with every quantity that carries its unit converted; what has none is left.

    A document whose figures and drawings count resistances in SI keeps them so in its sentences.
    """
    return MEASURED.sub(lambda found: _converted(found, resistances), text)


def _converted(found: re.Match[str], resistances: bool) -> str:
    sign, low, between, high, unit = found.groups()
    if unit in RESISTANCES and not resistances:
        return found.group()
    way = UNITS[unit]
    spread = sign.startswith("+-")
    minus = "-" if sign.endswith("-") and not spread else ""
    first = _number(minus + low, way, 0.0 if spread else way.offset)
    second = ""
    if between:
        second = between + _number(high, way, 0.0 if "+-" in between else way.offset)
    return f"{'+-' if spread else ''}{first}{second} {way.unit}"


def _number(text: str, way: Told, offset: float) -> str:
    value = float(text) * way.factor + offset
    if not way.digits:
        return f"{value:.{len(text.partition('.')[2])}f}"
    given = len(text.partition("e")[0].replace(".", "").lstrip("-0")) or 1
    digits = max(way.digits, min(given, 4)) if way.digits > 2 else max(given, way.digits)
    if value and not 1e-9 < abs(value) < 1e6:
        return f"{value:.1e}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{value:.{decimals}f}"
