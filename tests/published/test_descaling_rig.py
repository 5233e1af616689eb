"""Temperature cap and circulating rig against saturation tables, the fluids library, makers' procedures."""

import math

import fluids
import pytest

from diagnostics.engine.descaling import rig as r
from diagnostics.engine.descaling import temperature_cap as t
from diagnostics.engine.pumps import PumpCurve
from diagnostics.engine.waters import water
from tests.published.sources import published

PSI = 6894.757


@published(
    t.shut_in_pressure_pa,
    source="R410A and R123 pressure-temperature charts (from memory): R410A some 540 psig at 60 degC, R123 "
    "some "
    "15 psig at 49 degC",
)
@pytest.mark.parametrize(
    ("name", "celsius", "psig", "tol"), [("R410A", 60, 540, 0.01), ("R123", 49, 15, 0.05)]
)
def test_what_shut_in_refrigerant_reaches(name, celsius, psig, tol):
    found = (t.shut_in_pressure_pa(name, 273.15 + celsius) - 101_325) / PSI
    assert found == pytest.approx(psig, rel=tol)


@published(
    t.temperature_cap,
    source="CoolProp library: saturation temperature at the low-side rating, or at 80 % of the relief "
    "setting",
)
@pytest.mark.parametrize(
    ("name", "fluid", "rating", "relief", "because"),
    [
        ("R134a", "R134a", 150, 235, "low_side_rating"),
        ("R134a", "R134a", 200, 200, "relief_setting"),
        ("R22", "R22", 250, 450, "low_side_rating"),
        ("R123", "R123", 30, 15, "relief_setting"),
    ],
)
def test_the_solution_stays_cooler_than_what_the_shut_in_refrigerant_bears(
    name, fluid, rating, relief, because
):
    from CoolProp.CoolProp import PropsSI

    cap = t.temperature_cap(name, rating * PSI, relief * PSI, 373.15)
    pressure = min(rating, 0.8 * relief) * PSI + 101_325
    assert cap.because == because
    assert cap.temperature_k == pytest.approx(PropsSI("T", "P", pressure, "Q", 0, fluid), abs=0.1)


@published(
    r.hose_content_m3,
    r.solution_volume_m3,
    source="trade table (from memory): 3/4 in hose holds 2.3 gal/100 ft",
)
def test_what_a_hundred_feet_of_hose_hold():
    hose = r.Hose(30.48, 0.75 * 0.0254)
    assert r.hose_content_m3((hose,)) / 3.78541e-3 == pytest.approx(2.3, abs=0.05)
    assert r.solution_volume_m3(0.004, (hose, hose), 0.02) == pytest.approx(
        0.024 + 4.59 * 3.78541e-3, abs=2e-4
    )


@published(
    r.tank_needed_m3, r.check_tank, source="common practice: drain-back and a third of the tank for foam"
)
def test_a_third_of_the_tank_stays_free():
    assert r.tank_needed_m3(0.040) == pytest.approx(0.060)
    r.check_tank(0.060, 0.040)
    with pytest.raises(ValueError, match="third for foam"):
        r.check_tank(0.059, 0.040)


@published(
    r.circuit_pressure_pa,
    r.velocity_m_per_s,
    source="fluids library: one-phase pressure drop, dP_from_K, Churchill; hydrostatic head by hand",
)
def test_a_circuit_takes_the_sum_of_its_parts():
    circuit = r.Circuit(
        (r.Hose(15.0, 0.01905),),
        ("entrance", "elbow_90", "exit"),
        5e-4,
        30e3,
        1.8,
        1.5,
        2.0,
        0.0,
        1.0,
        293.15,
    )
    flow, plain = 4e-4, water()
    rho, mu = float(plain.density_kg_per_m3(293.15)), float(plain.viscosity_pa_s(293.15))
    velocity = flow / (math.pi / 4 * 0.01905**2)
    assert r.velocity_m_per_s(flow, 0.01905) == pytest.approx(velocity)
    friction = fluids.friction.Churchill_1977(
        fluids.Reynolds(velocity, 0.01905, rho=rho, mu=mu), 1.5e-6 / 0.01905
    )
    expected = fluids.dP_from_K(friction * 15 / 0.01905 + 0.5 + 1.5 + 1.0, rho=rho, V=velocity)
    expected += 30e3 * 0.8**1.8 + rho * 9.80665 * 1.5
    assert r.circuit_pressure_pa(circuit, flow) == pytest.approx(expected, rel=1e-6)


@published(
    r.settles_at,
    source="closed form: a parabolic curve against lift and a square-law coil, Q = sqrt((p0 - lift)/(p0/Qm^2 "
    "+ K))",
)
def test_where_the_pump_settles():
    circuit = r.Circuit((r.Hose(1e-6, 0.05),), (), 5e-4, 30e3, 2.0, 1.0, 2.0, 0.0, 1.0, 293.15)
    pump, rho = PumpCurve(120e3, 0.8e-3), float(water().density_kg_per_m3(293.15))
    expected = math.sqrt((120e3 - rho * 9.80665) / (120e3 / 0.8e-3**2 + 30e3 / 5e-4**2))
    assert r.settles_at(pump, circuit).flow_m3_per_s == pytest.approx(expected, rel=1e-4)


@published(
    r.flow_wanted_m3_per_s,
    source="brazed plate and chiller makers' cleaning chapters, as read: at least 1.5 times the normal flow",
)
def test_plates_are_cleaned_at_one_and_a_half_times_their_flow():
    assert r.flow_wanted_m3_per_s("brazed_plate", 2e-3) == pytest.approx(3e-3)


@published(
    r.pump_word,
    source="common practice: a quarter horsepower does for a coaxial coil, plates and bundles need more",
)
def test_which_pump_serves():
    coil = r.Circuit(
        (r.Hose(10, 0.019),), ("entrance", "exit"), 4e-4, 25e3, return_height_m=0.5, highest_point_m=2
    )
    plates = r.Circuit(
        (r.Hose(10, 0.025),), ("entrance", "exit"), 0.7e-3, 40e3, return_height_m=0.5, highest_point_m=2
    )
    assert r.pump_word(coil, r.flow_wanted_m3_per_s("coaxial", 4e-4)) == "small_transfer_pump"
    assert r.pump_word(plates, r.flow_wanted_m3_per_s("brazed_plate", 0.7e-3)) == "larger_pump"
