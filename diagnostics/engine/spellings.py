"""Other spellings of units that can mean one thing only, capitals or not, for files, API and phone alike."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

ALSO: Mapping[str, str] = MappingProxyType(
    {
        "gpm": "gpm",
        "usgpm": "gpm",
        "us gpm": "gpm",
        "l/s": "L/s",
        "lps": "L/s",
        "l/min": "L/min",
        "lpm": "L/min",
        "m3/h": "m**3/h",
        "m^3/h": "m**3/h",
        "m³/h": "m**3/h",
        "sqft": "ft**2",
        "sq ft": "ft**2",
        "sqm": "m**2",
        "sq m": "m**2",
        "psig": "psig",
        "psia": "psia",
        "psi_gauge": "psig",
        "psi_abs": "psia",
        "kpag": "kPa_gauge",
        "kpaa": "kPa_abs",
        "barg": "bar_gauge",
        "bara": "bar_abs",
        "kw": "kW",
        "mbh": "MBH",
        "°f": "degF",
        "°c": "degC",
        "degf": "degF",
        "degc": "degC",
    }
)
"""In small letters, and the unit that is meant."""


def plainly(unit: str) -> str:
    """The unit meant by a spelling; what is not in the table stands as it was typed."""
    typed = unit.strip()
    return ALSO.get(typed.casefold(), typed)
