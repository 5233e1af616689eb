"""Pressure drop, flow and pumps against textbooks, standards and reference libraries."""

import fluids
import pytest
from scipy.optimize import fsolve

from diagnostics.engine import hydraulics as h
from diagnostics.engine.pumps import PumpCurve, affinity, duty_point
from diagnostics.engine.waters import water
from tests.published.sources import published


@published(
    h.reynolds_number,
    h.friction_factor,
    h.straight_pressure_drop_pa,
    h.pressure_of_height_pa,
    source="White, Fluid Mechanics, example 6.7 (data and friction factor as read; head and drop from "
    "memory)",
)
def test_oil_in_an_inclined_cast_iron_pipe():
    # rho 900, nu 1e-5, 0.2 m3/s, 500 m of 200 mm, e 0.26 mm, 10 degrees down:
    # f 0.0225, hf 116-117 m, dp 265 kPa
    velocity = 6.366
    re = h.reynolds_number(velocity, 0.2, 900.0, 900.0 * 1e-5)
    assert re == pytest.approx(128_000, rel=0.01)
    f = h.friction_factor(re, 0.26 / 200)
    assert f == pytest.approx(0.0225, rel=0.02)
    drop = h.straight_pressure_drop_pa(f, 500.0, 0.2, 900.0, velocity)
    assert drop / (900 * 9.81) == pytest.approx(117, rel=0.02)
    fall = 500 * 0.173648  # sin 10 degrees
    # the drop is a small difference of two heads: 2 % of friction is 6 % of it
    assert drop - h.pressure_of_height_pa(fall, 900.0) == pytest.approx(265e3, rel=0.06)


@published(h.friction_factor, source="fluids library: Churchill (1977) and Colebrook (1939)")
@pytest.mark.parametrize(
    ("re", "roughness", "churchill", "colebrook"),
    [
        (1e5, 1e-4, 0.018463, 0.018514),
        (1e6, 1e-3, 0.020022, 0.019943),
        (1e4, 0.01, 0.044044, 0.043127),
        (1e5, 0.0, 0.017875, 0.017990),
    ],
)
def test_friction_factors_of_rough_and_smooth_tubes(re, roughness, churchill, colebrook):
    assert h.friction_factor(re, roughness) == pytest.approx(churchill, abs=1e-6)
    assert h.friction_factor(re, roughness) == pytest.approx(
        fluids.friction.Churchill_1977(re, roughness), rel=1e-9
    )
    assert h.friction_factor(re, roughness) == pytest.approx(colebrook, rel=0.025)
    assert fluids.friction.Colebrook(re, roughness) == pytest.approx(colebrook, rel=1e-4)


@published(
    h.friction_factor_laminar, h.friction_factor, source="Hagen-Poiseuille, f = 64/Re, and the fluids library"
)
@pytest.mark.parametrize("re", [10.0, 500.0, 1000.0, 2000.0])
def test_laminar_friction(re):
    assert h.friction_factor_laminar(re) == pytest.approx(64 / re, rel=1e-12)
    assert h.friction_factor_laminar(re) == pytest.approx(fluids.friction_factor(re), rel=1e-9)
    assert h.friction_factor(re) == pytest.approx(64 / re, rel=0.01)


@published(
    h.straight_pressure_drop_pa,
    h.friction_factor,
    source="fluids library: one-phase pressure drop; Hazen-Williams with C = 140, common practice",
)
@pytest.mark.parametrize(("gpm", "psi", "hazen_williams"), [(5, 1.83, 1.92), (10, 6.24, 6.92)])
def test_a_hose_loses_what_hazen_williams_and_the_library_say(gpm, psi, hazen_williams):
    # 50 ft of 3/4 in hose, water at 20 degC, roughness 1.5 um
    diameter, plain = 0.75 * 0.0254, water()
    rho, mu = plain.density_kg_per_m3(293.15), plain.viscosity_pa_s(293.15)
    velocity = gpm * 6.30902e-5 / (3.14159265 / 4 * diameter**2)
    f = h.friction_factor(h.reynolds_number(velocity, diameter, rho, mu), 1.5e-6 / diameter)
    drop = h.straight_pressure_drop_pa(f, 15.24, diameter, rho, velocity)
    assert drop / 6894.757 == pytest.approx(psi, rel=0.01)
    assert drop / 6894.757 == pytest.approx(hazen_williams, rel=0.12)
    library = fluids.one_phase_dP(
        velocity * rho * 3.14159265 / 4 * diameter**2, rho, mu, diameter, 1.5e-6, 15.24
    )
    assert drop == pytest.approx(library, rel=0.02)


@published(h.fittings_pressure_drop_pa, source="fluids library: dP_from_K (Crane TP-410)")
def test_fittings_lose_their_coefficient_times_the_dynamic_pressure():
    assert h.fittings_pressure_drop_pa(4.2, 998.0, 1.7) == pytest.approx(
        fluids.dP_from_K(4.2, rho=998.0, V=1.7), rel=1e-9
    )


@published(h.reynolds_number, source="fluids library: Reynolds")
def test_reynolds_number_is_the_librarys():
    assert h.reynolds_number(1.3, 0.02, 1028.0, 3e-3) == pytest.approx(
        fluids.Reynolds(V=1.3, D=0.02, rho=1028.0, mu=3e-3), rel=1e-12
    )


@published(
    h.pressure_drop_ratio, h.flow_ratio, source="the square-root law and Blasius' exponent, hand calculation"
)
@pytest.mark.parametrize(("exponent", "at_80_percent"), [(1.75, 0.6767), (1.85, 0.6618), (2.0, 0.6400)])
def test_pressure_drop_at_four_fifths_of_the_flow(exponent, at_80_percent):
    assert h.pressure_drop_ratio(0.8, exponent) == pytest.approx(at_80_percent, abs=1e-4)
    assert h.flow_ratio(at_80_percent, exponent) == pytest.approx(0.8, abs=1e-4)


@published(h.flow_ratio, source="hand calculation: 1.5^(1/2) and 1.5^(1/1.8)")
def test_flow_from_a_pressure_drop_half_as_high_again():
    assert h.flow_ratio(1.5, 2.0) == pytest.approx(1.2247, abs=1e-4)
    assert h.flow_ratio(1.5, 1.8) == pytest.approx(1.2526, abs=1e-4)


@published(
    h.pressure_drop_ratio,
    source="Blasius (1913), f = 0.3164 Re^-0.25, by way of the fluids library",
)
def test_a_smooth_tubes_pressure_drop_rises_with_the_power_of_seven_quarters():
    drops = [fluids.friction.Blasius(re) * re**2 for re in (1e4, 2e4)]
    assert h.pressure_drop_ratio(2.0, 1.75) == pytest.approx(drops[1] / drops[0], rel=1e-9)


def smooth_coil_pressure_drop(flow, fluid, temperature):
    """Twelve metres of 16 mm smooth tube by Blasius, written out independently of the engine."""
    density, viscosity = fluid.density_kg_per_m3(temperature), fluid.viscosity_pa_s(temperature)
    velocity = flow / (3.14159265 / 4 * 0.016**2)
    f = fluids.friction.Blasius(density * velocity * 0.016 / viscosity)
    return f * 12 / 0.016 * density * velocity**2 / 2


@published(
    h.fluid_factor,
    h.flow_from_pressure_drop,
    h.pressure_drop_from_flow,
    source="Blasius (1913) for a smooth coil solved for its flow, by way of the fluids library",
)
@pytest.mark.parametrize(
    ("antifreeze", "fraction", "kelvin"),
    [("none", None, 303.15), ("propylene_glycol", 0.30, 273.15), ("methanol", 0.20, 278.15)],
)
def test_a_clean_coils_curve_tells_the_flow_of_other_waters(antifreeze, fraction, kelvin):
    fluid, design_flow = water(antifreeze, fraction), 6e-4
    design_drop = smooth_coil_pressure_drop(design_flow, water(), 293.15)
    drop = 0.8 * design_drop
    expected = float(
        fsolve(lambda q: smooth_coil_pressure_drop(q[0], fluid, kelvin) - drop, [design_flow])[0]
    )
    found = h.flow_from_pressure_drop(drop, design_flow, design_drop, 1.75, fluid, kelvin)
    assert found == pytest.approx(expected, rel=1e-6)
    back = h.pressure_drop_from_flow(found, design_flow, design_drop, 1.75, fluid, kelvin)
    assert back == pytest.approx(drop, rel=1e-9)


@published(
    h.flow_from_pressure_drop,
    source="hand calculation with the handbook's viscosity of cold glycol, 6 to 7 mPa s, from memory",
)
def test_cold_glycol_read_on_a_water_curve_tells_a_third_too_much():
    # 30 vol% propylene glycol at 0 degC: density 1036 kg/m3 (as read), so
    # (1.038^0.75 * 6^0.25)^(1/1.75) = 1.31 to (1.038^0.75 * 7^0.25)^(1/1.75) = 1.34; hence some 35 %
    glycol = water("propylene_glycol", 0.30)
    on_water = h.flow_from_pressure_drop(30e3, 5e-4, 30e3, 1.75, water(), 293.15)
    as_it_is = h.flow_from_pressure_drop(30e3, 5e-4, 30e3, 1.75, glycol, 273.15)
    assert on_water / as_it_is == pytest.approx(1.33, abs=0.03)


@published(
    h.flow_from_valve_coefficient,
    source="IEC 60534-2-1 by way of the fluids library (size_control_valve_l); Kv = 0.865 Cv",
)
def test_a_balancing_valves_coefficient_tells_its_flow():
    kv = fluids.control_valve.size_control_valve_l(
        rho=998.2, Psat=2340.0, Pc=22.06e6, mu=1.0016e-3, P1=4e5, P2=3.7e5, Q=5e-4
    )
    assert h.flow_from_valve_coefficient(3e4, kv, 998.2) == pytest.approx(5e-4, rel=0.002)
    # 1 gpm of water at 1 psi is Cv 1: density of water taken as 1000 kg/m3
    assert h.flow_from_valve_coefficient(6894.757, 0.8650, 1000.0) == pytest.approx(6.30902e-5, rel=1e-3)


@published(
    affinity, source="White, Fluid Mechanics, similarity rules of pumps: Q ~ n, H ~ n^2, P ~ n^3, from memory"
)
@pytest.mark.parametrize(
    ("speed_ratio", "expected"), [(1.5, (1.5e-3, 450e3, 1350.0)), (2.0, (2e-3, 800e3, 3200.0))]
)
def test_a_pump_at_another_speed(speed_ratio, expected):
    assert affinity(1e-3, 200e3, 400.0, speed_ratio) == pytest.approx(expected)


@published(
    duty_point,
    PumpCurve.pressure_pa,
    source="closed form of a parabolic pump curve against a square-law circuit: Q = sqrt(p0 / (p0/Qm^2 + K))",
)
def test_a_pump_settles_where_its_curve_meets_the_circuit():
    pump, k = PumpCurve(60e3, 1.2e-3), 1.1e11
    expected = (60e3 / (60e3 / 1.2e-3**2 + k)) ** 0.5
    point = duty_point(pump, lambda flow: k * flow**2)
    assert point.flow_m3_per_s == pytest.approx(expected, rel=1e-9)
    assert point.pressure_pa == pytest.approx(k * expected**2, rel=1e-9)
    assert pump.pressure_pa(0.6e-3) == pytest.approx(45e3)
