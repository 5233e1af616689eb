"""What to do next: strainer first, back-flush next, only then chemistry, never while flow is in doubt."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.refrigerants import refrigerant
from tests.engine.case import FACTS, LIMIT, TWO_CLEAN, codes, reading

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
    assert advice(reading(0.0)) == "Nothing to do on the water side: the surface is clean."


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
