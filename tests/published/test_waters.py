"""Water and antifreeze against handbook tables, IAPWS verification values and reference libraries."""

import pytest
from chemicals import iapws, thermal_conductivity, viscosity

from diagnostics.engine.waters import Water, water
from tests.published.sources import published

ZERO_C = 273.15


@published(
    Water.density_kg_per_m3,
    Water.specific_heat_j_per_kg_k,
    Water.viscosity_pa_s,
    Water.conductivity_w_per_m_k,
    water,
    source="IAPWS values of water at 20 degC and one atmosphere, from memory",
)
def test_plain_water_at_twenty_degrees():
    plain = water()
    assert plain.density_kg_per_m3(293.15) == pytest.approx(998.2, rel=5e-4)
    assert plain.specific_heat_j_per_kg_k(293.15) == pytest.approx(4184, rel=1e-3)
    assert plain.viscosity_pa_s(293.15) == pytest.approx(1.0016e-3, rel=5e-4)
    assert plain.conductivity_w_per_m_k(293.15) == pytest.approx(0.5980, rel=5e-4)


@published(
    Water.density_kg_per_m3, source="Tanaka et al. (2001), Metrologia 38, 301: density of water, from memory"
)
@pytest.mark.parametrize(("celsius", "expected"), [(4, 999.97), (25, 997.05), (40, 992.2)])
def test_density_of_water(celsius, expected):
    assert water().density_kg_per_m3(ZERO_C + celsius) == pytest.approx(expected, rel=1e-4)


@published(
    Water.density_kg_per_m3,
    source="IAPWS-95 as written by the chemicals library, independent of the library behind the tables",
)
@pytest.mark.parametrize("celsius", [0.5, 5, 15, 30, 60, 90])
def test_density_follows_a_second_writing_of_iapws_95(celsius):
    expected = iapws.iapws95_rho(ZERO_C + celsius, 101325.0)
    assert water().density_kg_per_m3(ZERO_C + celsius) == pytest.approx(expected, rel=1e-5)


@published(
    Water.viscosity_pa_s,
    Water.conductivity_w_per_m_k,
    source="IAPWS R12-08 (viscosity) and R15-11 (conductivity) as written by the chemicals library",
)
@pytest.mark.parametrize("celsius", [1, 10, 20, 40, 80])
def test_transport_properties_follow_the_iapws_releases(celsius):
    temperature = ZERO_C + celsius
    density = iapws.iapws95_rho(temperature, 101325.0)
    expected = viscosity.mu_IAPWS(temperature, density)
    assert water().viscosity_pa_s(temperature) == pytest.approx(expected, rel=1e-3)
    conductivity = thermal_conductivity.k_IAPWS(temperature, density)
    assert water().conductivity_w_per_m_k(temperature) == pytest.approx(conductivity, rel=3e-3)


@published(
    Water.density_kg_per_m3,
    Water.specific_heat_j_per_kg_k,
    source="the trade's rule q [Btu/h] = 500 gpm dT [F], common practice",
)
@pytest.mark.parametrize("fahrenheit", [60, 68, 85, 95])
def test_the_trades_factor_of_five_hundred_holds_at_loop_temperatures(fahrenheit):
    # 1 gpm = 6.30902e-5 m3/s; 1 Btu/(h F) = 0.527527 W/K (NIST SP 811)
    temperature = ZERO_C + (fahrenheit - 32) / 1.8
    plain = water()
    rate = 6.30902e-5 * plain.density_kg_per_m3(temperature) * plain.specific_heat_j_per_kg_k(temperature)
    assert rate / 0.527527 == pytest.approx(500, rel=0.01)


@published(
    Water.density_kg_per_m3,
    Water.specific_heat_j_per_kg_k,
    source="a chiller maker's manual, table of propylene glycol by volume (after ASHRAE Fundamentals), "
    "rows as read",
)
@pytest.mark.parametrize(
    ("fraction", "celsius", "heat", "density"),
    [
        (0.20, 20, 3.97, 1019.0),
        (0.25, 20, 3.91, 1023.7),
        (0.30, 20, 3.85, 1028.4),
        (0.40, 20, 3.70, 1036.2),
        (0.30, 0, 3.79, 1036.2),
        (0.30, 40, 3.90, 1018.4),
        (0.40, 40, 3.77, 1025.3),
    ],
)
def test_propylene_glycol_by_volume(fraction, celsius, heat, density):
    mixture = water("propylene_glycol", fraction)
    assert mixture.specific_heat_j_per_kg_k(ZERO_C + celsius) / 1000 == pytest.approx(heat, rel=2e-3)
    assert mixture.density_kg_per_m3(ZERO_C + celsius) == pytest.approx(density, rel=2e-3)


@published(
    water, source="a chiller maker's manual, freezing points of propylene glycol by volume, rows as read"
)
@pytest.mark.parametrize(("fraction", "celsius"), [(0.20, -7.1), (0.30, -12.7), (0.40, -21.1)])
def test_freezing_points_of_propylene_glycol(fraction, celsius):
    assert water("propylene_glycol", fraction).freezing_point_k - ZERO_C == pytest.approx(celsius, abs=0.5)


@published(
    water, source="ASHRAE Handbook Fundamentals, secondary coolants, ethylene glycol by volume, from memory"
)
@pytest.mark.parametrize(("fraction", "celsius"), [(0.20, -8.9), (0.30, -15.7), (0.50, -37.9)])
def test_freezing_points_of_ethylene_glycol(fraction, celsius):
    assert water("ethylene_glycol", fraction).freezing_point_k - ZERO_C == pytest.approx(celsius, abs=1.0)


@published(
    Water.density_kg_per_m3,
    source="CRC Handbook of Chemistry and Physics, pure glycols at 20 degC, from memory",
)
@pytest.mark.parametrize(("antifreeze", "pure"), [("ethylene_glycol", 1113.0), ("propylene_glycol", 1036.0)])
@pytest.mark.parametrize("fraction", [0.2, 0.3, 0.5])
def test_glycols_by_volume_mix_with_a_small_contraction(antifreeze, pure, fraction):
    # a bound, not a point: unlike liquids that mix by hydrogen bonds take less room than apart
    without_contraction = fraction * pure + (1 - fraction) * 998.2
    contraction = water(antifreeze, fraction).density_kg_per_m3(293.15) / without_contraction
    assert 1.0 < contraction < 1.03


@published(
    Water.density_kg_per_m3,
    Water.viscosity_pa_s,
    water,
    source="CRC Handbook of Chemistry and Physics, concentrative properties of aqueous solutions at 20 degC, "
    "from memory",
)
@pytest.mark.parametrize(
    ("alcohol", "fraction", "density", "freezing", "viscosity"),
    [
        ("methanol", 0.10, 981.5, -6.5, 1.32e-3),
        ("methanol", 0.20, 966.6, -15.0, 1.58e-3),
        ("methanol", 0.30, 951.4, -25.9, 1.77e-3),
        ("ethanol", 0.10, 981.9, -4.5, 1.53e-3),
        ("ethanol", 0.20, 968.7, -10.9, 2.14e-3),
        ("ethanol", 0.30, 953.8, -20.5, 2.71e-3),
    ],
)
def test_alcohols_by_mass(alcohol, fraction, density, freezing, viscosity):
    mixture = water(alcohol, fraction)
    assert mixture.density_kg_per_m3(293.15) == pytest.approx(density, rel=2e-3)
    assert mixture.freezing_point_k - ZERO_C == pytest.approx(freezing, abs=0.5)
    assert mixture.viscosity_pa_s(293.15) == pytest.approx(viscosity, rel=0.04)


@published(
    Water.prandtl,
    source="Incropera & DeWitt (2002), Fundamentals of Heat and Mass Transfer, 5th ed., table A.6, from "
    "memory",
)
@pytest.mark.parametrize(("kelvin", "prandtl"), [(290, 7.56), (300, 5.83), (320, 3.77)])
def test_prandtl_number_of_water(kelvin, prandtl):
    assert water().prandtl(kelvin) == pytest.approx(prandtl, rel=0.015)
