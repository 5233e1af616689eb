"""The static test for air against CoolProp's saturation and Dalton's law."""

import pytest
from CoolProp.CoolProp import PropsSI

from diagnostics.engine import air
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import START
from tests.published.sources import published

DALTON = "CoolProp 8 saturation of R134a with Dalton's law: partial pressures add"


@published(air.static_excess_k, source=DALTON)
@pytest.mark.parametrize("air_pa", [0.0, 20e3, 100e3])
def test_air_shows_as_an_excess_of_saturation(air_pa):
    pressure = PropsSI("P", "T", 295.15, "Q", 0, "R134a") + air_pa
    expected = PropsSI("T", "P", pressure, "Q", 0, "R134a") - 295.15
    assert air.static_excess_k(refrigerant("R134a"), pressure, 295.15) == pytest.approx(expected, abs=0.02)


@published(air.air_state, source=DALTON + "; JCGM 100:2008, 6.2: beyond twice the standard uncertainty")
@pytest.mark.parametrize(
    ("air_pa", "state"),
    [(0.0, "ruled_out"), (5e3, "ruled_out"), (14e3, "in_doubt"), (60e3, "found"), (-60e3, "no_liquid")],
)
def test_the_test_finds_air_beyond_what_instruments_allow(air_pa, state):
    pressure = PropsSI("P", "T", 295.15, "Q", 0, "R134a") + air_pa
    row = ReadingSet("HP-1", START, "cooling", static_pressure_pa=pressure, static_coldest_k=295.15)
    found, excess, allowance = air.air_state(refrigerant("R134a"), row, instrument_table())
    assert found == state
    assert 0.5 < allowance < 2.0
    assert (excess > allowance) == (state == "found")


def test_without_a_static_reading_nothing_is_ruled_out():
    row = ReadingSet("HP-1", START, "cooling")
    assert air.air_state(refrigerant("R134a"), row, instrument_table()) == ("not_tested", None, None)
