"""The batch property tables against the property libraries and published tables."""

import math

import CoolProp.CoolProp as coolprop
import ht
import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from diagnostics.engine.virtual_unit import loop_water as lw
from diagnostics.engine.virtual_unit import properties, psychrometrics, vapour
from diagnostics.engine.virtual_unit.properties import PropertyTable, property_table
from tests.published.sources import published


def one(name: str, dew_k: float) -> tuple[PropertyTable, properties.Saturation]:
    table = property_table((name,))
    return table, table.saturation(np.array([dew_k]))


@published(
    property_table,
    PropertyTable.saturation,
    PropertyTable.liquid,
    source="ASHRAE Fundamentals ch. 30, R-134a table, from memory",
)
def test_r134a_at_forty_degrees_is_the_handbooks():
    table, sat = one("R134a", 313.15)
    assert sat.pressure_pa[0] == pytest.approx(1016.6e3, rel=5e-4)
    assert sat.h_liquid[0] == pytest.approx(256.41e3, abs=50.0)
    assert sat.h_vapour[0] == pytest.approx(419.43e3, abs=50.0)
    assert table.liquid(np.array([313.15]))[0][0] == pytest.approx(256.41e3, abs=50.0)


@published(
    PropertyTable.saturation,
    PropertyTable.liquid,
    source="CoolProp, saturation and liquid density of pure fluids",
)
@pytest.mark.parametrize("name", ["R134a", "R32", "R22", "R1234ze(E)", "R123", "R1233zd(E)"])
@pytest.mark.parametrize("dew_k", [250.0, 281.7, 318.3])
def test_saturation_is_the_property_librarys(name, dew_k):
    table, sat = one(name, dew_k)
    for key, value, quality in (
        ("P", sat.pressure_pa, 1),
        ("H", sat.h_vapour, 1),
        ("H", sat.h_liquid, 0),
        ("D", sat.rho_vapour, 1),
        ("D", sat.rho_liquid, 0),
        ("S", sat.s_vapour, 1),
    ):
        assert value[0] == pytest.approx(coolprop.PropsSI(key, "T", dew_k, "Q", quality, name), rel=2e-4)
    density = table.liquid(np.array([dew_k]))[1][0]
    assert density == pytest.approx(coolprop.PropsSI("D", "T", dew_k, "Q", 0, name), rel=1e-5)


@published(PropertyTable.bubble_pressure_pa, source="CoolProp, pseudo-pure R410A and R407C")
@pytest.mark.parametrize("name", ["R410A", "R407C"])
def test_the_bubble_line_of_a_blend_is_found_from_its_dew_table(name):
    found = property_table((name,)).bubble_pressure_pa(np.array([313.15]))[0]
    assert found == pytest.approx(coolprop.PropsSI("P", "T", 313.15, "Q", 0, name), rel=1e-6)


@published(
    vapour.vapour_value,
    vapour.vapour_slope,
    vapour.superheat_from,
    source="CoolProp, superheated vapour of R410A, R32 and R134a",
)
@pytest.mark.parametrize("name", ["R410A", "R32", "R134a"])
@pytest.mark.parametrize(("dew_k", "superheat"), [(270.0, 6.0), (281.7, 22.0), (315.0, 35.0), (325.0, 70.0)])
def test_superheated_vapour_is_the_property_librarys(name, dew_k, superheat):
    _, sat = one(name, dew_k)
    state = ("P", float(sat.pressure_pa[0]), "T", dew_k + superheat, name)
    above = np.array([superheat])
    enthalpy = vapour.vapour_value(sat.h_vapour, sat.enthalpy_terms, above)[0]
    assert enthalpy == pytest.approx(coolprop.PropsSI("H", *state), abs=60.0)
    density = math.exp(vapour.vapour_value(np.log(sat.rho_vapour), sat.density_terms, above)[0])
    assert density == pytest.approx(coolprop.PropsSI("D", *state), rel=1e-3)
    heat = vapour.vapour_slope(sat.enthalpy_terms, above)[0]
    assert heat == pytest.approx(coolprop.PropsSI("C", *state), rel=0.02)
    entropy = np.array([coolprop.PropsSI("S", *state)])
    back = vapour.superheat_from(entropy, sat.s_vapour, sat.entropy_terms, sat.dew_k)[0]
    assert back == pytest.approx(superheat, abs=0.06)


@published(lw.loop_water, lw.LoopWater.logs, source="IAPWS values at 20 degC, from memory")
def test_plain_water_at_twenty_degrees():
    rho, cp, mu, k = (math.exp(part[0]) for part in lw.loop_water((("none", 0.0),)).logs(np.array([293.15])))
    assert rho == pytest.approx(998.2, rel=5e-4)
    assert cp == pytest.approx(4184.0, rel=1e-3)
    assert mu == pytest.approx(1.0016e-3, rel=3e-3)
    assert k == pytest.approx(0.5980, rel=1e-3)


@published(
    lw.LoopWater.logs,
    lw.LoopWater.specific_heat_j_per_kg_k,
    source="chiller maker's manual, propylene glycol table (ASHRAE Fundamentals)",
)
@pytest.mark.parametrize(
    ("fraction", "celsius", "cp", "rho"),
    [(0.20, 20, 3970, 1019.0), (0.30, 20, 3850, 1028.4), (0.30, 0, 3790, 1036.2), (0.40, 40, 3770, 1025.3)],
)
def test_propylene_glycol_is_the_tables(fraction, celsius, cp, rho):
    fluid = lw.loop_water((("propylene_glycol", fraction),))
    logs = fluid.logs(np.array([273.15 + celsius]))
    assert math.exp(logs[0][0]) == pytest.approx(rho, rel=2e-3)
    assert math.exp(logs[1][0]) == pytest.approx(cp, rel=2e-3)
    assert fluid.specific_heat_j_per_kg_k(np.array([273.15 + celsius]))[0] == pytest.approx(cp, rel=2e-3)


@published(lw.water_film, source="ht library, turbulent_Dittus_Boelter")
@pytest.mark.parametrize("celsius", [10.0, 35.0])
def test_the_water_film_follows_dittus_and_boelter(celsius):
    def film(flow: float, kelvin: float) -> float:
        mu, k, cp = (coolprop.PropsSI(x, "T", kelvin, "P", 101325, "Water") for x in ("V", "L", "C"))
        reynolds = 4.0 * flow / (math.pi * 0.016 * mu)
        return ht.turbulent_Dittus_Boelter(reynolds, mu * cp / k, heating=True, revised=True) * k / 0.016

    fluid = lw.loop_water((("none", 0.0),))
    found = lw.water_film(fluid, 1.0, 0.8, 0.7, np.array([273.15 + celsius]))[0]
    assert found == pytest.approx(film(0.35, 273.15 + celsius) / film(0.5, 293.15), rel=3e-3)


@published(
    lw.pressure_drop, source="Blasius, dp ~ Q^1.75: .6767 at 80 % flow; ASHRAE propylene glycol, by hand"
)
def test_pressure_drop_falls_with_flow_and_rises_with_cold_glycol():
    plain = lw.loop_water((("none", 0.0),))
    at_less = lw.pressure_drop(plain, 1.0, 1.75, 0.8, np.array([293.15]))[0]
    assert at_less == pytest.approx(0.6767, abs=1e-4)
    glycol = lw.loop_water((("propylene_glycol", 0.3),))
    viscosity = coolprop.PropsSI("V", "T", 273.15, "P", 101325, "INCOMP::APG[0.30]")
    # equal volume flow: mass ratio 1036.2/998.2; Darcy with Blasius: rho^0.75 mu^0.25
    found = lw.pressure_drop(glycol, 1.0, 1.75, 1036.2 / 998.2, np.array([273.15]))[0]
    assert found == pytest.approx((1036.2 / 998.2) ** 0.75 * (viscosity / 1.0016e-3) ** 0.25, rel=5e-3)


@published(lw.bore_narrowing, source="Blasius in tube and between plates, by hand (White ch. 6)")
def test_a_deposit_narrows_tubes_and_plates():
    # 1 mm in 16 mm: (16/14)^4.75 = 1.886; 0.2 mm on each side of a 4 mm gap: (4/3.6)^3 = 1.372
    assert lw.bore_narrowing(1e-3 / 2.2, 2.2, 0.016, 1.75, 0.0) == pytest.approx(1.886, abs=1e-3)
    assert lw.bore_narrowing(1e-4, 2.0, 0.004, 1.75, 1.0) == pytest.approx(1.372, abs=1e-3)
    assert lw.bore_narrowing(0.0, 2.2, 0.016, 1.75, 0.0) == 1.0


@published(
    lw.branch_flow, source="White ch. 6, resistances in series: v = sqrt(H/(s k + (1 - s) r)) for n = 2"
)
@pytest.mark.parametrize(("share", "coil", "outside"), [(0.4, 1.0, 1.0), (0.4, 2.0, 1.0), (0.3, 1.3, 2.5)])
def test_flow_through_resistances_in_series(share, coil, outside):
    expected = math.sqrt(1.0 / (share * coil + (1.0 - share) * outside))
    assert lw.branch_flow(share, coil, 2.0, outside, 1.0) == pytest.approx(min(expected, 1.0), rel=1e-9)
    # a cartridge with head to spare holds the flow until the head is used up
    held = lw.branch_flow(share, coil, 2.0, outside, 1.6)
    assert held == pytest.approx(min(1.0, expected * math.sqrt(1.6)), rel=1e-9)


AIR = [(299.82, 292.59), (293.15, 288.15), (305.0, 290.0)]


@published(
    psychrometrics.humidity_ratio,
    psychrometrics.enthalpy_j_per_kg,
    source="CoolProp HAPropsSI (ASHRAE RP-1485 humid air)",
)
@pytest.mark.parametrize(("dry", "wet"), AIR)
def test_moist_air_is_the_humid_air_librarys(dry, wet):
    ratio = psychrometrics.humidity_ratio(dry, wet)
    assert ratio == pytest.approx(HAPropsSI("W", "T", dry, "B", wet, "P", 101325), rel=0.012)
    enthalpy = psychrometrics.enthalpy_j_per_kg(dry, ratio)
    assert enthalpy == pytest.approx(HAPropsSI("H", "T", dry, "B", wet, "P", 101325), rel=0.01)


@published(
    psychrometrics.saturation_pressure_pa,
    psychrometrics.saturated_humidity_ratio,
    psychrometrics.saturated_enthalpy_j_per_kg,
    source="CoolProp HAPropsSI and IAPWS saturation",
)
@pytest.mark.parametrize("kelvin", [276.0, 283.15, 293.15, 303.0])
def test_saturated_air_is_the_humid_air_librarys(kelvin):
    assert psychrometrics.saturation_pressure_pa(kelvin) == pytest.approx(
        coolprop.PropsSI("P", "T", kelvin, "Q", 0, "Water"), rel=2e-3
    )
    state = ("T", kelvin, "R", 1.0, "P", 101325)
    assert psychrometrics.saturated_humidity_ratio(kelvin) == pytest.approx(HAPropsSI("W", *state), rel=8e-3)
    assert psychrometrics.saturated_enthalpy_j_per_kg(kelvin) == pytest.approx(
        HAPropsSI("H", *state), rel=8e-3
    )
