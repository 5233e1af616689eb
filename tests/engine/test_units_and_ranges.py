"""Units: what is refused and in which words, round trips, and that a value costs no parsing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine.errors import OutOfRange, UnknownName
from diagnostics.engine.quantities import KINDS, UnitError, conversion, from_si, standard_atmosphere_pa, to_si

GAUGES = ["psig", "kPa_gauge", "bar_gauge", "inHg_vacuum", "psia", "kPa_abs", "bar_abs"]


@pytest.mark.parametrize(
    ("unit", "kind", "words"),
    [
        ("psi", "refrigerant_pressure", "must say gauge or absolute; expected psig or psia"),
        ("kPa", "refrigerant_pressure", "expected kPa_gauge or kPa_abs"),
        ("bar", "refrigerant_pressure", "expected bar_gauge or bar_abs"),
        ("degF", "temperature_difference", "a temperature, not a difference; expected delta_degF"),
        ("delta_degF", "temperature", "a difference of temperatures"),
        ("F", "temperature", "expected degF"),
        ("psig", "pressure_difference", "neither gauge nor absolute"),
        ("degC", "refrigerant_pressure", "not a unit of pressure"),
        ("cfm", "water_flow", "not a unit of water flow"),
        ("furlongs_per", "length", "not a known unit"),
        ("((", "length", "not a known unit"),
        ("2*m", "length", "not a known unit"),
        ("", "power", "no unit"),
        ("dB", "ratio", "without a fixed size"),
    ],
)
def test_a_unit_that_cannot_be_used_is_answered_with_what_to_write(unit, kind, words):
    with pytest.raises(UnitError, match=words) as told:
        to_si(1.0, unit, kind, barometric_pa=101325.0)
    assert told.value.reason and told.value.expected


def test_an_unknown_kind_is_answered_with_those_known():
    with pytest.raises(UnknownName, match="fouling_resistance"):
        to_si(1.0, "m", "colour")


def test_a_gauge_without_the_barometer_is_refused():
    with pytest.raises(UnitError, match="without the barometric pressure"):
        to_si(100.0, "psig", "refrigerant_pressure")


@given(value=st.floats(-50.0, 900.0), unit=st.sampled_from(GAUGES), barometer=st.floats(7e4, 1.05e5))
def test_pressures_go_to_si_and_back(value, unit, barometer):
    there = to_si(value, unit, "refrigerant_pressure", barometric_pa=barometer)
    back = from_si(there, unit, "refrigerant_pressure", barometric_pa=barometer)
    assert back == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_every_suggested_unit_is_accepted(kind):
    for unit in KINDS[kind].expected.replace(" or ", ", ").split(", "):
        found = to_si(1.0, unit, kind, barometric_pa=101325.0)
        assert from_si(found, unit, kind, barometric_pa=101325.0) == pytest.approx(1.0, abs=1e-9)


def test_a_flow_says_whether_it_is_of_volume_or_of_mass():
    assert not conversion("gpm", "water_flow").is_mass_flow
    assert conversion("kg/s", "water_flow").is_mass_flow
    assert to_si(10.0, "gpm", "water_flow", density=1000.0) == pytest.approx(0.630902, rel=1e-6)
    assert to_si(2.0, "kg/s", "water_flow", density=1000.0) == 2.0
    assert from_si(0.630902, "gpm", "water_flow", density=1000.0) == pytest.approx(10.0, rel=1e-6)


def test_a_vector_gives_what_its_scalars_give():
    values = np.array([32.0, 86.0, 104.0])
    one_by_one = [to_si(float(value), "degF", "temperature") for value in values]
    assert all(isinstance(value, float) for value in one_by_one)
    assert to_si(values, "degF", "temperature") == pytest.approx(one_by_one, rel=1e-15)


def test_a_unit_is_parsed_once():
    conversion.cache_clear()
    for value in range(100):
        to_si(value, "hour*foot**2*delta_degF/Btu", "fouling_resistance")
    assert (conversion.cache_info().misses, conversion.cache_info().hits) == (1, 99)


@pytest.mark.parametrize("elevation", [-600.0, 12_000.0, float("nan")])
def test_elevations_off_the_earths_surface_are_refused(elevation):
    with pytest.raises(OutOfRange, match="elevation"):
        standard_atmosphere_pa(elevation)
