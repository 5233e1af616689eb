"""Cause before chemical: the answer for a unit with one thing wrong, and what findings do to it."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.causes import CAUSES, CHECKS, OUTCOMES, REMEDIES, Findings, rank
from diagnostics.engine.causes.evidence import chances
from diagnostics.engine.causes.names import FLOW_FROM_OUTSIDE
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet, UnitEvent
from diagnostics.engine.virtual_unit import CAUSE_FIELDS, rated_unit, readings, solve, static_pressure_pa
from diagnostics.engine.virtual_unit.table import operating_table
from tests.engine.causes_case import COOLING, HEAT_PUMP, WHEN, read_with

ALIKE = ("water_flow_low", "flow_control_fault", "air_in_water")
CLEARED = {"strainer": "clean", "back_flush": "no_change"}


def leader(found):
    return found.causes[0]["cause"]


@pytest.mark.parametrize("cause", [*CAUSE_FIELDS, "nothing_wrong"])
def test_a_heavy_fault_read_in_full_is_in_the_first_two(cause):
    found = rank(HEAT_PUMP, read_with(cause))
    first = [one["cause"] for one in found.causes[:2]]
    assert cause in first or (cause in ALIKE and set(first) & set(ALIKE))


def test_probabilities_sum_to_one_and_are_sorted_and_every_cause_is_named():
    found = rank(HEAT_PUMP, read_with("undercharged", "plain"))
    values = [one["probability"] for one in found.causes]
    assert sum(values) == pytest.approx(1.0, abs=1e-4)
    assert values == sorted(values, reverse=True)
    assert {one["cause"] for one in found.causes} == set(CAUSES)


def test_the_answer_is_plain_json_and_the_same_twice():
    read = read_with("exchanger_fouled")
    first, second = rank(HEAT_PUMP, read).as_json(), rank(HEAT_PUMP, read).as_json()
    assert json.loads(json.dumps(first)) == first == second


def test_no_acid_before_the_strainer_was_seen():
    found = rank(HEAT_PUMP, read_with("exchanger_fouled", strainer=None))
    assert "strainer" in found.why_not_chemical
    assert found.next_check["check"] == "open_strainer"
    assert CHECKS["open_strainer"].words in found.do_next


def test_no_acid_before_the_back_flush():
    found = rank(HEAT_PUMP, read_with("exchanger_fouled", strainer="clean"))
    assert found.why_not_chemical is not None


def test_chemical_work_is_reasonable_once_strainer_back_flush_and_gas_are_cleared():
    settled = static_pressure_pa(rated_unit(HEAT_PUMP), 293.15)
    read = read_with("exchanger_fouled", **CLEARED, static_pressure_pa=settled, static_coldest_k=293.15)
    found = rank(HEAT_PUMP, read)
    assert found.why_not_chemical is None
    assert "Chemical work is reasonable" in found.do_next


@pytest.mark.parametrize("level", ["just_noticeable", "plain", "heavy"])
@pytest.mark.parametrize("cause", [one for one in CAUSE_FIELDS if one != "exchanger_fouled"])
def test_no_acid_on_a_clean_exchanger_whatever_else_is_wrong(cause, level):
    read = read_with(cause, level, back_flush="no_change")
    assert rank(HEAT_PUMP, read).why_not_chemical is not None


def test_a_back_flush_that_restored_flow_holds_acid_back():
    read = read_with("exchanger_fouled", strainer="clean", back_flush="flow_restored")
    assert "back-flush" in rank(HEAT_PUMP, read).why_not_chemical


def test_the_static_test_tells_gas_from_fouling():
    settled = static_pressure_pa(rated_unit(HEAT_PUMP), 293.15)
    without = rank(HEAT_PUMP, read_with("non_condensables", "plain"))
    clear = read_with("non_condensables", "plain", static_pressure_pa=settled, static_coldest_k=293.15)
    gassy = replace(clear, static_pressure_pa=settled * 1.06)
    before = without.probability("non_condensables")
    assert rank(HEAT_PUMP, gassy).probability("non_condensables") > max(before, 0.9)
    assert rank(HEAT_PUMP, clear).probability("non_condensables") < 0.4 * before


def test_low_flow_with_a_clean_strainer_goes_to_flow_control_and_says_what_cannot_be_told_apart():
    found = rank(HEAT_PUMP, read_with("flow_control_fault"))
    assert found.next_check["check"] in ("look_at_flow_control", "ask_the_loop")
    pairs = [tuple(one["causes"]) for one in found.cannot_tell_apart]
    assert ("water_flow_low", "flow_control_fault") in pairs
    wrong = rank(
        HEAT_PUMP, read_with("flow_control_fault"), findings=Findings({"look_at_flow_control": "wrong"})
    )
    assert leader(wrong) == "flow_control_fault"


def test_a_descale_that_brought_nothing_makes_fouling_less_likely():
    read = read_with("exchanger_fouled", "just_noticeable", strainer="clean")
    before = rank(HEAT_PUMP, read).probability("exchanger_fouled")
    after = rank(HEAT_PUMP, read, findings=Findings(descale_brought="nothing"))
    assert after.probability("exchanger_fouled") < before


def test_a_recent_descale_makes_fouling_less_likely():
    read = read_with("exchanger_fouled", "just_noticeable")
    history = History(events=(UnitEvent("HP-1", WHEN - timedelta(days=30), "descaled"),))
    before = rank(HEAT_PUMP, read).probability("exchanger_fouled")
    assert rank(HEAT_PUMP, read, history).probability("exchanger_fouled") < before


def test_closed_loops_are_fouled_less_often_than_tower_loops():
    read = read_with("exchanger_fouled", "just_noticeable")
    closed = replace(HEAT_PUMP, water_source="closed_loop")
    assert rank(closed, read).probability("exchanger_fouled") < rank(HEAT_PUMP, read).probability(
        "exchanger_fouled"
    )


def test_clean_visits_of_the_same_unit_sharpen_the_answer():
    clean = replace(
        read_with("nothing_wrong"), taken_at=WHEN - timedelta(days=300), purpose="clean_reference"
    )
    read = read_with("exchanger_fouled", "just_noticeable")
    plain = rank(HEAT_PUMP, read).probability("exchanger_fouled")
    assert rank(HEAT_PUMP, read, clean=clean).probability("exchanger_fouled") > plain
    by_history = rank(HEAT_PUMP, read, History(readings=(clean,)))
    assert by_history == rank(HEAT_PUMP, read, clean=clean)
    voided = History(
        readings=(clean,), events=(UnitEvent("HP-1", WHEN - timedelta(days=9), "compressor_replaced"),)
    )
    assert rank(HEAT_PUMP, read, voided).probability("exchanger_fouled") == pytest.approx(plain)


def test_the_loops_usual_range_is_evidence_of_its_own():
    facts = replace(HEAT_PUMP, loop_low_k=288.15, loop_high_k=298.15)
    read = read_with("nothing_wrong", fault_lockout="high_head")
    assert leader(rank(facts, read)) == "loop_water_warm"


def test_absent_readings_are_absent():
    water = {"entering_water_k": 301.15, "leaving_water_k": 307.0}
    bare = rank(HEAT_PUMP, ReadingSet("HP-1", WHEN, "cooling", **water))
    empty = rank(HEAT_PUMP, ReadingSet("HP-1", WHEN, "cooling"))
    assert bare.why_not_chemical is not None and empty.why_not_chemical is not None
    assert empty.causes[0]["probability"] < 0.5


def test_a_wrong_refrigerant_on_record_is_called_a_bad_record():
    facts = ExchangerFacts("HP-1", "R22", "coaxial", capacity_w=12e3, water_source="cooling_tower")
    found = rank(facts, read_with("nothing_wrong"))
    assert leader(found) in ("bad_record", "bad_reading")


def test_a_wrong_design_flow_on_record_is_called_a_bad_record():
    flow = float(rated_unit(HEAT_PUMP).exchanger.design_flow_kg_per_s) / 998.2
    facts = replace(HEAT_PUMP, design_flow_m3_per_s=1.8 * flow)
    assert leader(rank(facts, read_with("nothing_wrong"))) in ("bad_record", "bad_reading")


def test_reasons_are_in_the_readings_own_numbers():
    top = rank(HEAT_PUMP, read_with("exchanger_fouled")).causes[0]
    assert any("approach" in one and "the clean unit" in one and "+-" in one for one in top["reasons"])


def test_every_check_has_outcomes_whose_chances_sum_to_one():
    assert set(CHECKS) == set(OUTCOMES)
    for check in CHECKS:
        for cause in CAUSES:
            found = chances(check, (cause,), HEAT_PUMP)
            assert len(found) == len(OUTCOMES[check])
            assert sum(found) == pytest.approx(1.0)


def test_checks_that_open_something_carry_cautions_and_every_cause_a_remedy():
    assert set(REMEDIES) == set(CAUSES)
    assert all(one.cautions for one in CHECKS.values() if one.intrusiveness > 1)
    assert set(FLOW_FROM_OUTSIDE) < set(CAUSES)


def test_what_each_outcome_would_do_is_told():
    check = rank(HEAT_PUMP, read_with("exchanger_fouled", strainer=None)).next_check
    assert sum(one["probability"] for one in check["outcomes"]) == pytest.approx(1.0, abs=1e-3)
    blocked = next(one for one in check["outcomes"] if one["outcome"] == "blocked")
    clean = next(one for one in check["outcomes"] if one["outcome"] == "clean")
    assert clean["then"][0]["cause"] == "exchanger_fouled"
    assert blocked["probability"] < clean["probability"]


@pytest.mark.parametrize(
    "typed",
    [
        {"entering_water_k": 420.0},
        {"head_pressure_pa": 9e9},
        {"suction_pressure_pa": -5.0},
        {"water_flow_m3_per_s": 40.0, "water_flow_kg_per_s": None},
        {"liquid_line_k": 2.0},
    ],
)
def test_a_value_typed_wrong_is_answered_without_acid(typed):
    found = rank(HEAT_PUMP, read_with("nothing_wrong", **typed))
    assert found.why_not_chemical is not None
    assert sum(one["probability"] for one in found.causes) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(("mode", "off_k"), [("cooling", -11.0), ("cooling", 11.0), ("heating", 9.0)])
def test_a_misread_entering_water_is_a_wrong_reading_and_no_fouled_exchanger(mode, off_k):
    sound = read_with("nothing_wrong", mode=mode, back_flush="no_change")
    found = rank(HEAT_PUMP, replace(sound, entering_water_k=sound.entering_water_k + off_k))
    assert leader(found) == "bad_reading" and found.probability("exchanger_fouled") < 0.05
    assert "without the entering water temperature" in found.causes[0]["reasons"][0]
    assert found.why_not_chemical is not None


@pytest.mark.parametrize("larger", [0.4, 1.0, 4.0])
def test_a_machine_of_unknown_size_is_not_taken_for_one_of_usual_size(larger):
    made = replace(HEAT_PUMP, capacity_w=12e3 * larger, design_flow_m3_per_s=None)
    state = solve(rated_unit(made), COOLING)
    read = readings(state, unit="HP-1", taken_at=WHEN)
    bare = ExchangerFacts("HP-1", "R410A", "coaxial")
    found = rank(bare, read)
    assert leader(found) == "nothing_wrong"
    assert "design flow" not in str(found.causes[0]["reasons"])


def test_a_switch_that_trips_while_everything_read_is_sound_has_drifted():
    found = rank(HEAT_PUMP, read_with("nothing_wrong", fault_lockout="high_head"))
    assert leader(found) == "safety_control_fault"


def test_air_over_the_coil_and_volume_flow_are_used_where_read():
    read = read_with("nothing_wrong")
    volume = replace(read, water_flow_kg_per_s=None, water_flow_m3_per_s=read.water_flow_kg_per_s / 996.2)
    by_mass, by_volume = rank(HEAT_PUMP, read), rank(HEAT_PUMP, volume)
    for cause in CAUSES:
        assert by_volume.probability(cause) == pytest.approx(by_mass.probability(cause), abs=0.01)


def test_the_makers_table_teaches_what_a_sound_unit_of_the_model_shows():
    """A model whose films are a quarter worse than its rating lets expect: by the table it is sound."""
    unit = rated_unit(HEAT_PUMP)
    poor = replace(unit.exchanger, condensing_film_w_per_m2k=0.7 * unit.exchanger.condensing_film_w_per_m2k)
    model = replace(unit, exchanger=poor)
    read = readings(solve(model, COOLING), unit="HP-1", taken_at=WHEN)
    tables = tuple(operating_table(model, "HP-1", modes=("cooling",)))
    alone, taught = rank(HEAT_PUMP, read), rank(HEAT_PUMP, read, History(tables=tables))
    assert taught.probability("exchanger_fouled") < alone.probability("exchanger_fouled")
    assert taught.probability("nothing_wrong") > alone.probability("nothing_wrong")
    assert rank(HEAT_PUMP, read, History(tables=[replace(one, unit="HP-2") for one in tables])) == alone


@pytest.mark.parametrize("mode", ["cooling", "heating"])
def test_the_next_check_is_the_one_that_the_reason_against_acid_names(mode):
    found = rank(HEAT_PUMP, read_with("exchanger_fouled", "plain", mode, strainer="clean"))
    assert found.next_check["check"] == "back_flush" and "back-flush" in found.why_not_chemical
    assert CHECKS["back_flush"].words in found.do_next
