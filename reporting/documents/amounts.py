"""Volumes, masses, flows and times as they are printed."""

from __future__ import annotations

from datetime import datetime, timedelta

from diagnostics.engine.records import Interval
from reporting.documents import words
from reporting.documents.hand import hand

US_GALLON_M3 = 3.785411784e-3
POUND_KG = 0.45359237
PSI_PA = 6894.757
ACIDS = {
    "hydrochloric": "hydrochloric acid", "nitric": "nitric acid", "sulfamic": "sulfamic acid",
    "phosphoric": "phosphoric acid", "citric": "citric acid", "citric_monohydrate": "citric acid",
    "glycolic": "glycolic acid", "formic": "formic acid", "acetic": "acetic acid", "lactic": "lactic acid",
}  # fmt: skip


def litres(volume_m3: float) -> str:
    gallons = words.number(volume_m3 / US_GALLON_M3, 3)
    return f"{words.number(volume_m3 * 1000, 3)}{words.HARD}L ({gallons} US gal)"


def kilograms(mass_kg: float) -> str:
    return f"{words.number(mass_kg, 3)}{words.HARD}kg ({words.number(mass_kg / POUND_KG, 3)}{words.HARD}lb)"


def mass(mass_kg: float) -> str:
    """In the unit of whoever it is written for."""
    pounds = hand().inch_pound
    return f"{words.number(mass_kg / POUND_KG if pounds else mass_kg, 3)} {'lb' if pounds else 'kg'}"


def volume(volume_m3: float) -> str:
    gallons = hand().inch_pound
    value = volume_m3 / US_GALLON_M3 if gallons else volume_m3 * 1000
    return f"{words.number(value, 3)} {'US gal' if gallons else 'L'}"


def water(kelvin: float) -> str:
    value, unit = (kelvin * 1.8 - 459.67, "°F") if hand().inch_pound else (kelvin - 273.15, "°C")
    return f"{words.fixed(value, 1)} {unit}"


def measured(value: float, unit: str) -> str:
    """A pressure in kPa goes in psi where that is how its reader reads; all else as it is."""
    if unit == "kPa" and hand().inch_pound:
        value, unit = value * 1e3 / PSI_PA, "psi"
    return f"{words.number(value, 3)} {unit}"


def mass_range(mass: Interval) -> str:
    if hand().inch_pound:
        return words.interval(Interval(*(one / POUND_KG for one in (mass.value, mass.low, mass.high))), "lb")
    return words.interval(mass, "kg")


def per_cent(share: float) -> str:
    return f"{words.number(share * 100, 2)}{words.HARD}%"


def temperature(kelvin: float) -> str:
    celsius = kelvin - 273.15
    return f"{celsius:.0f}{words.HARD}°C ({celsius * 1.8 + 32:.0f}{words.HARD}°F)"


def flow(m3_per_s: float) -> str:
    return (
        f"{words.number(m3_per_s * 1000, 2)}{words.HARD}L/s ({words.fixed(m3_per_s * 15850.323, 1)} US gpm)"
    )


def lasting(time: timedelta) -> str:
    minutes = round(time.total_seconds() / 60)
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest}{words.HARD}min"
    return f"{hours}{words.HARD}h" + (f" {rest}{words.HARD}min" if rest else "")


def clock(moment: datetime) -> str:
    return f"{moment:%H:%M}"


def acid_names(names: tuple[str, ...]) -> str:
    return words.listed([ACIDS.get(name, words.plain_name(name)) for name in names])
