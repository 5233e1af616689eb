"""Which limit holds, and that the answer says so."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.consequence import limit_by_consequence
from diagnostics.engine.fouling import allowance
from diagnostics.engine.limits import excess_at
from diagnostics.engine.records import History, Interval, Limit
from diagnostics.engine.why_undecided import why
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, codes, reading

UNLIMITED = replace(FACTS, fouling_limit_m2k_per_w=None, water_source="cooling_tower")


def judge(facts, row=None):
    return assess(facts, row or reading(0.0), TWO_CLEAN, draws=2000)


def test_a_limit_on_record_is_taken_as_entered():
    answer = judge(FACTS)
    assert (answer.limit.value, answer.limit.source) == (FACTS.fouling_limit_m2k_per_w, "as entered")
    assert answer.more["limit_set_by"] == "entered"


def test_without_one_the_unit_itself_tells_what_scale_costs():
    answer = judge(UNLIMITED)
    reached = answer.more["limit_by_consequence_m2k_per_w"]
    assert answer.limit.unit == "m2K/W"
    assert answer.limit.source.startswith("by consequence: 5 % of capacity lost in heating")
    assert answer.more["limit_set_by"] == "capacity"
    assert answer.limit.value == pytest.approx(min(reached.values()))


def test_without_capacity_and_flow_the_published_table_holds_and_says_what_to_enter():
    facts = replace(UNLIMITED, capacity_w=None, design_flow_m3_per_s=None)
    answer = judge(facts)
    assert answer.limit.value == allowance("cooling_tower").value_m2k_per_w
    assert "TEMA" in answer.limit.source and "enter capacity or design_flow" in answer.limit.source
    assert answer.more["limit_set_by"] == "water_source"


def test_an_unknown_area_turns_the_limit_into_kelvin_a_watt():
    answer = judge(replace(UNLIMITED, area_m2=None))
    assert answer.limit.unit == "K/W"
    assert "by consequence" in answer.limit.source and "area is not known" in answer.limit.source


def test_a_unit_that_trips_clean_on_its_worst_day_is_named():
    answer = judge(replace(UNLIMITED, high_head_cutout_pa=2.2e6))
    assert "limit_unit_trips" in codes(answer)


def test_a_limit_in_kelvin_a_watt_does_not_move_with_the_row_that_is_judged():
    facts = replace(UNLIMITED, area_m2=None, bore_m=None)
    rows = [reading(fouling, flow=flow) for fouling in (0.0, 4 * LIMIT) for flow in (0.7, 1.0)]
    limits = {assess(facts, row, TWO_CLEAN, draws=1000).limit.value for row in rows}
    assert len(limits) == 1


def test_without_area_and_reference_there_is_no_limit_and_the_answer_says_so():
    facts = replace(UNLIMITED, area_m2=None, bore_m=None, capacity_w=None, design_flow_m3_per_s=None)
    answer = assess(facts, reading(4 * LIMIT), History(), draws=1000)
    assert answer.limit is None and answer.reference == ()
    assert answer.verdict == "undecided"
    assert "limit_unknown" in codes(answer)


def test_a_telling_probability_that_is_no_verdict_says_which_rule_keeps_it():
    limit = Limit(1e-4, "m2K/W", "made up")
    wide = why(0.96, Interval(3e-4, 0.2e-4, 6e-4), limit, None, False)
    assert "96 % beyond the limit, yet undecided: the interval's half width of 0.00029" in wide.text
    assert "only once all of the interval lies beyond the limit" in wide.text
    moved = why(
        0.96, Interval(2e-4, 0.9e-4, 2.5e-4), limit, "subcooling is 6 K below the clean visits", False
    )
    assert "subcooling is 6 K below" in moved.text
    assert why(0.5, Interval(1e-4, 0.5e-4, 1.5e-4), limit, None, False) is None


@pytest.mark.parametrize("kind", ["coaxial", "brazed_plate"])
def test_a_plain_condenser_on_record_is_not_limited_by_heating_that_it_never_does(kind):
    taken_for_a_heat_pump = replace(UNLIMITED, exchanger=kind)
    condenser = replace(taken_for_a_heat_pump, machine="water_cooled_condenser")
    assert {one[0] for one in limit_by_consequence(taken_for_a_heat_pump, "cooling").reached_m2k_per_w} == {
        "cooling",
        "heating",
    }
    assert {one[0] for one in limit_by_consequence(condenser, "cooling").reached_m2k_per_w} == {"cooling"}


def test_a_machine_on_record_counts_in_the_digest_where_the_kind_would_say_another():
    usual = judge(replace(FACTS, machine="water_to_air_heat_pump"))
    assert usual.inputs_digest == judge(FACTS).inputs_digest
    assert judge(replace(FACTS, machine="water_cooled_chiller")).inputs_digest != usual.inputs_digest


def test_the_excess_approach_at_the_limit_of_a_plate_condenser_by_hand():
    """Hand calculation, eps = 1 - exp(-UA/C): 44 kW, 2.1 kg/s, 2 m2, 3000 W/(m2K) clean stand 5.11 K from the
    leaving water, at 1.76e-4 m2K/W 8.89 K."""
    change = 44e3 / (2.1 * 4180)
    told = excess_at(Limit(1.76e-4, "m2K/W", "as entered"), 2.0, change, 44e3, 6000.0)
    assert told == pytest.approx(8.89 - 5.11, abs=0.02)
    whole = excess_at(Limit(0.88e-4, "K/W", "as entered"), None, change, 44e3, 6000.0)
    assert whole == pytest.approx(told)
    assert excess_at(Limit(1.76e-4, "m2K/W", "as entered"), None, change, 44e3, 6000.0) is None


@pytest.mark.parametrize("share", [0.5, 1.0, 2.0])
def test_excess_and_its_limit_tell_the_same_as_fouling_and_its_limit(share):
    answer = judge(FACTS, reading(share * LIMIT))
    excess, limit = answer.excess_approach_k.value, answer.more["excess_at_limit_k"]
    fouling = answer.fouling_resistance_m2k_per_w.value / LIMIT
    assert limit > 0
    # not a straight line: fouling raises the approach the faster the more there is of it
    assert excess / limit == pytest.approx(fouling, rel=0.25)
    assert (excess > limit) == (fouling > 1)
