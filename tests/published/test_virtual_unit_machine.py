"""The whole virtual machine against fault directions of the literature, the trade's rules, energy
balances.
"""

from dataclasses import replace

import CoolProp.CoolProp as coolprop
import pytest

from diagnostics.engine.virtual_unit import CHILLER, Conditions, Design, Faults, faults_of, rated_unit, solve

CHILLER_DESIGN = Design(
    300e3,
    "R134a",
    kind="shell_and_tube",
    machine=CHILLER,
    entering_water_k=302.59,
    approach_k=2.5,
    evaporating_dew_k=277.65,
    resistance_m2k_per_w=2.8e-4,
)
COOLING = Conditions("cooling", 303.15)


@pytest.fixture(scope="module")
def heat_pump():
    return rated_unit(capacity_w=12e3, refrigerant="R410A")


@pytest.fixture(scope="module")
def chiller():
    return rated_unit(CHILLER_DESIGN)


@pytest.fixture(scope="module")
def orifice_unit():
    return rated_unit(
        capacity_w=10e3, refrigerant="R22", expansion="fixed", superheat_k=8.0, subcooling_k=6.0
    )


@pytest.mark.parametrize("mode", ["cooling", "heating"])
@pytest.mark.parametrize("name", ["R410A", "R32", "R134a"])
def test_heat_given_is_heat_taken_and_power_less_shell_loss(name, mode):
    # First law over the whole machine: Q_condenser = Q_evaporator + (1 - shell loss) P.
    unit = rated_unit(capacity_w=9e3, refrigerant=name)
    state = solve(unit, Conditions(mode, 295.15, air_k=295.15, air_wet_bulb_k=289.15))
    given = state.evaporator_heat_w + (1.0 - unit.compressor.shell_loss) * state.power_w
    assert state.condenser_heat_w == pytest.approx(given, rel=1e-5)
    water = state.water_kg_per_s * coolprop.PropsSI(
        "C", "T", 0.5 * (state.entering_water_k + state.leaving_water_k), "P", 101325, "Water"
    )
    assert abs(state.leaving_water_k - state.entering_water_k) * water == pytest.approx(
        state.heat_w, rel=1e-3
    )


def test_what_the_gauges_show_closes_with_the_property_library(heat_pump):
    # m (h_discharge - h_liquid) from pressures and line temperatures by CoolProp is the water's heat.
    state = solve(heat_pump, COOLING)

    def enthalpy(pressure: float, temperature: float) -> float:
        return coolprop.PropsSI("H", "P", pressure, "T", temperature, "R410A")

    refrigerant = enthalpy(state.head_pa, state.discharge_line_k) - enthalpy(
        state.head_pa, state.liquid_line_k
    )
    assert state.refrigerant_kg_per_s * refrigerant == pytest.approx(state.heat_w, rel=3e-3)
    suction = coolprop.PropsSI("T", "P", state.suction_pa, "Q", 1, "R410A")
    assert state.suction_line_k - suction == pytest.approx(state.superheat_k, abs=0.02)
    bubble = coolprop.PropsSI("T", "P", state.head_pa, "Q", 0, "R410A")
    assert bubble - state.liquid_line_k == pytest.approx(state.subcooling_k, abs=0.02)


@pytest.mark.parametrize("name", ["R134a", "R22", "R32", "R410A"])
def test_a_hotter_condenser_costs_power_and_capacity_as_a_fixed_displacement_does(name):
    # Hand-computed cycles at fixed displacement: power up 2.2 to 3.2 %/K of condensing temperature, capacity
    # down 0.7 to 1.1 %/K; here suction and subcooling move too, hence wider bounds.
    unit = rated_unit(capacity_w=10e3, refrigerant=name)
    states = [solve(unit, replace(COOLING, entering_water_k=water)) for water in (300.15, 306.15)]
    step = states[1].condensing_dew_k - states[0].condensing_dew_k
    power = (states[1].power_w / states[0].power_w - 1.0) / step
    capacity = (states[1].evaporator_heat_w / states[0].evaporator_heat_w - 1.0) / step
    assert 0.018 <= power <= 0.036
    assert -0.014 <= capacity <= -0.004


def test_rated_water_and_air_stand_where_the_standards_rating_points_put_them(heat_pump, chiller):
    # From memory: ISO 13256-1 water loop, 30 degC in cooling, air 27/19; AHRI 550/590, chilled water 12/7
    # degC.
    cooling = solve(heat_pump, replace(COOLING, air_k=300.15, air_wet_bulb_k=292.15))
    assert cooling.evaporator_heat_w == pytest.approx(12e3, rel=1e-3)
    assert cooling.leaving_water_k - 303.15 == pytest.approx(5.5, abs=0.3)
    assert 3.5 < cooling.evaporator_heat_w / cooling.power_w < 6.0
    cold = solve(chiller, Conditions("heating", 285.15, other_water_k=302.59))
    assert cold.leaving_water_k == pytest.approx(280.15, abs=0.1)
    assert cold.heat_w == pytest.approx(300e3, rel=1e-3)


# Directions of evaporating temperature, superheat, condensing temperature and subcooling at a mild severity;
# Breuker & Braun (1998), HVAC&R Research 4(3), rooftop unit with a fixed orifice (from memory).
ORIFICE_DIRECTIONS = {
    "undercharged": (Faults(undercharged=0.1), "-+--"),
    "metering_restricted": (Faults(metering_restricted=0.15), "-+-+"),
    "condenser_fouled": (Faults(scale_m2k_per_w=1e-4), "+-+-"),
    "evaporator_fouled": (Faults(air_flow_lost=0.15), "----"),
    "compressor_leaks": (Faults(compressor_wear=0.08), "+---"),
}


@pytest.mark.parametrize("fault", ORIFICE_DIRECTIONS)
def test_faults_of_an_orifice_machine_move_the_cycle_as_breuker_and_braun_found(orifice_unit, fault):
    faults, directions = ORIFICE_DIRECTIONS[fault]
    before, after = solve(orifice_unit, COOLING), solve(orifice_unit, COOLING, faults)
    moved = [
        after.evaporating_dew_k - before.evaporating_dew_k,
        after.superheat_k - before.superheat_k,
        after.condensing_dew_k - before.condensing_dew_k,
        after.subcooling_k - before.subcooling_k,
    ]
    assert "".join("+" if value > 0 else "-" for value in moved) == directions


@pytest.mark.parametrize("fault", ["undercharged", "metering_restricted"])
def test_a_starved_evaporator_heats_the_discharge(orifice_unit, fault):
    # Breuker & Braun (1998), from memory: discharge temperature rises with lost charge and a restricted line.
    faults, _ = ORIFICE_DIRECTIONS[fault]
    before, after = solve(orifice_unit, COOLING), solve(orifice_unit, COOLING, faults)
    assert after.discharge_line_k > before.discharge_line_k


# Comstock & Braun (1999), ASHRAE RP-1043, water-cooled chiller with a thermostatic valve (from memory).
CHILLER_DIRECTIONS = {
    "reduced condenser water flow": (Faults(low_flow=0.3), {"condensing": "+", "rise": "+", "power": "+"}),
    "condenser fouled": (Faults(scale_m2k_per_w=1.5e-4), {"condensing": "+", "approach": "+", "power": "+"}),
    "refrigerant overcharge": (Faults(overcharged=0.2), {"condensing": "+", "subcooling": "+", "power": "+"}),
    "refrigerant leak": (Faults(undercharged=0.2), {"condensing": "-", "subcooling": "-"}),
    "non-condensables": (Faults(air_share=0.05), {"head": "+", "power": "+", "shown subcooling": "+"}),
}


@pytest.mark.parametrize("fault", CHILLER_DIRECTIONS)
def test_faults_of_a_chiller_move_it_as_comstock_and_braun_found(chiller, fault):
    faults, directions = CHILLER_DIRECTIONS[fault]
    conditions = Conditions("cooling", 302.59, other_water_k=285.15)
    before, after = solve(chiller, conditions), solve(chiller, conditions, faults)

    def shown_subcooling(state):
        return coolprop.PropsSI("T", "P", state.head_pa, "Q", 0, "R134a") - state.liquid_line_k

    measures = {
        "condensing": lambda s: s.condensing_dew_k,
        "approach": lambda s: s.condensing_dew_k - s.leaving_water_k,
        "rise": lambda s: s.leaving_water_k - s.entering_water_k,
        "subcooling": lambda s: s.subcooling_k,
        "power": lambda s: s.power_w,
        "head": lambda s: s.head_pa,
        "shown subcooling": shown_subcooling,
    }
    for name, direction in directions.items():
        moved = measures[name](after) - measures[name](before)
        assert (moved > 0) == (direction == "+"), f"{name} moved by {moved}"


def test_low_evaporator_flow_and_a_fouled_evaporator_lower_suction(chiller):
    # Comstock & Braun (1999), from memory: reduced evaporator flow lowers evaporating pressure and capacity.
    conditions = Conditions("heating", 285.15, other_water_k=302.59)
    before = solve(chiller, conditions)
    for faults in (Faults(low_flow=0.3), Faults(scale_m2k_per_w=1.5e-4)):
        after = solve(chiller, conditions, faults)
        assert after.suction_pa < before.suction_pa
        assert after.heat_w < before.heat_w


def test_high_head_with_normal_flow_in_cooling_is_low_suction_in_heating(heat_pump):
    # Common practice: one scaled coil trips on high head in cooling, on low suction or cold water in heating.
    faults = faults_of("exchanger_fouled", "heavy")
    heating = Conditions("heating", 285.15, air_k=293.15, air_wet_bulb_k=288.15)
    for conditions, direction in ((COOLING, 1.0), (heating, -1.0)):
        before, after = solve(heat_pump, conditions), solve(heat_pump, conditions, faults)
        pressure = "head_pa" if direction > 0 else "suction_pa"
        assert direction * (getattr(after, pressure) - getattr(before, pressure)) > 0
        assert after.water_kg_per_s > 0.75 * before.water_kg_per_s


def test_a_blocked_strainer_lowers_the_coils_pressure_drop_and_scale_raises_it_for_its_flow(heat_pump):
    # Common practice: a block before the ports lowers the drop between them, a narrowed coil raises it.
    clean = solve(heat_pump, COOLING)
    blocked = solve(heat_pump, COOLING, Faults(strainer_blocked=0.8))
    scaled = solve(heat_pump, COOLING, Faults(scale_m2k_per_w=3e-4))

    def per_flow(state):
        return state.water_drop_pa / state.water_kg_per_s**1.8

    assert blocked.water_drop_pa < 0.7 * clean.water_drop_pa
    assert per_flow(blocked) == pytest.approx(per_flow(clean), rel=0.02)
    assert per_flow(scaled) > 1.1 * per_flow(clean)
    assert scaled.water_kg_per_s < clean.water_kg_per_s


def test_a_leaking_reversing_valve_warms_the_suction_line_and_costs_capacity(heat_pump):
    # Common practice: hot gas in the suction line, both pressures drawn together.
    clean, leaking = solve(heat_pump, COOLING), solve(heat_pump, COOLING, Faults(reversing_valve_leak=0.1))
    assert leaking.suction_line_k > clean.suction_line_k + 2.0
    assert leaking.head_pa - leaking.suction_pa < clean.head_pa - clean.suction_pa
    assert leaking.evaporator_heat_w < 0.97 * clean.evaporator_heat_w
