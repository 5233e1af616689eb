"""The virtual unit's parts against libraries, textbooks and arithmetic."""

import math

import CoolProp.CoolProp as coolprop
import fluids
import ht
import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from diagnostics.engine.virtual_unit import (
    air_coil,
    charge,
    compressor,
    compressor_map,
    expansion,
    room,
    slices,
    water_exchanger,
)
from diagnostics.engine.virtual_unit.loop_water import loop_water
from diagnostics.engine.virtual_unit.properties import property_table
from diagnostics.engine.virtual_unit.sizing import batch_of_one
from diagnostics.engine.virtual_unit.slices import Slices
from diagnostics.engine.virtual_unit.streams import WaterStream
from diagnostics.engine.virtual_unit.vapour import vapour_value
from tests.published.sources import published

PLAIN = compressor.Compressor(1e-3, volumetric_b=0.0, isentropic_e=0.7, isentropic_f=0.0, shell_loss=0.0)
COP = {  # evaporating 5 degC, superheat 5 K, subcooling 5 K, efficiency 0.7; condensing 35/40/45 degC
    "R134a": (5.794, 4.825, 4.090),
    "R22": (5.725, 4.778, 4.063),
    "R32": (5.515, 4.580, 3.872),
    "R410A": (5.469, 4.514, 3.787),
    "R407C": (5.639, 4.685, 3.960),
    "R1234ze(E)": (5.814, 4.835, 4.093),
}


@published(compressor.compress, source="cycle computed by hand with CoolProp, six refrigerants")
@pytest.mark.parametrize("name", COP)
@pytest.mark.parametrize("place", [0, 1, 2])
def test_the_cycles_performance_is_that_of_a_hand_computed_cycle(name, place):
    table = property_table((name,))
    low = table.saturation(np.array([278.15]))
    high = table.saturation(np.array([308.15 + 5.0 * place]))
    done = compressor.compress(PLAIN, low, np.array([5.0]), high, high.pressure_pa)
    liquid, _ = table.liquid(high.bubble_k - 5.0)
    useful = vapour_value(low.h_vapour, low.enthalpy_terms, np.array([5.0])) - liquid
    # R407C's saturation may be taken at dew, bubble or their mean: 1.5 %
    assert (useful / done.work_j_per_kg)[0] == pytest.approx(
        COP[name][place], rel=0.015 if name == "R407C" else 4e-3
    )


@published(compressor.compress, source="CoolProp: density, isentropic work and discharge temperature of R32")
def test_one_compression_is_the_property_librarys():
    table = property_table(("R32",))
    low, high = table.saturation(np.array([280.0])), table.saturation(np.array([315.0]))
    done = compressor.compress(PLAIN, low, np.array([8.0]), high, high.pressure_pa)
    state = ("P", float(low.pressure_pa[0]), "T", 288.0, "R32")
    head = float(high.pressure_pa[0])
    assert done.flow_kg_per_s[0] == pytest.approx(0.98e-3 * coolprop.PropsSI("D", *state), rel=1e-3)
    ideal = coolprop.PropsSI("H", "P", head, "S", coolprop.PropsSI("S", *state), "R32")
    work = (ideal - coolprop.PropsSI("H", *state)) / 0.7
    assert done.work_j_per_kg[0] == pytest.approx(work, rel=3e-3)
    hot = coolprop.PropsSI("T", "P", head, "H", coolprop.PropsSI("H", *state) + work, "R32")
    assert 315.0 + done.discharge_superheat_k[0] == pytest.approx(hot, abs=0.2)


@published(
    compressor.volumetric_efficiency,
    compressor.isentropic_efficiency,
    source="common practice: linear clearance line and a parabola in ln of the pressure ratio, by hand",
)
def test_efficiencies_by_hand():
    machine = compressor.Compressor(1e-3)
    assert compressor.volumetric_efficiency(machine, 4.0) == pytest.approx(0.98 - 0.025 * 3.0)
    assert compressor.volumetric_efficiency(machine, 4.0, 0.2) == pytest.approx(0.8 * 0.905)
    assert compressor.isentropic_efficiency(machine, 2.6) == pytest.approx(0.68)
    assert compressor.isentropic_efficiency(machine, 5.2) == pytest.approx(0.68 - 0.14 * math.log(2.0) ** 2)


@published(compressor_map.ten_coefficient_value, source="AHRI Standard 540 form, evaluated by hand")
def test_ten_coefficients_by_hand():
    # S 45, D 130, C = 1, 2, 3, .1, .2, .3, .01, .02, .03, .04
    by_hand = (
        1
        + 90
        + 390
        + 0.1 * 2025
        + 0.2 * 5850
        + 0.3 * 16900
        + 0.01 * 91125
        + 0.02 * 130 * 2025
        + 0.03 * 45 * 16900
        + 0.04 * 2197000
    )
    assert by_hand == pytest.approx(123794.75)
    coefficients = np.array([1.0, 2.0, 3.0, 0.1, 0.2, 0.3, 0.01, 0.02, 0.03, 0.04])
    assert compressor_map.ten_coefficient_value(coefficients, 45.0, 130.0) == pytest.approx(123794.75)


@published(
    compressor_map.fit_ten_coefficients,
    compressor_map.mass_flow_at_superheat,
    source="AHRI Standard 540 form; Dabiri & Rice (1981) correction with F = 0.75 by hand, from memory",
)
def test_a_map_fitted_to_the_efficiency_model_gives_it_back():
    table = property_table(("R410A",) * 36)
    suction, discharge = (
        part.ravel() for part in np.meshgrid(np.linspace(-5, 15, 6), np.linspace(30, 60, 6))
    )
    low, high = table.saturation(suction + 273.15), table.saturation(discharge + 273.15)
    machine = compressor.Compressor(1e-3)
    rated = compressor.compress(machine, low, np.full(36, 11.1), high, high.pressure_pa)
    flow = compressor_map.fit_ten_coefficients(suction, discharge, rated.flow_kg_per_s)
    power = compressor_map.fit_ten_coefficients(suction, discharge, rated.flow_kg_per_s * rated.work_j_per_kg)
    again = compressor_map.ten_coefficient_value(flow, suction, discharge)
    assert again == pytest.approx(rated.flow_kg_per_s, rel=2e-3)
    assert compressor_map.ten_coefficient_value(power, suction, discharge) == pytest.approx(
        rated.flow_kg_per_s * rated.work_j_per_kg, rel=5e-3
    )
    assert compressor_map.mass_flow_at_superheat(0.05, 22.0, 20.0) == pytest.approx(0.05 * (1 + 0.75 * 0.1))


@published(slices.void_fraction, source="fluids library, two_phase_voidage Zivi")
@pytest.mark.parametrize("quality", [0.05, 0.3, 0.9])
def test_the_void_fraction_is_zivis(quality):
    expected = fluids.two_phase_voidage.Zivi(quality, rhol=1050.0, rhog=80.0)
    assert slices.void_fraction(quality, 80.0, 1050.0) == pytest.approx(expected, rel=1e-9)


@published(
    slices.condensing_slices,
    slices.evaporating_slices,
    slices.liquid_side_enthalpy,
    source="CoolProp: temperature at every slice's enthalpy, R134a",
)
def test_slices_follow_the_refrigerant_through_both_exchangers():
    table = property_table(("R134a",))
    sat, hot, cold = table.saturation(np.array([315.0])), np.array([28.0]), np.array([6.0])
    h_hot = vapour_value(sat.h_vapour, sat.enthalpy_terms, hot)
    h_cold = slices.liquid_side_enthalpy(sat, cold, table.liquid(sat.bubble_k - 6.0)[0])
    down = slices.condensing_slices(sat, hot, h_hot, cold, h_cold, np.array([0.0]))
    pressure = float(sat.pressure_pa[0])
    enthalpy = float(h_hot[0])
    for heat, end in zip(down.heat[0], down.t_end[0], strict=True):
        enthalpy -= heat
        assert end == pytest.approx(coolprop.PropsSI("T", "P", pressure, "H", enthalpy, "R134a"), abs=0.12)
    up_sat = table.saturation(np.array([278.0]))
    h_warm = vapour_value(up_sat.h_vapour, up_sat.enthalpy_terms, np.array([7.0]))
    up = slices.evaporating_slices(up_sat, h_cold, np.array([7.0]), h_warm, np.array([0.0]))
    assert up.heat.sum() == pytest.approx(float((h_warm - h_cold)[0]), rel=1e-9)
    assert up.t_end[0, -1] == pytest.approx(
        coolprop.PropsSI("T", "P", float(up_sat.pressure_pa[0]), "H", float(h_warm[0]), "R134a"), abs=0.1
    )
    wet = slices.liquid_side_enthalpy(sat, np.array([-10.0]), h_cold)
    quality = coolprop.PropsSI("Q", "P", pressure, "H", float(wet[0]), "R134a")
    assert quality == pytest.approx(15e3 / float((sat.h_vapour - sat.h_liquid)[0]), rel=1e-3)


@published(water_exchanger.mean_difference, source="ht library, ht.LMTD")
@pytest.mark.parametrize(("one", "other"), [(40.0, 20.0), (5.0, 5.0), (0.3, 12.0)])
def test_the_mean_difference_is_the_logarithmic_one(one, other):
    found = water_exchanger.mean_difference(np.array(one), np.array(other))
    assert found == pytest.approx(ht.LMTD(one, other, 0.0, 0.0), rel=1e-6)


@published(
    water_exchanger.crossing_factor, source="second law: no surface lets streams cross; steepness by hand"
)
def test_crossing_streams_ask_for_more_surface_than_there_is():
    assert water_exchanger.crossing_factor(np.array(1.0), np.array(0.0)) == 1.0
    assert water_exchanger.crossing_factor(np.array(1.0), np.array(-0.1)) == pytest.approx(math.exp(2.0))
    assert water_exchanger.crossing_factor(np.array(-1.0), np.array(2.0)) > 1e8


def isothermal(heat: float, at_k: float) -> Slices:
    """A condenser at one temperature in four slices, as textbooks draw it."""
    shape = np.ones((1, 4))
    return Slices(
        heat * shape / 4, at_k * shape, at_k * shape, shape, shape, np.ones(4), np.zeros(4, dtype=int)
    )


@published(
    water_exchanger.duty,
    source="plate condenser by hand: 44 kW, C = 2.1 x 4180, 2 m2, U 3000, five fouling levels",
)
@pytest.mark.parametrize(
    ("fouling", "condensing"),
    [(0.0, 39.52), (4.4e-5, 40.46), (8.8e-5, 41.40), (1.76e-4, 43.30), (3.5e-4, 47.08)],
)
def test_the_plate_condenser_needs_its_two_square_metres(fouling, condensing):
    exchanger = batch_of_one(
        water_exchanger.WaterExchanger(
            kind="brazed_plate",
            area_m2=2.0,
            design_flow_kg_per_s=2.1,
            rating_flux_w_per_m2=22e3,
            rating_refrigerant_kg_per_s=0.2,
            refrigerant_volume_m3=2e-3,
            water_film_w_per_m2k=1e9,
            wall_m2k_per_w=0.0,
            condensing_film_w_per_m2k=3000.0,
            condensing_exponent=0.0,
        )
    )
    found = water_exchanger.duty(
        exchanger,
        loop_water((("none", 0.0),)),
        isothermal(44e3, condensing + 273.15),
        cooling=True,
        refrigerant_kg_per_s=np.ones(1),
        entering_k=np.array([302.55]),
        water_kg_per_s=np.array([2.1]),
        fouling_m2k_per_w=np.array([fouling]),
        counterflow=np.ones(1),
    )
    # the condensing temperatures are given to 0.01 K and the water's heat capacity is 4179 here
    assert found.areas_m2.sum() == pytest.approx(2.0, rel=6e-3)
    assert found.leaving_k[0] == pytest.approx(302.55 + 44e3 / (2.1 * 4180), abs=0.01)
    assert found.heat_w[0] == pytest.approx(44e3)


@published(air_coil.dry_effectiveness, source="ht library, effectiveness_from_NTU at Cr = 0")
def test_the_dry_coils_effectiveness():
    expected = ht.effectiveness_from_NTU(NTU=1.0 / (1 / 2500.0 + 1 / 4000.0) / 900.0, Cr=0.0)
    assert air_coil.dry_effectiveness(2500.0, 4000.0, 900.0) == pytest.approx(expected, rel=1e-9)


@published(air_coil.wet_effectiveness, source="Braun, Klein & Mitchell (1989), from memory, by hand")
def test_the_wet_coils_effectiveness_by_hand():
    # NTU* = 1/(1024.6/2500 + 2600/4000)/0.9 = 1.0482
    by_hand = 1.0 - math.exp(-1.0 / (1024.6 / 2500.0 + 2600.0 / 4000.0) / 0.9)
    assert air_coil.wet_effectiveness(2500.0, 4000.0, 0.9, 2600.0) == pytest.approx(by_hand, rel=1e-9)


COIL = air_coil.AirCoil(0.9, 2500.0, 4000.0, 1e-3)


@published(
    air_coil.condensing_duty,
    air_coil.evaporating_duty,
    source="ht library: whole coil at one temperature is an exchanger with Cr = 0 against air",
)
def test_a_coil_at_one_temperature_takes_its_effectiveness_of_the_airs_heat():
    coil, rate = batch_of_one(COIL), 0.9 * 1006.0
    eps = ht.effectiveness_from_NTU(NTU=1.0 / (1 / 2500.0 + 1 / 4000.0) / rate, Cr=0.0)
    warm = air_coil.condensing_duty(
        coil, isothermal(eps * rate * 25.0, 318.15), np.ones(1), np.array([293.15]), np.array([0.9])
    )
    assert warm.shares.sum() == pytest.approx(1.0, rel=1e-6)
    # dry air of 300 K whose dew point lies below a surface at 290 K
    cold = air_coil.evaporating_duty(
        coil,
        isothermal(eps * rate * 10.0, 290.0),
        np.ones(1),
        np.array([300.0]),
        np.array([285.0]),
        np.array([0.9]),
    )
    assert cold.shares.sum() == pytest.approx(1.0, rel=0.02)
    assert cold.heat_w[0] == pytest.approx(eps * rate * 10.0)


@published(air_coil.evaporating_duty, source="CoolProp HAPropsSI enthalpies and Braun et al. (1989), by hand")
def test_a_wet_coil_takes_its_effectiveness_of_the_airs_enthalpy():
    state = ("T", 300.15, "B", 292.15, "P", 101325)
    cold = HAPropsSI("H", "T", 281.65, "R", 1.0, "P", 101325)
    slope = (HAPropsSI("H", "T", 285.65, "R", 1.0, "P", 101325) - cold) / 4.0
    eps = 1.0 - math.exp(-1.0 / (1024.6 / 2500.0 + slope / 4000.0) / 0.9)
    heat = 0.9 * eps * (HAPropsSI("H", *state) - cold)
    found = air_coil.evaporating_duty(
        batch_of_one(COIL),
        isothermal(heat, 281.65),
        np.ones(1),
        np.array([300.15]),
        np.array([292.15]),
        np.array([0.9]),
    )
    assert found.shares.sum() == pytest.approx(1.0, rel=0.01)


@published(
    air_coil.leaving_air_k, source="CoolProp HAPropsSI: straight line on the chart from air to surface"
)
def test_leaving_air_lies_between_air_and_surface():
    # the air's state moves by 1 - exp(-NTU) of the way to the saturated surface that takes the heat
    contact = 1.0 - math.exp(-2500.0 / (0.9 * 1026.0))
    surface = HAPropsSI("H", "T", 285.15, "R", 1.0, "P", 101325)
    heat = 0.9 * contact * (HAPropsSI("H", "T", 300.15, "B", 292.15, "P", 101325) - surface)
    found = air_coil.leaving_air_k(COIL, heat, np.array(300.15), np.array(292.15), 0.9, True)
    assert found == pytest.approx(300.15 - contact * 15.0, abs=0.15)


@published(
    expansion.opening,
    expansion.flow_kg_per_s,
    source="orifice equation by hand; Aaron & Domanski (1990), from memory",
)
def test_an_orifice_passes_what_the_orifice_equation_says():
    # 2 mm2 x sqrt(2 x 1000 x 1.5 MPa) = 0.10954 kg/s
    plain = expansion.flow_kg_per_s(2e-6, 2.4e6, 0.9e6, 1000.0, 90.0, 0.0, 0.0, 0.0)
    assert plain == pytest.approx(0.109545, rel=1e-3)
    # a tenth of vapour: density 1/(0.1/90 + 0.9/1000) = 497.2 kg/m3, flow as its square root
    wet = expansion.flow_kg_per_s(2e-6, 2.4e6, 0.9e6, 1000.0, 90.0, 0.1, 0.0, 0.0)
    assert wet / plain == pytest.approx(math.sqrt(0.4972), rel=1e-3)
    # through a short tube each kelvin of subcooling adds one to two per cent
    cold = expansion.flow_kg_per_s(2e-6, 2.4e6, 0.9e6, 1000.0, 90.0, 0.0, 5.0, 1.0)
    assert 1.05 <= cold / plain <= 1.10
    device = expansion.Expansion(1e-6, static_superheat_k=3.5, range_k=5.0)
    assert expansion.opening(device, 0.0) < 0.1 < 0.9 < expansion.opening(device, 9.5)


@published(
    charge.exchanger_mass_kg,
    charge.receiver_mass_kg,
    charge.accumulator_mass_kg,
    source="mass = volume x density, by hand",
)
def test_inventory_by_hand():
    shares, density = np.array([[1.0, 2.0, 1.0]]), np.array([[80.0, 400.0, 1000.0]])
    assert charge.exchanger_mass_kg(2e-3, shares, density)[0] == pytest.approx(2e-3 * (20 + 200 + 250))
    assert charge.receiver_mass_kg(1e-3, 8.0, 1000.0, 80.0) == pytest.approx(1.0)
    assert charge.receiver_mass_kg(1e-3, -8.0, 1000.0, 80.0) == pytest.approx(0.08)
    assert charge.receiver_mass_kg(1e-3, 0.0, 1000.0, 80.0) == pytest.approx(0.54)
    assert charge.accumulator_mass_kg(1e-3, -8.0, 1200.0) == pytest.approx(1.2)
    assert charge.accumulator_mass_kg(1e-3, 8.0, 1200.0) == pytest.approx(0.0, abs=1e-9)


@published(charge.air_pressure_pa, source="ideal gas law by hand")
def test_air_squeezed_into_a_condenser_by_hand():
    # p V/T constant: half the space, 313.15 K instead of 298.15 K
    assert charge.air_pressure_pa(20e3, 0.5, 313.15) == pytest.approx(20e3 * 2 * 313.15 / 298.15)


@published(charge.air_film_factor, source="Collier & Thome ch. 10, trend from memory; size common practice")
def test_air_takes_from_the_film_and_never_gives():
    shares = [charge.air_film_factor(air, 2e6) for air in (0.0, 5e4, 2e5, 1e6)]
    assert shares[0] == 1.0 and shares == sorted(shares, reverse=True) and shares[-1] > 0.0


def parallel_water(entering: float, flow: float) -> WaterStream:
    exchanger = water_exchanger.WaterExchanger("coaxial", 1.0, 0.5, 1e4, 0.06, 1e-3)
    one = np.ones(1)
    return WaterStream(
        exchanger, loop_water((("none", 0.0),)), entering * one, flow * one, 0 * one, 0 * one, one
    )


@published(
    room.superheat_room_k,
    room.subcooling_room_k,
    room.bent,
    source="CoolProp: at the limit of parallel flow both streams leave at one temperature",
)
def test_the_room_in_parallel_flow_ends_where_both_streams_leave_alike():
    table = property_table(("R32",))
    low, high = table.saturation(np.array([278.0])), table.saturation(np.array([315.0]))
    flow = 0.03
    limit = room.superheat_room_k(parallel_water(290.0, 0.4), low, high.h_liquid, np.array([flow]))[0]
    state = ("P", float(low.pressure_pa[0]), "T", 278.0 + limit, "R32")
    thinner = coolprop.PropsSI("D", *state) / coolprop.PropsSI("D", "P", state[1], "Q", 1, "R32")
    taken = flow * thinner * (coolprop.PropsSI("H", *state) - float(high.h_liquid[0]))
    assert 290.0 - taken / (0.4 * 4189.0) == pytest.approx(278.0 + limit, abs=0.05)
    hot = vapour_value(high.h_vapour, high.enthalpy_terms, np.array([30.0]))
    limit = room.subcooling_room_k(parallel_water(300.0, 0.4), high, hot, np.array([flow]))[0]
    given = flow * (float(hot[0]) - coolprop.PropsSI("H", "T", 315.0 - limit, "Q", 0, "R32"))
    assert 300.0 + given / (0.4 * 4179.0) == pytest.approx(315.0 - limit, abs=0.25)
    # an unbent unknown far beyond the room stays within it and turns into idle surface
    value, idle = room.bent(np.array([80.0]), np.array([limit]))
    assert value[0] == pytest.approx(limit, rel=1e-3) and idle[0] > 0.0


@published(
    compressor.within_map, source="AHRI Standard 540, from memory: coefficients hold in their envelope only"
)
def test_a_map_holds_in_its_envelope_only():
    mapped = compressor.Compressor(
        1e-3, mapped=1.0, map_suction_k=(258.15, 293.15), map_discharge_k=(293.15, 333.15)
    )
    assert compressor.within_map(mapped, 280.0, 313.0)
    assert not compressor.within_map(mapped, 250.0, 313.0)
    assert not compressor.within_map(mapped, 280.0, 340.0)
    assert compressor.within_map(compressor.Compressor(1e-3), 250.0, 340.0)
