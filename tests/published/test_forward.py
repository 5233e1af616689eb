"""The forward model against closed forms and reference libraries."""

import math
from dataclasses import replace
from itertools import pairwise

import CoolProp.CoolProp as coolprop
import ht
import pytest

from diagnostics.engine.forward import (
    ExchangerTruth,
    OperatingPoint,
    UnitTruth,
    pressure_drop,
    refrigerant_side,
    solve,
    water_film,
    water_side,
    with_fouling,
)
from tests.published.sources import published


def plain_evaporator(area_m2: float, conductance: float) -> UnitTruth:
    """A pure refrigerant boiling to dew with one constant conductance: isothermal, as in textbooks."""
    return UnitTruth(
        exchanger=ExchangerTruth(
            refrigerant="R134a",
            kind="brazed_plate",
            area_m2=area_m2,
            water_film_w_per_m2k=1e9,
            evaporating_film_w_per_m2k=conductance,
            evaporating_flux_exponent=0.0,
            wall_resistance_m2k_per_w=0.0,
            quality_slope=0.0,
        )
    )


@published(solve, with_fouling, source="Incropera & DeWitt ch. 11, effectiveness at Cr = 0, by hand")
@pytest.mark.parametrize(
    ("fouling", "difference"),
    [(0.0, 10.12), (4.4e-5, 11.06), (8.8e-5, 12.00), (1.76e-4, 13.90), (3.5e-4, 17.68)],
)
def test_an_isothermal_exchanger_stands_as_far_from_the_water_as_effectiveness_says(fouling, difference):
    # 44 kW, C = 2.1 kg/s x 4180 J/kgK, A 2 m2, Uc 3000: Tsat - Tin = q/(C eps), eps = 1 - exp(-UA/C)
    # (Incropera & DeWitt ch. 11, Cr = 0); hand calculations of a plate condenser, here turned evaporator.
    unit = with_fouling(plain_evaporator(2.0, 3000.0), fouling)
    point = OperatingPoint("heating", 302.55, 2.1, 44_000.0, superheat_k=0.0, other_saturation_k=323.15)
    state = solve(unit, point)
    assert point.entering_water_k - state.dew_k == pytest.approx(difference, abs=0.03)


@published(solve, source="ht library, effectiveness_from_NTU")
def test_effectiveness_follows_the_reference_library():
    state = solve(
        plain_evaporator(2.0, 3000.0),
        OperatingPoint("heating", 302.55, 2.1, 44_000.0, superheat_k=0.0, other_saturation_k=323.15),
    )
    rate = 44_000.0 / (302.55 - state.leaving_water_k)
    expected = ht.effectiveness_from_NTU(NTU=2.0 * 3000.0 / rate, Cr=0.0, subtype="counterflow")
    found = (302.55 - state.leaving_water_k) / (302.55 - state.dew_k)
    assert found == pytest.approx(expected, rel=1e-4)


@published(solve, source="ht library LMTD and CoolProp enthalpies, zone by zone")
def test_a_condenser_of_three_zones_adds_up_by_mean_temperature_differences():
    # Zone by zone with ht.LMTD and CoolProp's own enthalpies: three zones, not the model's fourteen slices.
    exchanger = ExchangerTruth(
        refrigerant="R134a",
        area_m2=1.6,
        water_film_w_per_m2k=1e9,
        wall_resistance_m2k_per_w=2e-4,
        quality_slope=0.0,
        rating_flux_w_per_m2=12_500.0,
    )
    unit = UnitTruth(exchanger=exchanger)
    point = OperatingPoint("cooling", 300.0, 0.9, 20_000.0)
    state = solve(unit, point)
    pressure, dew = state.pressure_pa, state.dew_k
    enthalpies = [
        coolprop.PropsSI("H", "P", pressure, "T", state.discharge_line_k, "R134a"),
        coolprop.PropsSI("H", "P", pressure, "Q", 1, "R134a"),
        coolprop.PropsSI("H", "P", pressure, "Q", 0, "R134a"),
        coolprop.PropsSI("H", "P", pressure, "T", state.liquid_line_k, "R134a"),
    ]
    heats = [state.refrigerant_flow_kg_per_s * (a - b) for a, b in pairwise(enthalpies)]
    assert sum(heats) == pytest.approx(20_000.0, rel=1e-3)
    rate = 20_000.0 / (state.leaving_water_k - 300.0)
    films = [4000.0 * 0.25, 4000.0, 4000.0 * 0.45]
    temperatures = [state.discharge_line_k, dew, dew, state.liquid_line_k]
    area, water = 0.0, state.leaving_water_k
    for index, (heat, film) in enumerate(zip(heats, films, strict=True)):
        below = water - heat / rate
        mean = ht.LMTD(temperatures[index], temperatures[index + 1], below, water)
        area += heat * (1.0 / film + 2e-4) / mean
        water = below
    assert area == pytest.approx(1.6, rel=0.01)


@published(solve, refrigerant_side.path_at, source="CoolProp, energy balance by hand")
@pytest.mark.parametrize("mode", ["cooling", "heating"])
def test_power_and_heat_close_the_balance_with_the_property_library(mode):
    unit = UnitTruth(
        exchanger=ExchangerTruth(refrigerant="R32", area_m2=0.9),
        isentropic_efficiency=0.7,
        shell_loss_fraction=0.1,
    )
    other = 280.15 if mode == "cooling" else 316.15
    state = solve(unit, OperatingPoint(mode, 295.15, 0.55, 10_000.0, other_saturation_k=other))

    def enthalpy(pressure: float, temperature: float) -> float:
        return coolprop.PropsSI("H", "P", pressure, "T", temperature, "R32")

    suction = enthalpy(state.suction_pa, state.suction_line_k)
    entropy = coolprop.PropsSI("S", "P", state.suction_pa, "T", state.suction_line_k, "R32")
    ideal = coolprop.PropsSI("H", "P", state.head_pa, "S", entropy, "R32") - suction
    flow = state.refrigerant_flow_kg_per_s
    assert state.power_w == pytest.approx(flow * ideal / 0.7, rel=1e-3)
    discharge = enthalpy(state.head_pa, state.discharge_line_k)
    assert flow * (discharge - suction) == pytest.approx(0.9 * state.power_w, rel=1e-3)
    liquid = enthalpy(state.head_pa, state.liquid_line_k)
    heat = flow * (discharge - liquid) if mode == "cooling" else flow * (suction - liquid)
    # the engine takes subcooled liquid's enthalpy along the saturation line, 0.1 % of the heat in heating
    assert heat == pytest.approx(10_000.0, rel=2e-3)


@published(water_film, source="ht library, turbulent_Dittus_Boelter")
def test_the_water_film_follows_dittus_and_boelter_between_two_points():
    # Nu = 0.023 Re^0.8 Pr^0.4 in a 16 mm tube by ht, ratio of two states of water at equal mass flow.
    exchanger = ExchangerTruth(refrigerant="R410A", area_m2=1.0, water_exponent=0.8)

    def film(flow: float, temperature: float) -> float:
        mu, k, cp = (coolprop.PropsSI(x, "T", temperature, "P", 101325, "Water") for x in ("V", "L", "C"))
        reynolds = 4.0 * flow / (math.pi * 0.016 * mu)
        return ht.turbulent_Dittus_Boelter(reynolds, mu * cp / k, heating=True, revised=True) * k / 0.016

    found = water_film(exchanger, 0.4, 308.15) / water_film(exchanger, 0.55, 293.15)
    assert found == pytest.approx(film(0.4, 308.15) / film(0.55, 293.15), rel=0.002)


@published(pressure_drop, source="Blasius friction in a tube, by hand")
def test_a_millimetre_in_a_sixteen_millimetre_bore_nearly_doubles_the_pressure_drop():
    # Hand calculation: dp ratio at equal flow (16/14)^4.75 = 1.886 (Blasius) for x = 1 mm; flat k Rf = x.
    exchanger = ExchangerTruth(
        refrigerant="R410A", area_m2=1.0, pressure_drop_exponent=1.75, scale_conductivity_w_per_mk=2.2
    )
    scaled = replace(exchanger, fouling_resistance_m2k_per_w=1e-3 / 2.2)
    ratio = pressure_drop(scaled, 0.5, 293.15) / pressure_drop(exchanger, 0.5, 293.15)
    assert ratio == pytest.approx(1.886, abs=0.002)


@published(pressure_drop, source="ASHRAE Fundamentals propylene glycol density; Blasius friction by hand")
def test_cold_glycol_drops_more_pressure_than_water_as_a_smooth_tube_says():
    # 30 % propylene glycol at 0 degC against water at 20 degC at equal volume flow, Blasius by hand:
    # rho^0.75 mu^0.25 with rho 1036.2/998.2 (ASHRAE table) and mu 5.7 mPa s (computed) over 1.0016 mPa s.
    water = ExchangerTruth(refrigerant="R410A", area_m2=1.0, pressure_drop_exponent=1.75)
    glycol = replace(water, antifreeze="propylene_glycol", antifreeze_fraction=0.3)
    viscosity = coolprop.PropsSI("V", "T", 273.15, "P", 101325, "INCOMP::APG[0.30]")
    expected = (1036.2 / 998.2) ** 0.75 * (viscosity / 1.0016e-3) ** 0.25
    found = pressure_drop(glycol, 0.5 * 1036.2 / 998.2, 273.15) / pressure_drop(water, 0.5, 293.15)
    assert found == pytest.approx(expected, rel=0.005)


@published(pressure_drop, source="White, Fluid Mechanics ch. 6: turbulent flow between plates, by hand")
def test_between_plates_the_gap_counts_with_its_cube():
    # Re = 2 m/(w mu) whatever the gap g; dp = f L/(2 g) rho V^2/2 with V = m/(rho w g), hence dp ~ g^-3.
    exchanger = ExchangerTruth(
        refrigerant="R410A", kind="brazed_plate", area_m2=1.0, bore_m=0.004, scale_conductivity_w_per_mk=2.0
    )
    scaled = replace(exchanger, fouling_resistance_m2k_per_w=1e-4)  # 0.2 mm on each plate: 4.0 to 3.6 mm
    ratio = pressure_drop(scaled, 0.5, 293.15) / pressure_drop(exchanger, 0.5, 293.15)
    assert ratio == pytest.approx((4.0 / 3.6) ** 3, rel=1e-6)


@published(
    water_side.water_side,
    water_side.fluid_of,
    source="chiller maker's manual table, 30 % propylene glycol, 20 degC",
)
def test_the_water_side_carries_the_heat_of_its_fluid():
    # cp 3.85 kJ/kgK around 20 degC (printed to three digits): 0.5 kg/s, 9625 W, 5 K by hand
    exchanger = ExchangerTruth(
        refrigerant="R410A", area_m2=1.0, antifreeze="propylene_glycol", antifreeze_fraction=0.3
    )
    rate, leaving = water_side.water_side(exchanger, OperatingPoint("cooling", 290.65, 0.5, 9625.0))
    assert rate == pytest.approx(1925.0, rel=3e-3)
    assert leaving == pytest.approx(295.65, abs=0.02)
