"""Volumes, masses, flows and times as they are printed."""

from __future__ import annotations

from datetime import datetime, timedelta

from diagnostics.engine.records import Interval
from reporting.documents import words

US_GALLON_M3 = 3.785411784e-3
POUND_KG = 0.45359237
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


def mass_range(mass: Interval) -> str:
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
