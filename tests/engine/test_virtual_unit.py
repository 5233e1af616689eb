"""The virtual unit's invariants: it settles, alone and among many, and moves the way physics says."""

import sys
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from diagnostics.engine.errors import UnknownName
from diagnostics.engine.forward import ExchangerTruth, OperatingPoint, UnitTruth
from diagnostics.engine.forward import solve as forward_solve
from diagnostics.engine.records import EXCHANGER_KINDS, ExchangerFacts
from diagnostics.engine.refrigerants import REFRIGERANTS, refrigerant
from diagnostics.engine.virtual_unit import (
    CAUSE_FIELDS,
    CHILLER,
    HEAT_PUMP,
    LEVELS,
    NO_FAULTS,
    Conditions,
    Faults,
    faults_of,
    operating_table,
    rated_unit,
    readings,
    solve,
    solve_many,
    static_pressure_pa,
)
from diagnostics.engine.virtual_unit.compressor import compress, isentropic_efficiency
from diagnostics.engine.virtual_unit.compressor_map import fit_ten_coefficients
from diagnostics.engine.virtual_unit.drawing import draw_conditions, draw_faults, draw_unit
from diagnostics.engine.virtual_unit.properties import property_table

COOLING = Conditions("cooling", 303.15)
HEATING = Conditions("heating", 288.15, air_k=293.15, air_wet_bulb_k=288.15)
WHEN = datetime(2024, 5, 1, 10, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def unit():
    return rated_unit(capacity_w=12e3, refrigerant="R410A")


@pytest.mark.parametrize("name", REFRIGERANTS)
def test_every_refrigerant_makes_a_machine_that_runs_in_both_modes(name):
    machine = rated_unit(capacity_w=10e3, refrigerant=name)
    states = solve_many([machine, machine], [COOLING, HEATING])
    assert all(state.converged for state in states)
    assert states[0].superheat_k == pytest.approx(machine.rated_superheat_k, abs=3.0)


@pytest.mark.parametrize("kind", EXCHANGER_KINDS)
def test_a_registers_row_makes_a_machine_of_its_area_and_flow(kind):
    facts = ExchangerFacts("U-1", "R134a", kind, area_m2=20.0, design_flow_m3_per_s=0.012, capacity_w=220e3)
    machine = rated_unit(facts)
    assert machine.exchanger.area_m2 == 20.0
    assert machine.exchanger.design_flow_kg_per_s == pytest.approx(11.98, abs=0.02)
    assert solve(machine, Conditions("cooling", 300.0)).converged


def test_many_at_once_settle_where_each_settles_alone():
    rng = np.random.default_rng(21)
    units = [draw_unit(rng) for _ in range(6)] * 4
    conditions = [draw_conditions(rng, one) for one in units]
    faults = [draw_faults(rng, one) for one in units]
    together = solve_many(units, conditions, faults)
    for place in range(0, len(units), 3):
        alone = solve(units[place], conditions[place], faults[place])
        assert alone.converged == together[place].converged
        if alone.converged:
            assert alone.head_pa == pytest.approx(together[place].head_pa, rel=1e-5)
            assert alone.power_w == pytest.approx(together[place].power_w, rel=1e-5)


def test_a_search_given_up_early_ends_where_a_patient_one_ends(monkeypatch):
    """Machines past their cut-out among them: those are the ones on which a search stands still."""
    rng = np.random.default_rng(8)
    units = [draw_unit(rng) for _ in range(60)]
    conditions = [draw_conditions(rng, one) for one in units]
    faults = [faults_of("overcharged", "heavy")] * 60
    quick = solve_many(units, conditions, faults)
    monkeypatch.setattr(sys.modules["diagnostics.engine.virtual_unit.newton"], "PATIENCE", 1000)
    patient = solve_many(units, conditions, faults)
    assert any(not one.converged for one in patient) or any(one.lockout != "none" for one in patient)
    for one, other in zip(quick, patient, strict=True):
        assert (one.converged, one.lockout) == (other.converged, other.lockout)
        assert one.head_pa == pytest.approx(other.head_pa, rel=1e-5)
        assert one.suction_pa == pytest.approx(other.suction_pa, rel=1e-5)


def test_the_same_case_settles_twice_alike(unit):
    assert solve(unit, COOLING) == solve(unit, COOLING)


@pytest.mark.parametrize(
    ("conditions", "pressure", "direction"),
    [(COOLING, "head_pa", 1.0), (HEATING, "suction_pa", -1.0)],
    ids=["cooling", "heating"],
)
def test_more_scale_moves_the_pressure_further_and_further(unit, conditions, pressure, direction):
    scales = np.linspace(0.0, 6e-4, 7)
    states = solve_many([unit] * 7, [conditions] * 7, [Faults(scale_m2k_per_w=float(s)) for s in scales])
    values = np.array([getattr(state, pressure) for state in states])
    assert (direction * np.diff(values) > 0).all()
    assert all(state.converged for state in states)


def test_no_scale_is_the_clean_machine(unit):
    assert solve(unit, COOLING, Faults(scale_m2k_per_w=0.0)) == solve(unit, COOLING)


def test_head_climbs_without_bound_as_the_water_stops(unit):
    flows = (1.0, 0.6, 0.4, 0.25)
    heads = [solve(unit, replace(COOLING, flow_ratio=flow)).head_pa for flow in flows]
    assert heads == sorted(heads)
    stopped = solve(unit, replace(COOLING, flow_ratio=0.02))
    assert stopped.lockout == "high_head"


def test_warm_water_lifts_head_and_cold_water_drops_suction(unit):
    heads = [solve(unit, replace(COOLING, entering_water_k=water)).head_pa for water in (288.0, 298.0, 308.0)]
    assert heads == sorted(heads)
    suctions = [
        solve(unit, replace(HEATING, entering_water_k=water)).suction_pa for water in (280.0, 290.0, 300.0)
    ]
    assert suctions == sorted(suctions)


def test_charge_shows_in_the_subcooling_and_a_receiver_hides_it():
    plain = rated_unit(capacity_w=12e3, refrigerant="R134a")
    with_receiver = rated_unit(capacity_w=12e3, refrigerant="R134a", receiver=True)
    spread = {}
    for name, machine in (("plain", plain), ("receiver", with_receiver)):
        states = solve_many(
            [machine] * 3, [COOLING] * 3, [Faults(undercharged=0.08), NO_FAULTS, Faults(overcharged=0.08)]
        )
        cold = [state.subcooling_k for state in states]
        assert cold == sorted(cold)
        spread[name] = cold[-1] - cold[0]
    assert spread["plain"] > 3.0
    assert spread["receiver"] < 1.0


def test_the_charge_put_in_is_the_charge_found(unit):
    state = solve(unit, COOLING, Faults(overcharged=0.1))
    assert state.charge_kg == pytest.approx(1.1 * unit.charge.total_kg, rel=1e-5)


def test_the_low_stage_does_less(unit):
    full, low = solve(unit, COOLING), solve(unit, replace(COOLING, stage="low"))
    assert 0.6 < low.heat_w / full.heat_w < 0.85
    assert low.head_pa < full.head_pa


def test_counterflow_hoses_beat_crossed_ones_in_heating_only(unit):
    crossed = Faults(hoses_crossed=1.0)
    assert solve(unit, HEATING, crossed).suction_pa > solve(unit, HEATING).suction_pa
    assert solve(unit, COOLING, crossed).subcooling_k < solve(unit, COOLING).subcooling_k


def test_an_automatic_cartridge_holds_the_flow_that_a_hand_set_valve_loses():
    scaled = Faults(scale_m2k_per_w=3e-4)
    hand = rated_unit(capacity_w=12e3)
    held = rated_unit(capacity_w=12e3, authority=1.6)
    assert solve(hand, COOLING, scaled).water_kg_per_s < 0.97 * solve(hand, COOLING).water_kg_per_s
    assert solve(held, COOLING, scaled).water_kg_per_s == pytest.approx(
        solve(held, COOLING).water_kg_per_s, rel=1e-6
    )


def test_air_lifts_the_gauge_above_saturation_running_and_at_rest(unit):
    faults = Faults(air_share=0.04)
    state = solve(unit, COOLING, faults)
    fluid = refrigerant("R410A")
    assert state.head_pa > fluid.dew_pressure_pa(state.condensing_dew_k) + 30e3
    clean, air = static_pressure_pa(unit, 293.15), static_pressure_pa(unit, 293.15, faults)
    assert clean == pytest.approx(fluid.bubble_pressure_pa(293.15), rel=1e-6)
    assert air - clean == pytest.approx(0.04 * fluid.bubble_pressure_pa(298.15) * 293.15 / 298.15, rel=1e-6)


@pytest.mark.parametrize("cause", CAUSE_FIELDS)
def test_every_cause_can_run_at_every_level(unit, cause):
    states = solve_many(
        [unit] * 6, [COOLING] * 3 + [HEATING] * 3, [faults_of(cause, level) for level in LEVELS] * 2
    )
    assert all(state.converged or state.beyond for state in states)


def test_an_unknown_cause_or_level_lists_the_known_ones():
    with pytest.raises(UnknownName, match="undercharged"):
        faults_of("bewitched")
    with pytest.raises(UnknownName, match="just_noticeable"):
        faults_of("undercharged", "terrible")


def test_a_chillers_two_exchangers_are_two_readings_of_one_state():
    machine = rated_unit(ExchangerFacts("CH-1", "R134a", "shell_and_tube", capacity_w=300e3))
    assert machine.machine == CHILLER
    condenser = solve(machine, Conditions("cooling", 302.0, other_water_k=285.15))
    evaporator = solve(machine, Conditions("heating", 285.15, other_water_k=302.0))
    assert condenser.head_pa == pytest.approx(evaporator.head_pa, rel=1e-6)
    assert condenser.heat_w == pytest.approx(evaporator.condenser_heat_w, rel=1e-6)
    assert condenser.other_leaving_water_k == pytest.approx(evaporator.leaving_water_k, abs=1e-4)
    assert condenser.leaving_water_k > condenser.entering_water_k
    assert evaporator.leaving_water_k < evaporator.entering_water_k


def test_readings_are_the_state_in_the_records_words(unit):
    state = solve(unit, COOLING)
    read = readings(state, unit="HP-1", taken_at=WHEN, faults=Faults(strainer_blocked=0.9))
    assert (read.head_pressure_pa, read.leaving_water_k) == (state.head_pa, state.leaving_water_k)
    assert read.strainer == "blocked" and read.fault_lockout == "none"
    volt_amperes = 3**0.5 * read.volts_v * read.amps_a * read.power_factor
    assert volt_amperes == pytest.approx(state.power_w, rel=1e-9)


def test_the_operating_table_holds_what_the_clean_machine_shows(unit):
    rows = operating_table(unit, "HP-1")
    assert {row.mode for row in rows} == {"cooling", "heating"}
    row = next(r for r in rows if r.mode == "cooling" and abs(r.entering_water_k - 299.82) < 0.1)
    state = solve(unit, Conditions("cooling", 299.82, flow_ratio=0.65, air_k=299.82, air_wet_bulb_k=292.59))
    assert row.head_low_pa < state.head_pa < row.head_high_pa
    assert row.suction_low_pa < state.suction_pa < row.suction_high_pa
    assert row.subcooling_low_k < state.subcooling_k < row.subcooling_high_k
    rise = state.leaving_water_k - state.entering_water_k
    assert row.water_temperature_change_low_k < rise < row.water_temperature_change_high_k


@pytest.mark.parametrize("kind", ["coaxial", "brazed_plate"])
@pytest.mark.parametrize("conditions", [COOLING, HEATING], ids=["cooling", "heating"])
def test_two_models_of_one_exchanger_agree_on_its_pressure(kind, conditions):
    # the plain forward model is cut finer and scales its single-phase films by flux instead of
    # refrigerant flow
    machine = rated_unit(capacity_w=11e3, refrigerant="R32", kind=kind)
    state = solve(machine, conditions, Faults(scale_m2k_per_w=1e-4))
    part = machine.exchanger
    truth = ExchangerTruth(
        refrigerant="R32",
        kind=kind,
        area_m2=part.area_m2,
        water_film_w_per_m2k=part.water_film_w_per_m2k,
        rating_flow_kg_per_s=part.design_flow_kg_per_s,
        water_exponent=part.water_exponent,
        wall_resistance_m2k_per_w=part.wall_m2k_per_w,
        condensing_film_w_per_m2k=part.condensing_film_w_per_m2k,
        evaporating_film_w_per_m2k=part.evaporating_film_w_per_m2k,
        rating_flux_w_per_m2=part.rating_flux_w_per_m2,
        condensing_flux_exponent=part.condensing_exponent,
        evaporating_flux_exponent=part.evaporating_exponent,
        fouling_resistance_m2k_per_w=1e-4,
    )
    cooling = conditions.mode == "cooling"
    point = OperatingPoint(
        conditions.mode,
        conditions.entering_water_k,
        state.water_kg_per_s,
        state.heat_w,
        superheat_k=state.superheat_k,
        subcooling_k=state.subcooling_k,
        other_saturation_k=state.evaporating_dew_k if cooling else state.condensing_bubble_k,
    )
    plain = forward_solve(UnitTruth(truth, isentropic_efficiency=_efficiency(machine, state)), point)
    dew = state.condensing_dew_k if cooling else state.evaporating_dew_k
    assert plain.dew_k == pytest.approx(dew, abs=0.2)
    assert plain.discharge_line_k == pytest.approx(state.discharge_line_k, abs=0.5)


def _efficiency(machine, state):
    return float(isentropic_efficiency(machine.compressor, state.head_pa / state.suction_pa))


def test_a_machine_with_a_fitted_map_runs_like_the_one_the_map_was_fitted_to(unit):
    table = property_table(("R410A",) * 100)
    suction, discharge = (
        part.ravel() for part in np.meshgrid(np.linspace(-20, 20, 10), np.linspace(15, 60, 10))
    )
    low, high = table.saturation(suction + 273.15), table.saturation(discharge + 273.15)
    done = compress(unit.compressor, low, np.full(100, 11.1), high, high.pressure_pa)
    power = done.flow_kg_per_s * done.work_j_per_kg
    mapped = replace(
        unit.compressor,
        mapped=1.0,
        flow_map=tuple(fit_ten_coefficients(suction, discharge, done.flow_kg_per_s)),
        power_map=tuple(fit_ten_coefficients(suction, discharge, power)),
    )
    for conditions in (COOLING, HEATING):
        plain, by_map = solve_many([unit, replace(unit, compressor=mapped)], [conditions] * 2)
        assert by_map.converged
        assert by_map.head_pa == pytest.approx(plain.head_pa, rel=0.01)
        assert by_map.power_w == pytest.approx(plain.power_w, rel=0.02)
        assert by_map.heat_w == pytest.approx(plain.heat_w, rel=0.02)


@pytest.mark.parametrize(
    ("kind", "machine", "modelled"),
    [
        ("brazed_plate", "water_cooled_chiller", CHILLER),
        ("coaxial", "water_cooled_condenser", CHILLER),
        ("shell_and_tube", "water_to_air_heat_pump", HEAT_PUMP),
        ("plate_and_frame", "water_to_water_heat_pump", HEAT_PUMP),
        ("brazed_plate", None, HEAT_PUMP),
        ("shell_and_tube", None, CHILLER),
    ],
)
def test_the_machine_on_record_is_believed_before_the_exchangers_kind(kind, machine, modelled):
    unit = rated_unit(ExchangerFacts("U-1", "R410A", kind, capacity_w=60e3, machine=machine))
    assert unit.machine == modelled
    assert solve(unit, COOLING).converged
    assert solve(unit, HEATING if modelled == HEAT_PUMP else Conditions("heating", 285.15)).converged
