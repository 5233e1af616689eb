"""No verdict rests on what a common fault shows alike: unread flow, unread superheat, power for a gauge.

The machines are the virtual unit's, clean or scaled, with faults at its own "heavy" level.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.virtual_unit import NO_FAULTS, Faults, faults_of, rated_unit, readings, solve
from tests.engine.case import LIMIT, codes, history
from tests.engine.causes_case import COOLING, HEAT_PUMP, HEATING, WHEN

UNIT = rated_unit(HEAT_PUMP)
COIL = UNIT.exchanger
FACTS = replace(
    HEAT_PUMP,
    area_m2=float(COIL.area_m2),
    pressure_drop_exponent=float(COIL.drop_exponent),
    flow_in_heating="counterflow" if COIL.counterflow_heating else "parallel",
    fouling_limit_m2k_per_w=LIMIT,
)
SCALED = Faults(scale_m2k_per_w=2 * LIMIT)
NO_FLOW = dict.fromkeys(
    ("water_flow_kg_per_s", "water_pressure_drop_pa", "compressor_power_w", "amps_a", "volts_v")
)
NO_GAUGE = dict.fromkeys(
    ("head_pressure_pa", "suction_pressure_pa", "liquid_line_k", "suction_line_k", "discharge_line_k")
)


def read(mode: str, faults: Faults = NO_FAULTS, days: float = 0.0, flow: float = 1.0) -> ReadingSet:
    day = replace(COOLING if mode == "cooling" else HEATING, flow_ratio=flow)
    state = solve(UNIT, day, faults)
    assert state.converged
    row = readings(state, unit=FACTS.unit, taken_at=WHEN + timedelta(days=days), faults=faults)
    return replace(row, fault_lockout=None, strainer=None)


def past(mode: str):
    rows = (read(mode, days=-200.0), read(mode, days=-180.0, flow=0.85))
    return history(*(replace(row, purpose="clean_reference") for row in rows))


def judge(row: ReadingSet):
    return assess(FACTS, row, past(row.mode), draws=4000)


def why(answer) -> str:
    return next(one.text for one in answer.warnings if one.code == "why_undecided")


@pytest.mark.parametrize("lost", [0.4, 0.6])
def test_no_surface_is_called_clean_at_a_design_flow_that_nobody_read(lost):
    """At 40 or 60 % less flow than design twice the limit looks clean."""
    row = replace(read("cooling", replace(SCALED, low_flow=lost)), **NO_FLOW)
    answer = judge(row)
    assert answer.verdict == "undecided" and answer.probability_over_limit < 0.1
    assert answer.decides_next == "water_flow"
    assert answer.do_next.startswith("Read the water flow (meter or pressure drop)")
    assert "water flow was not read" in why(answer)


def test_with_the_flow_read_the_same_surface_is_told():
    metered = judge(read("cooling", replace(SCALED, low_flow=0.4)))
    assert metered.verdict == "fouled"
    assert judge(read("cooling")).verdict == "clean"


@pytest.mark.parametrize("cause", ["metering_restricted", "compressor_weak"])
def test_no_clean_surface_is_called_fouled_by_the_compressors_consumption(cause):
    answer = judge(replace(read("cooling", faults_of(cause, "heavy")), **NO_GAUGE))
    assert answer.verdict == "undecided"
    assert answer.do_next.startswith("Connect gauges and read the head pressure")
    if answer.probability_over_limit >= 0.9:
        assert "worn compressor" in why(answer) or "half width" in why(answer)


def test_a_dirty_air_coil_while_heating_is_not_called_fouling_by_consumption():
    answer = judge(replace(read("heating", faults_of("air_side_fault", "heavy")), **NO_GAUGE))
    assert answer.probability_over_limit > 0.9 and answer.verdict == "undecided"
    assert "worn compressor" in why(answer)


def test_a_starved_evaporator_is_not_called_fouled_without_its_superheat():
    starved = read("heating", faults_of("metering_restricted", "heavy"))
    answer = judge(replace(starved, suction_line_k=None, liquid_line_k=None))
    assert answer.verdict == "undecided" and answer.decides_next == "suction_line"
    assert answer.do_next.startswith("Read the suction line temperature right at the exchanger")
    assert "short of refrigerant" in why(answer)
    assert judge(starved).verdict != "fouled"
    assert judge(read("heating", SCALED)).verdict == "fouled"


def test_swapped_clamps_are_no_moved_charge():
    row = read("cooling")
    answer = judge(replace(row, liquid_line_k=row.suction_line_k, suction_line_k=row.liquid_line_k))
    assert "charge_moved" not in codes(answer) or "superheat" in answer.do_next
    text = next(w.text for w in answer.warnings if w.code == "liquid_line_below_entering_water")
    assert "see whether the two clamps are swapped" in text


def test_a_suction_line_warmer_than_the_water_is_told():
    row = read("heating")
    warm = judge(replace(row, suction_line_k=row.entering_water_k + 4.0, **{"compressor_power_w": None}))
    assert "suction_line_above_entering_water" in codes(warm)
    assert not {"suction_line_above_entering_water", "suction_line_above_leaving_water"} & codes(judge(row))


def test_a_suction_line_that_parallel_flow_can_not_show_asks_for_the_record():
    row = read("heating")
    assert FACTS.flow_in_heating == "parallel"
    between = row.leaving_water_k + 2.0
    assert between < row.entering_water_k
    answer = judge(replace(row, suction_line_k=between, compressor_power_w=None, volts_v=None))
    text = next(w.text for w in answer.warnings if w.code == "suction_line_above_leaving_water")
    assert "check flow_in_heating on record" in text


def test_a_discharge_clamp_on_the_liquid_line_stops_the_number_in_heating_too():
    row = read("heating")
    answer = judge(replace(row, liquid_line_k=row.discharge_line_k, discharge_line_k=row.liquid_line_k))
    assert answer.verdict == "undecided" and answer.decides_next == "liquid_line"
    assert "subcooling_impossible" in codes(answer)
