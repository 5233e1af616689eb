"""A heat balance far open is told with its values; sets of one clean visit minutes apart count once."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.clean_sets import steadied
from diagnostics.engine.gate import Gate
from diagnostics.engine.suspects import HeatBalance, _balance_open
from tests.engine.case import FACTS, HEATING, TWO_CLEAN, clean, codes, history, reading

OPEN = HeatBalance(14_000.0, 10_000.0, 5.2)


def test_a_balance_wide_open_without_a_suspect_is_told_with_both_heats():
    gate = Gate()
    _balance_open(gate, reading(0.0), OPEN)
    [told] = gate.warnings
    assert told.code == "heat_balance_open"
    assert "14 kW" in told.text and "10 kW" in told.text and "5.2 times" in told.text
    assert not gate.withheld and not gate.undecided


def test_power_from_amps_volts_and_power_factor_may_be_at_fault_in_each():
    gate = Gate()
    by_amps = replace(
        reading(0.0), compressor_power_w=None, amps_a=20.0, volts_v=400.0, phases=3, power_factor=0.8
    )
    _balance_open(gate, by_amps, OPEN)
    assert "amps, volts and power factor, each of which may be at fault" in gate.warnings[0].text


def test_a_balance_that_is_not_far_open_is_not_spoken_of():
    gate = Gate()
    _balance_open(gate, reading(0.0), HeatBalance(11e3, 10e3, 3.1))
    _balance_open(gate, reading(0.0), None)
    assert gate.warnings == []


def test_two_readings_that_err_at_once_leave_the_balance_open_and_named():
    row = reading(0.0)
    wrong = replace(
        row,
        water_flow_kg_per_s=row.water_flow_kg_per_s * 1.5,
        compressor_power_w=row.compressor_power_w * 0.6,
        discharge_line_k=row.discharge_line_k - 9.0,
    )
    answer = assess(FACTS, wrong, TWO_CLEAN, draws=500)
    assert {"heat_balance_open", "reading_suspect"} & codes(answer)
    assert abs(answer.more.get("heat_closure_z", 9.0)) > 4.0


def test_without_the_suction_line_in_heating_it_is_said_that_heat_cannot_be_compared():
    past = history(clean(point=HEATING), clean(20.0, point=HEATING))
    answer = assess(FACTS, replace(reading(0.0, HEATING), suction_line_k=None), past, draws=500)
    told = next(one.text for one in answer.warnings if one.code == "suction_line_missing")
    assert "can the refrigerant's heat be held against the water's" in told
    unpowered = replace(reading(0.0, HEATING), suction_line_k=None, compressor_power_w=None)
    told = next(one.text for one in assess(FACTS, unpowered, past, draws=500).warnings
                if one.code == "suction_line_missing")  # fmt: skip
    assert "held against" not in told


@pytest.mark.parametrize("minutes", [(5,), (5, 11), (4, 9, 16)])
def test_agreeing_sets_of_a_clean_visit_minutes_apart_count_once(minutes):
    first = clean()
    sets = [first, *(replace(first, taken_at=first.taken_at + timedelta(minutes=at)) for at in minutes)]
    kept = steadied(sets)
    assert len(kept) == 1 and kept[0].reading == sets[-1]
    days = [replace(first, taken_at=first.taken_at + timedelta(days=at)) for at in (0, 20, 40)]
    assert [one.reading for one in steadied(days)] == days


def test_a_second_set_minutes_later_narrows_no_interval():
    """Instruments and machine are the same: a set five minutes later is no second clean visit."""
    first = clean()
    second = replace(first, taken_at=first.taken_at + timedelta(minutes=5))
    judged = [
        assess(FACTS, reading(0.0), history(*sets), draws=4000).fouling_resistance_k_per_w
        for sets in ((second,), (first, second))
    ]
    assert judged[0] == judged[1]
