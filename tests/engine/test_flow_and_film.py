"""Hydraulics, pumps and convection: limits, continuity, ranges, scalars and vectors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine import convection as c
from diagnostics.engine import hydraulics as h
from diagnostics.engine.errors import OutOfRange, UnknownName
from diagnostics.engine.pumps import PumpCurve, affinity, duty_point
from diagnostics.engine.records import EXCHANGER_KINDS
from diagnostics.engine.waters import water


@given(re=st.floats(1.0, 1e7), roughness=st.floats(0.0, 0.05))
def test_friction_is_continuous_in_the_reynolds_number(re, roughness):
    here, beside = h.friction_factor(re, roughness), h.friction_factor(re * 1.001, roughness)
    assert beside == pytest.approx(here, rel=0.01)


def test_more_roughness_never_helps():
    rough = h.friction_factor(5e4, np.linspace(0.0, 0.05, 50))
    assert (np.diff(rough) > 0).all()


@given(flow=st.floats(0.0, 2e-3), exponent=st.floats(1.5, 2.0), kelvin=st.floats(275.0, 320.0))
def test_flow_and_pressure_drop_are_inverse(flow, exponent, kelvin):
    fluid = water("propylene_glycol", 0.2)
    drop = h.pressure_drop_from_flow(flow, 5e-4, 30e3, exponent, fluid, kelvin)
    assert h.flow_from_pressure_drop(drop, 5e-4, 30e3, exponent, fluid, kelvin) == pytest.approx(
        flow, abs=1e-12
    )


def test_the_design_point_on_the_design_water_is_itself():
    assert h.flow_from_pressure_drop(30e3, 5e-4, 30e3, 1.85, water(), 293.15) == pytest.approx(
        5e-4, rel=1e-12
    )
    assert h.fluid_factor(2.0, water(), 293.15) == pytest.approx(1.0, rel=1e-12)


def test_nothing_flows_without_a_pressure_drop():
    assert h.flow_from_pressure_drop(0.0, 5e-4, 30e3, 1.85, water(), 293.15) == 0.0
    assert h.flow_from_valve_coefficient(0.0, 3.6, 998.0) == 0.0


def test_a_negative_pressure_drop_is_refused_or_nan():
    with pytest.raises(OutOfRange, match="pressure drop -5 Pa"):
        h.flow_from_pressure_drop(-5.0, 5e-4, 30e3, 1.85, water(), 293.15)
    drops = np.array([30e3, -5.0])
    found = h.flow_from_pressure_drop(drops, 5e-4, 30e3, 1.85, water(), 293.15, errors="nan")
    assert found[0] == pytest.approx(5e-4) and np.isnan(found[1])


def test_draws_of_flow_are_those_of_its_scalars():
    drops, kelvin = np.array([10e3, 20e3]), np.array([280.0, 300.0])
    fluid = water("methanol", 0.15)
    one_by_one = [
        h.flow_from_pressure_drop(float(d), 5e-4, 30e3, 1.8, fluid, float(k))
        for d, k in zip(drops, kelvin, strict=True)
    ]
    assert all(isinstance(value, float) for value in one_by_one)
    assert h.flow_from_pressure_drop(drops, 5e-4, 30e3, 1.8, fluid, kelvin) == pytest.approx(
        one_by_one, rel=1e-12
    )


def test_a_pump_at_the_same_speed_is_unchanged():
    assert affinity(1e-3, 1e5, 200.0, 1.0) == (1e-3, 1e5, 200.0)


def test_a_circuit_that_asks_more_than_the_pump_has_is_refused():
    with pytest.raises(ValueError, match="shut-off pressure 40000 Pa"):
        duty_point(PumpCurve(40e3, 1e-3), lambda flow: 50e3 + flow)


def test_a_tighter_circuit_takes_less_flow():
    pump = PumpCurve(60e3, 1e-3)
    flows = [duty_point(pump, lambda q, k=k: k * q**1.8).flow_m3_per_s for k in (1e9, 1e10, 1e11)]
    assert flows[0] > flows[1] > flows[2] > 0


@given(re=st.floats(1.0, 1e6), pr=st.floats(0.7, 100.0))
def test_a_tubes_nusselt_number_is_continuous_and_never_below_laminar(re, pr):
    here, beside = c.tube_nusselt(re, pr), c.tube_nusselt(re * 1.0001, pr)
    assert here >= 3.66 * (1 - 1e-12)
    assert beside == pytest.approx(here, rel=0.01)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: c.gnielinski(2000.0, 5.0), "Reynolds number 2000 - is outside the range 3000"),
        (lambda: c.dittus_boelter(5000.0, 5.0, wall_heats=True), "Reynolds number 5000"),
        (lambda: c.gnielinski(1e4, 0.01), "Prandtl number 0.01"),
        (lambda: c.plate_nusselt(50.0, 5.0), "Reynolds number 50"),
        (lambda: h.friction_factor_laminar(4000.0), "Reynolds number 4000"),
        (lambda: h.friction_factor(1e4, 0.2), "relative roughness 0.2"),
        (
            lambda: c.film_condensation_w_per_m2k(1147, 50, 163e3, 0.07, 1.6e-4, 0.019, 0.0),
            "temperature difference",
        ),
        (lambda: c.condensing_film_ratio(1.2, 1.5), "exponent 1.5"),
        (lambda: c.tube_wall_resistance_m2k_per_w(0.02, 0.01, 50.0), "outer diameter"),
    ],
)
def test_correlations_refuse_what_they_do_not_cover(call, words):
    with pytest.raises(OutOfRange, match=words):
        call()


def test_draws_outside_a_correlation_become_nan():
    assert np.isnan(c.gnielinski(np.array([2000.0, 1e4]), 5.0, errors="nan")).tolist() == [True, False]


@pytest.mark.parametrize("kind", EXCHANGER_KINDS)
def test_every_kind_of_exchanger_has_a_prior_with_width_and_source(kind):
    prior = c.water_film_prior(kind)
    assert prior.exponent_low < prior.exponent_high
    assert prior.enhancement_low < prior.enhancement_high
    assert prior.source


def test_an_unknown_kind_of_exchanger_is_answered_with_those_known():
    with pytest.raises(UnknownName, match=r"radiator.*coaxial.*shell_and_tube"):
        c.water_film_prior("radiator")
