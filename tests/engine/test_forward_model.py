"""The forward model's invariants."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from diagnostics.engine.forward import (
    ExchangerTruth,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
    draw_case,
    draw_repeating_errors,
    draw_unit,
    facts_of,
    nominal_point,
    printed_table,
    reading_of,
    solve,
    with_fouling,
    with_instrument_noise,
)
from diagnostics.engine.records import EXCHANGER_KINDS, InstrumentAccuracy
from diagnostics.engine.uncertainty import instrument_table

UNIT = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
COOLING = OperatingPoint("cooling", 303.15, 0.55, 12_500.0)
HEATING = OperatingPoint("heating", 288.15, 0.55, 9_000.0, other_saturation_k=316.15)
WHEN = datetime(2024, 5, 1, 10, 0, tzinfo=UTC)


def test_scale_lifts_head_and_power_in_cooling():
    states = [solve(with_fouling(UNIT, rf), COOLING) for rf in (0.0, 1e-4, 3e-4)]
    assert states[0].head_pa < states[1].head_pa < states[2].head_pa
    assert states[0].power_w < states[1].power_w < states[2].power_w


def test_scale_lowers_suction_in_heating():
    states = [solve(with_fouling(UNIT, rf), HEATING) for rf in (0.0, 1e-4, 3e-4)]
    assert states[0].suction_pa > states[1].suction_pa > states[2].suction_pa


@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
def test_counterflow_never_does_worse_than_parallel(point):
    exchanger = replace(UNIT.exchanger, cooling_arrangement="counterflow", heating_arrangement="counterflow")
    parallel = replace(exchanger, cooling_arrangement="parallel", heating_arrangement="parallel")
    apart = [
        abs(solve(replace(UNIT, exchanger=one), point).dew_k - point.entering_water_k)
        for one in (exchanger, parallel)
    ]
    assert apart[0] <= apart[1] + 1e-9


def test_a_flooded_exchanger_raises_head_at_the_same_surface():
    heads = [solve(UNIT, replace(COOLING, subcooling_k=sc)).head_pa for sc in (1.0, 5.0, 10.0)]
    assert heads == sorted(heads)


def test_air_lifts_what_the_gauge_reads_by_more_than_its_own_pressure_share():
    clean, air = solve(UNIT, COOLING), solve(UNIT, replace(COOLING, air_pressure_pa=60e3))
    assert air.head_pa - clean.head_pa == pytest.approx(60e3, rel=0.2)


def test_heat_that_would_boil_the_water_is_refused_with_the_numbers():
    with pytest.raises(NoOperatingPoint, match="12500 W"):
        solve(UNIT, replace(COOLING, water_flow_kg_per_s=0.03))


def test_heat_that_no_pressure_can_move_is_refused_with_the_numbers():
    with pytest.raises(NoOperatingPoint, match="12500 W"):
        solve(with_fouling(UNIT, 4e-3), COOLING)


def test_a_closed_bore_is_refused():
    with pytest.raises(NoOperatingPoint, match="closes a bore"):
        solve(with_fouling(UNIT, 5.2e-3), replace(COOLING, heat_w=1000.0))


def test_repeating_errors_are_the_same_at_every_visit_and_random_ones_are_not():
    only_repeating = {"head_pressure": InstrumentAccuracy("head_pressure", 0.01, 0.0, True)}
    only_random = {"head_pressure": InstrumentAccuracy("head_pressure", 0.0, 0.01, True)}
    true = reading_of(solve(UNIT, COOLING), unit="HP-1", taken_at=WHEN)
    rng = np.random.default_rng(5)
    errors = draw_repeating_errors(only_repeating, rng)
    twice = [with_instrument_noise(true, only_repeating, rng, errors).head_pressure_pa for _ in range(2)]
    assert twice[0] == twice[1] != true.head_pressure_pa
    fresh = [with_instrument_noise(true, only_random, rng, errors).head_pressure_pa for _ in range(2)]
    assert fresh[0] != fresh[1]


def test_random_errors_spread_as_a_rectangular_distribution_should():
    # JCGM 100:2008 4.3.7: standard deviation a / sqrt 3 within +-a
    instruments = {"entering_water": InstrumentAccuracy("entering_water", 0.0, 0.3, False)}
    true = reading_of(solve(UNIT, COOLING), unit="HP-1", taken_at=WHEN)
    rng = np.random.default_rng(5)
    drawn = np.array(
        [with_instrument_noise(true, instruments, rng, {}).entering_water_k for _ in range(4000)]
    )
    assert np.abs(drawn - 303.15).max() <= 0.3
    assert drawn.std() == pytest.approx(0.3 / 3**0.5, rel=0.03)


def test_one_probe_moved_between_ports_errs_alike_at_both():
    instruments = {
        name: InstrumentAccuracy(name, 0.3, 0.0, False) for name in ("entering_water", "leaving_water")
    }
    rng = np.random.default_rng(6)
    errors = draw_repeating_errors(instruments, rng)
    true = replace(reading_of(solve(UNIT, COOLING), unit="HP-1", taken_at=WHEN), probe_moved=True)
    read = with_instrument_noise(true, instruments, rng, errors)
    assert read.leaving_water_k - read.entering_water_k == pytest.approx(
        true.leaving_water_k - true.entering_water_k
    )


def test_a_drawn_case_is_the_same_for_the_same_seed():
    cases = [draw_case(np.random.default_rng(11), instrument_table(), with_table=True) for _ in range(2)]
    assert cases[0] == cases[1]
    assert {one.purpose for one in cases[0].history.readings} == {"clean_reference"}
    assert all(one.taken_at < cases[0].reading.taken_at for one in cases[0].history.readings)
    assert len(cases[0].history.tables) >= 4


@pytest.mark.parametrize("kind", EXCHANGER_KINDS)
@pytest.mark.parametrize("mode", ["cooling", "heating"])
def test_every_kind_can_be_drawn_in_both_modes(kind, mode):
    case = draw_case(np.random.default_rng(3), {}, kind=kind, mode=mode, charge_moved=True)
    assert (case.facts.exchanger, case.reading.mode) == (kind, mode)
    rise = case.reading.leaving_water_k - case.reading.entering_water_k
    assert (rise > 0) == (mode == "cooling")


def test_clean_drawn_machines_show_the_approach_of_their_trade():
    # Common practice: a clean condenser at design flow condenses within about 1 to 9 K of its leaving water.
    rng = np.random.default_rng(8)
    for _ in range(12):
        unit, nominal = draw_unit(rng)
        state = solve(unit, nominal_point(unit, nominal, "cooling", 303.15))
        assert 0.5 < state.bubble_k - state.leaving_water_k < 9.0


def test_the_register_row_and_table_describe_the_clean_machine():
    unit, nominal = draw_unit(np.random.default_rng(2), kind="coaxial")
    facts = facts_of(unit, nominal, "HP-7", area_known=False)
    assert facts.unit == "HP-7" and facts.area_m2 is None
    rows = printed_table(with_fouling(unit, 3e-4), nominal, "HP-7", modes=("cooling",))
    state = solve(unit, nominal_point(unit, nominal, "cooling", rows[0].entering_water_k, 0.65))
    assert rows[0].head_low_pa < state.head_pa < rows[0].head_high_pa
