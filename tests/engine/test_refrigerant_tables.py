"""Refrigerant tables: limits, invariants, bridged gaps, cost, and what they must leave alone."""

import os
import subprocess
import sys
import time
from dataclasses import fields, replace

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnostics.engine.errors import OutOfRange, UnknownName
from diagnostics.engine.refrigerants import CATALOGUE, REFRIGERANTS, refrigerant
from diagnostics.engine.refrigerants.splines import LineSplines
from diagnostics.engine.refrigerants.tables import _without_spikes, build_tables, new_state

ZERO_C = 273.15


def spread_of_temperatures(fluid, count=60):
    return np.linspace(fluid.minimum_temperature_k + 0.01, fluid.maximum_temperature_k - 0.01, count)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_pressure_and_temperature_are_inverse_and_rise_together(name):
    fluid = refrigerant(name)
    temperatures = spread_of_temperatures(fluid)
    for to_pressure, to_temperature in (
        (fluid.bubble_pressure_pa, fluid.bubble_temperature_k),
        (fluid.dew_pressure_pa, fluid.dew_temperature_k),
    ):
        pressures = to_pressure(temperatures)
        assert (np.diff(pressures) > 0).all()
        assert to_temperature(pressures) == pytest.approx(temperatures, abs=1e-4)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_dew_is_never_below_bubble_and_only_blends_glide(name):
    fluid = refrigerant(name)
    low = max(fluid.bubble.low_pa, fluid.dew.low_pa)
    high = min(fluid.bubble.high_pa, fluid.dew.high_pa)
    pressures = np.geomspace(low * 1.01, high * 0.99, 50)
    glide = fluid.dew_temperature_k(pressures) - fluid.bubble_temperature_k(pressures)
    assert (glide > -0.01).all()
    if not fluid.facts.blend:
        assert np.abs(glide).max() < 1e-6


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_a_vector_gives_what_its_scalars_give(name):
    fluid = refrigerant(name)
    pressures = fluid.dew_pressure_pa(np.array([270.0, 290.0, 310.0]))
    temperatures = fluid.dew_temperature_k(pressures) + np.array([2.0, 15.0, 60.0])
    methods = fluid.vapour_enthalpy_j_per_kg, fluid.vapour_entropy_j_per_kg_k, fluid.vapour_density_kg_per_m3
    for method in methods:
        one_by_one = [method(float(p), float(t)) for p, t in zip(pressures, temperatures, strict=True)]
        assert all(isinstance(value, float) for value in one_by_one)
        assert method(pressures, temperatures) == pytest.approx(one_by_one, rel=1e-12)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_entropy_leads_back_to_the_temperature(name):
    fluid = refrigerant(name)
    pressures = fluid.dew_pressure_pa(np.linspace(260.0, fluid.maximum_temperature_k - 10, 12))
    temperatures = fluid.dew_temperature_k(pressures) + np.linspace(0.5, 80.0, 12)
    entropies = fluid.vapour_entropy_j_per_kg_k(pressures, temperatures)
    found = fluid.vapour_temperature_k_from_entropy(pressures, entropies)
    assert found == pytest.approx(temperatures, abs=0.02)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_along_an_isobar_enthalpy_rises_by_t_ds(name):
    # the second law: dh = T ds at constant pressure, whatever the equation of state
    fluid = refrigerant(name)
    pressure = fluid.dew_pressure_pa(290.0)
    temperature = fluid.dew_temperature_k(pressure) + 30.0
    step = 0.5
    rise = [
        f(pressure, temperature + step) - f(pressure, temperature - step)
        for f in (fluid.vapour_enthalpy_j_per_kg, fluid.vapour_entropy_j_per_kg_k)
    ]
    assert rise[0] == pytest.approx(temperature * rise[1], rel=2e-3)


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_vapour_and_liquid_are_on_one_scale_of_enthalpy(name):
    fluid = refrigerant(name)
    pressure = fluid.dew_pressure_pa(300.0)
    dry = fluid.vapour_enthalpy_j_per_kg(pressure, fluid.dew_temperature_k(pressure))
    assert dry == pytest.approx(fluid.saturated_vapour_enthalpy_j_per_kg(pressure), abs=20.0)
    assert dry > fluid.saturated_liquid_enthalpy_j_per_kg(pressure) + 1e5


@given(temperature=st.floats(240.0, 340.0), superheat=st.floats(0.0, 60.0))
def test_hotter_vapour_holds_more_heat_and_is_thinner(temperature, superheat):
    fluid = refrigerant("R410A")
    pressure = fluid.dew_pressure_pa(temperature)
    cool, warm = (fluid.dew_temperature_k(pressure) + superheat + extra for extra in (0.0, 1.0))
    assert fluid.vapour_enthalpy_j_per_kg(pressure, warm) > fluid.vapour_enthalpy_j_per_kg(pressure, cool)
    assert fluid.vapour_density_kg_per_m3(pressure, warm) < fluid.vapour_density_kg_per_m3(pressure, cool)


def test_values_out_of_range_are_refused_by_name_value_and_range():
    with pytest.raises(
        OutOfRange, match=r"R134a saturation temperature 200 K is outside the range 233\.1 to"
    ):
        refrigerant("R134a").bubble_pressure_pa(200.0)
    with pytest.raises(OutOfRange, match="R134a saturation pressure 9e"):
        refrigerant("R134a").dew_temperature_k(9e6)
    with pytest.raises(OutOfRange, match="R134a superheat"):
        refrigerant("R134a").vapour_enthalpy_j_per_kg(1e6, 500.0)
    with pytest.raises(OutOfRange):
        refrigerant("R134a").bubble_pressure_pa(float("nan"))


def test_draws_beyond_an_end_become_nan_and_leave_the_others_alone():
    tolerant = refrigerant("R134a", errors="nan")
    found = tolerant.bubble_temperature_k(np.array([1e6, 9e6, -5.0]))
    assert found[0] == pytest.approx(refrigerant("R134a").bubble_temperature_k(1e6))
    assert np.isnan(found[1:]).all()


def test_minus_forty_degrees_itself_is_inside():
    for name in REFRIGERANTS:
        assert refrigerant(name).bubble_pressure_pa(ZERO_C - 40.0) > 0


def test_an_unknown_refrigerant_is_answered_with_those_known():
    with pytest.raises(UnknownName, match=r"R999.*R410A.*R449A"):
        refrigerant("R999")


@pytest.mark.parametrize("spelling", ["R410A", "r410a", "R-410A", " r 410 a "])
def test_spelling_of_a_name_does_not_matter(spelling):
    assert refrigerant(spelling) is refrigerant("R410A")


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_every_blend_carries_at_least_a_fifth_of_a_kelvin(name):
    fluid = refrigerant(name)
    assert (fluid.model_uncertainty_k >= 0.2) == fluid.facts.blend


def test_r454b_is_bridged_where_its_solver_fails():
    # CoolProp with the phase envelope solves the bubble at 57.5 degC: 3453.3698 kPa
    assert refrigerant("R454B").bubble_pressure_pa(ZERO_C + 57.5) / 1000 == pytest.approx(3453.3698, abs=0.01)


def test_r454bs_dew_runs_smoothly_through_its_dead_zone():
    # the solver fails at 62.25 to 63.5 degC and spikes at -30 degC: the slopes there must not
    fluid = refrigerant("R454B")
    for around in (62.9, -30.0):
        temperatures = ZERO_C + around + np.arange(-3.0, 3.01, 0.05)
        slopes = np.diff(np.log(fluid.dew_pressure_pa(temperatures))) / np.diff(1.0 / temperatures)
        assert np.abs(np.diff(slopes)).max() < 2.0


def test_a_gap_of_four_kelvin_is_bridged_to_a_millionth():
    line = build_tables(CATALOGUE["R454B"]).bubble
    keep = (line.temperature_k < ZERO_C + 43) | (line.temperature_k > ZERO_C + 47)
    assert (~keep).sum() >= 2
    gapped = LineSplines(replace(line, **{one.name: getattr(line, one.name)[keep] for one in fields(line)}))
    whole = LineSplines(line)
    inverse = 1.0 / (ZERO_C + np.linspace(43, 47, 20))
    assert gapped.log_pressure(inverse) == pytest.approx(whole.log_pressure(inverse), abs=1e-6)


def test_a_spike_is_dropped_and_its_neighbours_kept():
    x = np.linspace(3.0e-3, 4.2e-3, 60)
    y = 15.0 - 2500.0 * x + 1e5 * x**2
    y[30] += 0.05
    assert np.flatnonzero(~_without_spikes(x, y)).tolist() == [30]


@pytest.mark.parametrize("name", ["R454B", "R513A", "R448A", "R449A"])
def test_mixture_tables_agree_with_the_solver_where_it_solves(name):
    state, fluid = new_state(CATALOGUE[name]), refrigerant(name)
    for celsius in (-25.3, 3.7, 21.1, 44.9):
        state.update(coolprop.QT_INPUTS, 0, ZERO_C + celsius)
        assert fluid.bubble_pressure_pa(ZERO_C + celsius) == pytest.approx(state.p(), rel=1e-6)


@pytest.mark.parametrize("name", ["R454B", "R513A"])
def test_recorded_critical_temperatures_are_the_mixture_models(name):
    points = [point.T for point in new_state(CATALOGUE[name]).all_critical_points() if point.stable]
    assert CATALOGUE[name].mixture_critical_k == pytest.approx(max(points), abs=0.01)


def test_the_property_librarys_reference_state_is_left_alone():
    for name in REFRIGERANTS:
        refrigerant(name)
    assert coolprop.PropsSI("H", "T", ZERO_C, "Q", 0, "R134a") == pytest.approx(200e3, abs=1.0)


def test_nothing_is_written_to_the_home_folder(tmp_path):
    program = (
        "from diagnostics.engine.refrigerants import REFRIGERANTS, refrigerant\n"
        "from diagnostics.engine.waters import water\n"
        "[refrigerant(name).bubble_pressure_pa(300.0) for name in REFRIGERANTS]\n"
        "water('propylene_glycol', 0.3).density_kg_per_m3(290.0)\n"
    )
    surroundings = {**os.environ, "HOME": str(tmp_path), "PYTHONDONTWRITEBYTECODE": "1"}
    subprocess.run([sys.executable, "-c", program], check=True, env=surroundings, timeout=120)
    assert list(tmp_path.iterdir()) == []


def best_of(action, times=5):
    found = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        found.append(time.perf_counter() - start)
    return min(found)


def test_twenty_thousand_draws_cost_far_less_than_a_loop_over_the_library():
    fluid, state = refrigerant("R410A"), new_state(CATALOGUE["R410A"])
    pressures = 2.4e6 * (1 + 0.01 * np.random.default_rng(1).standard_normal(20_000))
    temperatures = fluid.dew_temperature_k(pressures) + 30.0

    def loop():
        for pressure, temperature in zip(pressures[:2000], temperatures[:2000], strict=True):
            state.update(coolprop.PT_INPUTS, pressure, temperature)
            state.hmass()

    vector = best_of(lambda: fluid.vapour_enthalpy_j_per_kg(pressures, temperatures))
    assert 10 * best_of(loop) > 5 * vector


def test_the_slowest_refrigerant_is_built_in_moments():
    # five components; about half a second on two shared cores, so three leave room for a busy machine
    assert best_of(lambda: build_tables(CATALOGUE["R448A"]), times=2) < 3.0
