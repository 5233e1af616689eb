"""What to do next: strainer first, back-flush next, only then chemistry, never while flow is in doubt."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import History, UnitEvent
from diagnostics.engine.refrigerants import refrigerant
from tests.engine.case import DAY, FACTS, LIMIT, START, TWO_CLEAN, clean, codes, history, reading

FOULED = reading(4 * LIMIT)


def advice(row):
    return assess(FACTS, row, TWO_CLEAN, draws=2000).do_next


@pytest.mark.parametrize(
    ("changes", "start"),
    [
        ({}, "Look at the strainer, then back-flush"),
        ({"strainer": "clean"}, "Back-flush and read again"),
        ({"strainer": "not_fitted"}, "Back-flush and read again"),
        ({"strainer": "blocked"}, "Clean the strainer (blocked), then read again"),
        ({"strainer": "dirty", "back_flush": "no_change"}, "Clean the strainer (dirty), then read again"),
        ({"strainer": "clean", "back_flush": "no_change"}, "Plan a chemical descale"),
    ],
)
def test_easy_remedies_come_before_chemistry(changes, start):
    assert advice(replace(FOULED, **changes)).startswith(start)


def test_low_flow_is_looked_into_before_anything_chemical():
    slow = reading(4 * LIMIT, flow=0.6)
    assert advice(slow).startswith("Look at the strainer first: water flow is 60 % of design")
    looked = replace(slow, strainer="clean", back_flush="no_change")
    assert advice(looked).startswith("Find why water flow is 60 % of design before anything chemical")


@pytest.mark.parametrize("fouling", [0.0, LIMIT, 4 * LIMIT])
@pytest.mark.parametrize("flow", [0.6, 1.0])
@pytest.mark.parametrize("strainer", [None, "clean", "dirty", "blocked", "not_fitted"])
def test_acid_is_never_spoken_of_while_the_strainer_or_the_flow_is_in_doubt(fouling, flow, strainer):
    said = advice(replace(reading(fouling, flow=flow), strainer=strainer)).lower()
    assert "acid" not in said
    assert "plan a chemical descale" not in said


def test_a_clean_surface_is_left_alone():
    assert advice(reading(0.0)) == "Nothing to do on the water side: the surface is within its fouling limit."


def test_a_withheld_reading_says_what_to_read_again():
    assert "ten minutes" in advice(replace(FOULED, minutes_running=2.0))
    assert "leaving water" in advice(replace(FOULED, leaving_water_k=300.0))


def static(row, air_pa):
    fluid = refrigerant("R410A")
    return replace(
        row, static_pressure_pa=float(fluid.bubble_pressure_pa(295.15)) + air_pa, static_coldest_k=295.15
    )


def test_air_stays_a_condition_until_the_static_test_rules_it_out():
    ready = replace(FOULED, strainer="clean", back_flush="no_change")
    open_question = assess(FACTS, ready, TWO_CLEAN, draws=2000)
    assert "air_not_ruled_out" in codes(open_question)
    assert "static test" in open_question.do_next
    tested = assess(FACTS, static(ready, 0.0), TWO_CLEAN, draws=2000)
    assert tested.verdict == "fouled"
    assert "air_not_ruled_out" not in codes(tested)
    assert "static test" not in tested.do_next


def test_air_that_was_found_is_taken_out_before_the_surface_is_judged():
    answer = assess(FACTS, static(FOULED, 120e3), TWO_CLEAN, draws=2000)
    assert answer.verdict == "undecided"
    assert "air_found" in codes(answer)
    assert answer.do_next.startswith("Have a certified person take the air out")


def test_a_static_test_that_leaves_room_for_a_little_air_gives_no_crew_to_acid():
    """22 kPa over R410A at 22 degC are 0.55 K or so: more than half of what the instruments allow."""
    answer = assess(FACTS, static(FOULED, 24e3), TWO_CLEAN, draws=2000)
    assert answer.more["static_test_of_air"] == "in_doubt"
    assert "air_in_doubt" in codes(answer)
    assert answer.verdict == "undecided"
    assert answer.do_next.startswith("Repeat the static test")


def test_an_undecided_case_says_whether_to_read_or_to_read_better():
    close = reading(1.1 * LIMIT)
    assert advice(close).startswith("Read again, with a better instrument, the")
    bare = replace(close, liquid_line_k=None, discharge_line_k=None)
    assert advice(bare).startswith("Read the liquid line temperature right at the exchanger")


@pytest.mark.parametrize(
    ("name", "words"), [("hot_gas_reheat", "hot-gas reheat"), ("desuperheater_coil", "desuperheater")]
)
def test_a_coil_that_took_hot_gas_is_switched_off_before_any_reading_is_suspected(name, words):
    """The reheat coil takes heat that the refrigerant gives and the water never sees (first law)."""
    on = replace(FOULED, compressor_power_w=1.6 * FOULED.compressor_power_w, strainer="clean")
    answer = assess(replace(FACTS, **{name: True}), on, TWO_CLEAN, draws=2000)
    assert answer.do_next.startswith(f"Switch off the {words} and read again")
    assert answer.decides_next is None
    assert "hot_gas_taken" in codes(answer)
    assert not {"reading_suspect", "flow_source_suspect", "flow_sources_pattern"} & codes(answer)


def test_a_power_that_the_balance_names_is_read_again_first():
    odd = replace(FOULED, compressor_power_w=1.6 * FOULED.compressor_power_w, strainer="clean")
    answer = assess(FACTS, odd, TWO_CLEAN, draws=2000)
    assert answer.verdict == "fouled"
    assert answer.do_next.startswith("Read the compressor power again")


@pytest.mark.parametrize("minutes", [3.0, 6.0])
def test_a_unit_that_trips_too_early_is_not_asked_to_run_for_ten_minutes(minutes):
    trips = replace(FOULED, minutes_running=minutes, fault_lockout="high_head")
    answer = assess(FACTS, trips, TWO_CLEAN, draws=500)
    assert answer.do_next.startswith("Try the other mode or the low stage")
    assert answer.decides_next is None
    assert "ten minutes of steady running again" not in answer.do_next
    early = assess(FACTS, replace(trips, fault_lockout="none"), TWO_CLEAN, draws=500)
    assert early.do_next.startswith("Read everything after at least ten minutes")
    assert early.decides_next == "minutes_running"


def test_two_clean_visits_that_contradict_each_other_are_told_as_such():
    impostor = replace(reading(2 * LIMIT, days=30.0), purpose="clean_reference")
    answer = assess(FACTS, replace(FOULED, strainer="clean"), history(clean(), impostor), draws=2000)
    assert answer.verdict == "undecided" and "reference_implausible" in codes(answer)
    why = next(one.text for one in answer.warnings if one.code == "why_undecided")
    assert "two clean visits contradict each other" in why
    assert answer.do_next.startswith("Retire one clean visit or read a third")
    assert answer.decides_next is None


def test_an_event_that_voids_the_clean_visits_is_told_once():
    event = UnitEvent("HP-1", START + 100 * DAY, "charge_changed")
    answer = assess(FACTS, FOULED, History(TWO_CLEAN.readings, events=(event,)), draws=500)
    told = [one.text for one in answer.warnings if one.code == "reference_voided"]
    assert len(told) == 1
    assert "is voided by charge changed on 2023-07-12" in told[0]
    assert TWO_CLEAN.readings[1].taken_at.isoformat() in told[0]
    newer = History((*TWO_CLEAN.readings, clean(200.0)), events=(event,))
    assert "reference_voided" not in codes(assess(FACTS, FOULED, newer, draws=500))
