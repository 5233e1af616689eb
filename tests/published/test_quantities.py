"""Conversions against published conversion factors and the standard atmosphere."""

import fluids
import pytest
from scipy import constants

from diagnostics.engine.quantities import conversion, from_si, registry, standard_atmosphere_pa, to_si
from tests.published.sources import published

NIST = "NIST Special Publication 811 (2008), appendix B.8"


@published(registry, conversion, to_si, from_si, source=NIST)
@pytest.mark.parametrize(
    ("value", "unit", "kind", "expected"),
    [
        (1, "gpm", "water_flow", 6.309020e-5),
        (1, "Cv", "flow_coefficient", 3.785412e-3 * 60 / (6894.757 / 1e5) ** 0.5),
        (1, "m3/h", "water_flow", 1 / 3600),
        (1, "lb/h", "water_flow", 1.259979e-4),
        (1, "ft2", "area", 9.290304e-2),
        (1, "inch", "length", 0.0254),
        (1, "Btu/h", "power", 0.2930711),
        (1, "MBH", "power", 293.0711),
        (1, "ton_refrigeration", "power", 3516.853),
        (1, "psi", "pressure_difference", 6894.757),
        (1, "ftH2O", "pressure_difference", 2989.067),
        (1, "psia", "refrigerant_pressure", 6894.757),
        (1, "bar_abs", "refrigerant_pressure", 1e5),
        (1, "inHg_abs", "refrigerant_pressure", 3386.389),
        (1, "delta_degF", "temperature_difference", 1 / 1.8),
        (86, "degF", "temperature", 303.15),
        (30, "degC", "temperature", 303.15),
        (1, "hour*foot**2*delta_degF/Btu", "fouling_resistance", 0.1761102),
        (30, "%", "fraction", 0.30),
        (90, "minute", "duration", 5400),
        (1, "US_liquid_gallon", "volume", 3.785412e-3),
    ],
)
def test_units_of_the_trade_convert_as_published(value, unit, kind, expected):
    assert to_si(value, unit, kind) == pytest.approx(expected, rel=2e-6)
    assert from_si(expected, unit, kind) == pytest.approx(value, rel=2e-6)


@published(to_si, conversion, source="IEC 60534-1: Kv = 0.865 Cv")
def test_a_valves_kv_is_0_865_of_its_cv():
    assert to_si(4.0, "Cv", "flow_coefficient") == pytest.approx(4.0 * 0.865, rel=1e-3)
    assert to_si(2.5, "m3/h", "flow_coefficient") == to_si(2.5, "Kv", "flow_coefficient") == 2.5


@published(to_si, source="scipy.constants (CODATA and NIST conversion factors)")
@pytest.mark.parametrize(
    ("unit", "kind", "expected"),
    [
        ("psi", "pressure_difference", constants.psi),
        ("torr", "pressure_difference", constants.torr),
        ("foot", "length", constants.foot),
        ("hp", "power", constants.hp),
        ("lb", "mass", constants.lb),
    ],
)
def test_units_convert_as_scipys_constants(unit, kind, expected):
    assert to_si(1.0, unit, kind) == pytest.approx(expected, rel=1e-6)


@published(
    to_si,
    source="fouling allowances in both units as printed side by side in UFGS-15620A (0.0001, 0.00025, "
    "0.0005)",
)
@pytest.mark.parametrize(
    ("imperial", "metric"), [(0.0001, 0.000018), (0.00025, 0.000044), (0.0005, 0.000088)]
)
def test_fouling_allowances_agree_with_a_guide_specification(imperial, metric):
    found = to_si(imperial, "hour*foot**2*delta_degF/Btu", "fouling_resistance")
    assert found == pytest.approx(metric, abs=0.5e-6)


@published(to_si, source="gauge pressure plus barometric pressure, hand calculation with 14.696 psi")
def test_gauge_and_vacuum_readings_become_absolute():
    # 118.8 psig at sea level: 133.496 psia = 920.42 kPa; 10 inHg of vacuum: 101.325 - 33.864 = 67.461 kPa
    sea_level = {"kind": "refrigerant_pressure", "barometric_pa": 101325.0}
    assert to_si(118.8, "psig", **sea_level) == pytest.approx(920_420, rel=1e-5)
    assert to_si(10.0, "inHg_vacuum", **sea_level) == pytest.approx(67_461, rel=1e-5)
    assert to_si(2.0, "bar_gauge", **sea_level) == pytest.approx(301_325, rel=1e-9)


@published(
    standard_atmosphere_pa,
    source="US Standard Atmosphere (1976) as written by the fluids library (ATMOSPHERE_1976)",
)
@pytest.mark.parametrize("elevation", [-300.0, 0.0, 500.0, 1600.0, 3000.0])
def test_the_standard_atmosphere_of_1976(elevation):
    expected = fluids.ATMOSPHERE_1976(elevation).P
    assert standard_atmosphere_pa(elevation) == pytest.approx(expected, rel=5e-4)


@published(
    standard_atmosphere_pa,
    source="ASHRAE Handbook Fundamentals (2017), chapter 1, table 1, standard atmosphere, from memory",
)
@pytest.mark.parametrize(("elevation", "kilopascal"), [(0, 101.325), (1000, 89.875), (2000, 79.495)])
def test_the_standard_atmosphere_of_the_handbook(elevation, kilopascal):
    assert standard_atmosphere_pa(elevation) / 1000 == pytest.approx(kilopascal, rel=5e-4)
