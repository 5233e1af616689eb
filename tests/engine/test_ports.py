"""What of a pressure drop read is the exchanger's own: level of the ports, and what lies between them.

Hand arithmetic: 1 m of water at 20 degC is 998.2 kg/m3 x 9.80665 m/s2 = 9.789 kPa (density of IAPWS water).
Shares that lie beside the exchanger are common practice, and only their arithmetic is checked.
"""

import math
from dataclasses import replace

import pytest

from diagnostics.engine import ports
from diagnostics.engine.assessment import assess
from diagnostics.engine.causes.residuals import raw_readings
from diagnostics.engine.observation import NEW
from diagnostics.engine.records import BETWEEN_PORTS
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import FACTS, TWO_CLEAN, codes, reading

AT_20_DEGC = 998.2
ONE_METRE_PA = 9789.0
READ = replace(reading(0.0), water_pressure_drop_pa=30_000.0)
APART = replace(READ, drop_read_by="gauge_at_each_port")


def judge(row, facts=FACTS, past=TWO_CLEAN):
    return assess(facts, row, past, draws=3000)


def own(facts, row):
    return ports.own_drop(facts, row, AT_20_DEGC)


def said(answer, code):
    return next(one.text for one in answer.warnings if one.code == code)


def flow_by_drop(answer):
    return answer.more["flow_by_source_kg_per_s"]["pressure_drop"]


@pytest.mark.parametrize(("rise_m", "left_pa"), [(1.0, 30_000 - ONE_METRE_PA), (-1.0, 30_000 + ONE_METRE_PA)])
def test_a_gauge_at_each_port_sees_the_height_between_them(rise_m, left_pa):
    found = own(replace(FACTS, port_rise_m=rise_m), APART)
    assert found.drop_pa == pytest.approx(left_pa, abs=1.0)
    # the height is good to 0.05 m: 489.5 Pa, evenly spread
    assert found.left_open[0].spread == pytest.approx(489.5 / 3**0.5 / left_pa, rel=1e-3)
    assert found.left_open[0].key[0] != NEW


def test_a_differential_gauge_with_full_hoses_does_not_see_it():
    found = own(replace(FACTS, port_rise_m=1.0), replace(READ, drop_read_by="differential_gauge"))
    assert found.drop_pa == 30_000.0 and found.left_open == ()


def test_where_nobody_said_how_it_was_read_half_is_taken_off_and_half_left_open():
    found = own(replace(FACTS, port_rise_m=1.0), READ)
    left = 30_000 - ONE_METRE_PA / 2
    assert found.drop_pa == pytest.approx(left, abs=1.0)
    assert found.left_open[0].spread == pytest.approx((ONE_METRE_PA / 2 + 489.5) / 3**0.5 / left, rel=1e-3)


def test_ports_of_unknown_height_count_as_level_and_are_asked_for():
    answer = judge(APART)
    assert flow_by_drop(answer) == pytest.approx(flow_by_drop(judge(READ)))
    assert "0.976 kPa" in said(answer, "port_rise_missing")


@pytest.mark.parametrize("between", BETWEEN_PORTS)
def test_what_lies_between_takes_its_share(between):
    low, high = ports.BESIDE[between]
    found = own(replace(FACTS, between_ports=between), replace(READ, strainer="clean"))
    assert 30_000 * (1 - high) <= found.drop_pa <= 30_000 * (1 - low)
    assert all(part.key == ("between_ports",) for part in found.left_open)


def test_hoses_by_hand():
    # 5 to 25 % beside it: sqrt(0.95 x 0.75) = 0.84410 of 30 kPa, ln(0.95/0.75)/sqrt(12) = 0.06824
    found = own(replace(FACTS, between_ports="hoses"), READ)
    assert found.drop_pa == pytest.approx(25_323, abs=1)
    assert found.left_open[0].spread == pytest.approx(0.06824, abs=1e-5)


def test_nothing_said_and_the_coil_alone_are_the_drop_as_read():
    assert (
        own(FACTS, READ).drop_pa == own(replace(FACTS, between_ports="coil_only"), READ).drop_pa == 30_000.0
    )
    assert own(FACTS, READ).left_open == ()


def test_a_strainer_that_nobody_looked_at_leaves_more_open_and_only_for_this_visit():
    facts = replace(FACTS, between_ports="strainer")
    seen, unseen = own(facts, replace(READ, strainer="clean")), own(facts, READ)
    assert unseen.left_open[0].spread > 2 * seen.left_open[0].spread
    assert unseen.left_open[0].key[0] == NEW


@pytest.mark.parametrize("state", ["dirty", "blocked"])
def test_the_drop_over_a_dirty_strainer_tells_no_flow(state):
    row = replace(READ, strainer=state, water_flow_kg_per_s=None, compressor_power_w=None)
    answer = judge(row, replace(FACTS, between_ports="strainer_and_valve"))
    assert state in said(answer, "strainer_between_ports")
    assert answer.more["flow_sources_used"] == ["design"]
    beside = judge(row)  # nothing between: the strainer is elsewhere in the loop
    assert beside.more["flow_sources_used"] == ["pressure_drop"]


def test_a_height_that_leaves_nothing_is_said_and_the_drop_not_used():
    answer = judge(replace(APART, water_flow_kg_per_s=None), replace(FACTS, port_rise_m=3.0))
    assert "which of the two is higher" in said(answer, "port_rise_leaves_nothing")
    assert "pressure_drop" not in answer.more["flow_sources_used"]


def test_a_drop_below_zero_is_one_where_the_leaving_port_stands_far_below():
    row = replace(APART, water_pressure_drop_pa=30_000 - 4 * 9764.0)  # at 30 to 36 degC
    answer = judge(row, replace(FACTS, port_rise_m=-4.0))
    assert flow_by_drop(answer) == pytest.approx(flow_by_drop(judge(READ)), rel=2e-3)
    assert "water_pressure_drop_not_above_zero" not in codes(answer)
    assert "water_pressure_drop_not_above_zero" in codes(judge(row))


def test_the_flow_told_is_that_of_the_drop_less_the_height():
    raised = replace(APART, water_pressure_drop_pa=30_000 + 9764.0)
    answer = judge(raised, replace(FACTS, port_rise_m=1.0))
    assert flow_by_drop(answer) == pytest.approx(flow_by_drop(judge(READ)), rel=1e-3)
    assert "taken off for the leaving port standing 1 m above" in said(answer, "pressure_drop_corrected")


def test_what_is_not_on_record_is_named_where_the_drop_stands_too_high_and_only_then():
    high = replace(READ, water_pressure_drop_pa=70_000.0)
    known = replace(FACTS, between_ports="coil_only", port_rise_m=0.0)
    told = replace(high, drop_read_by="differential_gauge")
    assert "put it on the exchanger's record" in said(judge(high), "flow_sources_disagree")
    assert "exchanger's record" not in said(judge(told, known), "flow_sources_disagree")


def test_causes_are_held_against_the_exchangers_own_drop():
    table = instrument_table(None)
    row = replace(APART, strainer="clean")
    facts = replace(FACTS, between_ports="hoses", port_rise_m=1.0)
    plain, plain_parts = raw_readings(FACTS, READ, table)
    raw, parts = raw_readings(facts, row, table)
    assert plain["water_pressure_drop"] == 30_000.0
    level = 995.65 * 9.80665  # of water at 30 degC
    assert raw["water_pressure_drop"] == pytest.approx((30_000 - level) * math.sqrt(0.95 * 0.75), rel=1e-3)
    wider = [one["water_pressure_drop"][0] for one in (parts, plain_parts)]
    assert wider[0] > 2 * wider[1]
    dirty = replace(row, strainer="blocked")
    blocked, _ = raw_readings(replace(facts, between_ports="strainer"), dirty, table)
    assert "water_pressure_drop" not in blocked
