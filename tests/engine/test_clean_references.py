"""Clean references: combined, and not believed where they can't be clean."""

from dataclasses import replace

import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.records import History
from diagnostics.engine.tables import curve_from_table, middle
from diagnostics.engine.waters import water
from tests.engine.case import (
    COOLING,
    FACTS,
    HEATING,
    LIMIT,
    TWO_CLEAN,
    clean,
    codes,
    history,
    reading,
    table_row,
)


def judge(row, past=TWO_CLEAN, facts=FACTS):
    return assess(facts, row, past, draws=4000)


def test_a_clean_visit_on_a_scaled_surface_is_flagged_and_not_believed():
    impostor = replace(reading(4 * LIMIT, days=40.0, flow=0.9), purpose="clean_reference")
    answer = judge(reading(2 * LIMIT), history(*TWO_CLEAN.readings, impostor))
    assert "reference_implausible" in codes(answer)
    assert impostor.taken_at_as_typed not in {used.taken_at for used in answer.reference}
    assert answer.verdict == "fouled"


def test_a_lone_clean_visit_better_than_the_area_allows_is_flagged():
    small = replace(FACTS, area_m2=0.25, capacity_w=None)
    assert "reference_implausible" in codes(judge(reading(0.0), history(clean()), small))


def test_a_lone_clean_visit_far_worse_than_geometry_and_rating_is_flagged_and_not_believed():
    """A conductance a fifth of what area and rating tell: 1.6 in ln, against 0.3 to 0.4 of both together."""
    impostor = replace(
        reading(14 * LIMIT), purpose="clean_reference", taken_at=reading(0.0, days=1.0).taken_at
    )
    answer = judge(reading(14 * LIMIT), history(impostor))
    told = next(one.text for one in answer.warnings if one.code == "reference_implausible")
    assert "the surface was hardly clean then" in told and "a second clean visit would tell" in told
    assert "clean_reference" not in {used.kind for used in answer.reference}
    assert answer.verdict != "clean"


def test_a_second_visit_like_it_is_believed():
    pair = [
        replace(
            reading(14 * LIMIT, flow=flow),
            purpose="clean_reference",
            taken_at=reading(0.0, days=day).taken_at,
        )
        for day, flow in ((1.0, 1.0), (30.0, 0.9))
    ]
    answer = judge(reading(14 * LIMIT), history(*pair))
    assert "reference_implausible" not in codes(answer)


def test_a_clean_visit_with_contradictory_readings_is_not_used_and_says_why():
    broken = replace(clean(), leaving_water_k=290.0)
    answer = judge(reading(0.0), history(broken, clean(20.0)))
    assert "reference_not_usable" in codes(answer)
    assert [used.kind for used in answer.reference].count("clean_reference") == 1


def test_the_other_modes_clean_visit_helps_through_wall_and_water():
    row = reading(LIMIT, HEATING)

    def width(past):
        span = judge(row, past).fouling_resistance_m2k_per_w
        return span.high - span.low

    assert width(history(clean(), clean(20.0, flow=0.8))) < width(history())


def test_another_stage_is_used_wider_and_said_so():
    low = replace(reading(LIMIT), stage="low")
    answer = judge(low)
    assert "stage_without_reference" in codes(answer)
    span, full = answer.fouling_resistance_m2k_per_w, judge(reading(LIMIT)).fouling_resistance_m2k_per_w
    assert span.high - span.low > full.high - full.low


@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
@pytest.mark.parametrize("truth", [0.0, 2 * LIMIT])
def test_a_makers_table_alone_gives_the_truth_back(point, truth):
    rows = tuple(
        table_row(replace(point, entering_water_k=point.entering_water_k + step)) for step in (-5.0, 0.0)
    )
    answer = judge(reading(truth, point), History(tables=rows))
    span = answer.fouling_resistance_m2k_per_w
    assert span.low < truth < span.high
    assert "operating_table" in {used.kind for used in answer.reference}


def test_a_table_without_temperature_change_or_pressure_is_left_out():
    bare = replace(table_row(), head_low_pa=None, head_high_pa=None)
    answer = judge(reading(0.0), History(tables=(bare,)))
    assert "operating_table" not in {used.kind for used in answer.reference}


def test_undecided_for_want_of_a_reference_says_what_to_enter_and_what_it_buys():
    answer = judge(reading(1.2 * LIMIT), history())
    assert answer.verdict == "undecided"
    assert "operating table" in answer.do_next
    assert "%" in answer.do_next
    left = answer.more["interval_left_with_one_more"]
    assert left["clean_reference"] < left["operating_table"] < 1.0


def test_charge_that_moved_is_named_before_the_surface():
    answer = judge(reading(0.0, subcooling_k=13.0))
    assert "charge_moved" in codes(answer)
    assert answer.do_next.startswith("Read lines and pressures once more, then have a certified person")
    assert "subcooling is 8 K above" in answer.do_next


def test_a_clean_surface_with_moved_charge_is_not_called_fouled():
    # A lumped sum would read about 2e-4 m2K/W for 8 K more subcooling.
    for changes in ({"subcooling_k": 13.0}, {"superheat_k": 12.0}):
        answer = judge(reading(0.0, **changes))
        assert answer.verdict != "fouled"
        assert answer.fouling_resistance_m2k_per_w.low < 0.3e-4


def test_a_printed_range_is_read_as_its_middle_with_width():
    # rectangular: width over sqrt(12), JCGM 100:2008, 4.3.7
    assert middle(2.0, 4.0) == (3.0, pytest.approx(2 / 12**0.5))
    assert middle(None, 4.0) == (4.0, 0.0)
    assert middle(None, None) is None


def test_a_pressure_drop_curve_comes_out_of_the_table():
    plain = water("none", None)
    low, high = (
        replace(table_row(), water_flow_m3_per_s=f, water_pressure_drop_pa=d)
        for f, d in ((3e-4, 11e3), (6e-4, 40e3))
    )
    curve = curve_from_table([high, low], plain)
    # hand calculation: ln(40/11)/ln 2 = 1.8625
    assert curve.exponent == pytest.approx(1.8625, abs=1e-4)
    assert curve_from_table([low], plain).exponent_known is False
    assert curve_from_table([], plain) is None


def test_a_rating_that_holds_a_fouling_allowance_means_a_better_clean_surface():
    # AHRI 550/590 (from memory): 0.00025 h ft2 F/Btu, 4.4e-5 m2K/W, for condensers
    past = History(tables=(table_row(),))
    plain, allowed = (
        judge(reading(LIMIT), past, replace(FACTS, rating_includes_fouling=flag)).fouling_resistance_m2k_per_w
        for flag in (False, True)
    )
    assert allowed.value - plain.value == pytest.approx(4.4e-5, abs=1.2e-5)
