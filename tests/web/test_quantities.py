"""Numbers in the reader's units, checked against pint's definitions (a general reference library)."""

from __future__ import annotations

from typing import Any

import pint
import pytest

from contractor.web import quantities
from contractor.web.quantities import SHOWN, number_in

UNITS = pint.UnitRegistry()
PINT = {
    "temperature_difference": ("delta_degC", "kelvin", "delta_degF"),
    "pressure_difference": ("pascal", "kilopascal", "psi"),
    "water_flow": ("m**3/s", "L/s", "gallon/minute"),
    "power": ("watt", "kilowatt", "kBtu/hour"),
    "fouling_resistance": ("m**2*K/W", "m**2*K/kW", "hour*ft**2*delta_degF/Btu"),
    "length": ("m", "m", "ft"),
    "bore": ("m", "mm", "inch"),
    "area": ("m**2", "m**2", "ft**2"),
    "volume": ("m**3", "L", "gallon"),
    "mass": ("kg", "kg", "lb"),
}


def in_words(*given: Any) -> str:
    return quantities.in_words(*given).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("kind", PINT)
def test_factors_are_those_of_the_reference_library(kind: str) -> None:
    si, shown_si, shown_ip = PINT[kind]
    for units, name in (("si", shown_si), ("inch_pound", shown_ip)):
        expected = UNITS.Quantity(1.0, si).to(name).magnitude
        assert number_in(1.0, kind, units) == pytest.approx(expected, rel=2e-6)


def test_temperatures_at_the_points_everyone_knows() -> None:
    assert in_words(273.15, "temperature", "si") == "0.0 °C"
    assert in_words(373.15, "temperature", "inch_pound") == "212.0 °F"
    assert in_words(233.15, "temperature", "inch_pound") == "−40.0 °F"


def test_a_gauge_open_to_the_standard_atmosphere_reads_zero() -> None:
    assert in_words(101_325.0, "refrigerant_pressure", "inch_pound") == "0 psig"
    # US Standard Atmosphere 1976: 83.4 kPa at 1609 m (from its formula, hand calculation)
    assert in_words(83_400.0, "refrigerant_pressure", "si", 1609.0) == "0 kPa gauge"


def test_an_unknown_value_is_a_dash_and_an_unknown_kind_is_refused() -> None:
    assert in_words(None, "temperature", "si") == "–"
    with pytest.raises(LookupError, match="expected one of temperature"):
        in_words(1.0, "warmth", "si")


def test_every_kind_has_both_ways() -> None:
    assert all(len(ways) == 2 for ways in SHOWN.values())
