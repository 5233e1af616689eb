"""A power read with the fan on it: what is taken off, what that leaves open, and that the answer says so.

The arithmetic is by hand (`tests/published` has the relation's own); the fan's usual share of a water-to-air
unit's power, 5 to 15 %, is common practice, from memory.
"""

import math
from dataclasses import replace

import pytest

from diagnostics.engine import fan
from diagnostics.engine.assessment import assess
from diagnostics.engine.causes.residuals import raw_readings
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import FACTS, TWO_CLEAN, codes, reading

TRUE = reading(0.0)
POWER_W = TRUE.compressor_power_w
WITH_FAN = replace(TRUE, compressor_power_w=POWER_W + 250.0, power_includes_fan=True)
KNOWN = replace(FACTS, fan_power_w=250.0)


def judge(row, facts=FACTS, past=TWO_CLEAN):
    return assess(facts, row, past, draws=3000)


def said(answer, code):
    return next(one.text for one in answer.warnings if one.code == code)


def heat_flow(answer):
    return answer.more["flow_by_source_kg_per_s"]["refrigerant_heat"]


def test_a_fan_on_record_is_taken_off():
    answer = judge(WITH_FAN, KNOWN)
    # 250 W within 15 % leaves the middle within a few watts of the truth
    assert heat_flow(answer) == pytest.approx(heat_flow(judge(TRUE)), rel=1e-3)
    assert "0.25 kW as on record" in said(answer, "power_includes_fan")


def test_a_usual_share_is_taken_off_where_none_is_on_record():
    told = fan.compressor_power(FACTS, replace(WITH_FAN, compressor_power_w=2000.0))
    # 100 to 300 W: sqrt(1900 x 1700) = 1797.2 W, ln(1900/1700)/sqrt(12) = 0.03211
    assert told.power_w == pytest.approx(1797.2, abs=0.1)
    assert told.spread == pytest.approx(0.03211, abs=1e-5)
    assert "5 % to 15 %" in said(judge(WITH_FAN), "power_includes_fan")


def test_volts_amps_and_power_factor_may_include_it_too():
    amps = (POWER_W + 250.0) / (3**0.5 * 400 * 0.85)
    electric = {"amps_a": amps, "volts_v": 400.0, "phases": 3, "power_factor": 0.85}
    answer = judge(replace(WITH_FAN, compressor_power_w=None, **electric), KNOWN)
    assert heat_flow(answer) == pytest.approx(heat_flow(judge(TRUE)), rel=1e-3)


@pytest.mark.parametrize("flag", [None, False])
def test_not_said_is_the_compressor_alone(flag):
    answer = judge(replace(TRUE, power_includes_fan=flag), KNOWN)
    assert heat_flow(answer) == heat_flow(judge(TRUE)) and "power_includes_fan" not in codes(answer)


def test_what_the_fan_leaves_open_widens_the_flow_told_by_heat():
    only = {"water_flow_kg_per_s": None, "water_pressure_drop_pa": None}
    wide, narrow = (judge(replace(row, **only)) for row in (WITH_FAN, TRUE))
    width = [one.water_flow_kg_per_s.high - one.water_flow_kg_per_s.low for one in (wide, narrow)]
    assert wide.more["flow_sources_used"] == ["refrigerant_heat"]
    assert width[0] > 1.05 * width[1]


def test_a_fan_above_the_power_read_is_said_and_the_power_not_used():
    answer = judge(WITH_FAN, replace(FACTS, fan_power_w=5000.0))
    assert "5 kW" in said(answer, "fan_power_leaves_nothing")
    assert "refrigerant_heat" not in answer.more["flow_by_source_kg_per_s"]


def test_on_a_machine_without_a_fan_it_is_questioned_not_refused_and_the_answer_rests_on_it():
    pump = replace(FACTS, machine="water_to_water_heat_pump")
    answer, beside = judge(WITH_FAN, pump), judge(WITH_FAN)
    assert "has no fan" in said(answer, "fan_on_a_machine_without_one")
    assert answer.fouling_resistance_m2k_per_w is not None
    assert heat_flow(answer) > heat_flow(beside)
    assert answer.inputs_digest != beside.inputs_digest
    assert "fan_on_a_machine_without_one" not in codes(judge(WITH_FAN, replace(pump, fan_power_w=250.0)))


def test_pressure_told_by_power_is_told_by_the_compressors_and_less_surely():
    bare = {"head_pressure_pa": None, "liquid_line_k": None, "discharge_line_k": None}
    alone = judge(replace(TRUE, **bare))
    known = judge(replace(WITH_FAN, **bare), KNOWN)
    taken = judge(replace(WITH_FAN, power_includes_fan=None, **bare))
    dew = [one.more["dew_temperature_k"] for one in (alone, known, taken)]
    # 11 % more power would be 3 to 5 K more of condensing temperature; the fan off, none is left of that
    assert dew[1] == pytest.approx(dew[0], abs=0.1) and dew[2] > dew[0] + 2.0


def test_causes_see_the_compressors_power():
    table = instrument_table(None)
    plain, parts = raw_readings(FACTS, TRUE, table)
    found, wider = raw_readings(KNOWN, WITH_FAN, table)
    assert found["compressor_power"] == pytest.approx(plain["compressor_power"], rel=1e-3)
    more = math.log((POWER_W + 37.5) / (POWER_W - 37.5)) / 12**0.5 * POWER_W  # 250 W within 15 %
    expected = math.hypot(parts["compressor_power"][0], more)
    assert wider["compressor_power"][0] == pytest.approx(expected, rel=1e-3)


def test_a_hint_at_the_fan_is_dropped_once_somebody_said():
    high = replace(TRUE, compressor_power_w=1.6 * POWER_W)
    hint = "a power that includes the fan"
    assert hint in said(judge(high), "flow_sources_disagree")
    assert hint not in said(judge(replace(high, power_includes_fan=False)), "flow_sources_disagree")
