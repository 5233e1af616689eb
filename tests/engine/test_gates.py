"""Gates before any number: contradictions withhold it and name the reading and what would be right."""

from dataclasses import replace
from datetime import timedelta

import pytest

from diagnostics.engine.assessment import assess
from tests.engine.case import COOLING, FACTS, HEATING, TWO_CLEAN, clean, codes, history, reading

HEATING_PAST = history(clean(point=HEATING), clean(20.0, point=HEATING))


def judge(row, past=TWO_CLEAN, facts=FACTS):
    return assess(facts, row, past, draws=2000)


BARE = "head_pressure_pa suction_pressure_pa liquid_line_k suction_line_k discharge_line_k compressor_power_w"
WATER_ONLY = dict.fromkeys(BARE.split())


def cooling(**changes):
    return replace(reading(0.0), **changes)


def heating(**changes):
    return replace(reading(0.0, HEATING), **changes)


@pytest.mark.parametrize(
    ("row", "code", "words"),
    [
        (cooling(minutes_running=4.0), "not_steady", "minutes_running is 4"),
        (cooling(leaving_water_k=302.15), "water_change_wrong_sign", "29.0 degC"),
        (cooling(leaving_water_k=303.15), "water_change_wrong_sign", "must be warmer"),
        (heating(leaving_water_k=290.15), "water_change_wrong_sign", "must be colder"),
        (cooling(entering_water_k=None), "entering_water_missing", "entering_water"),
        (cooling(leaving_water_k=None), "leaving_water_missing", "leaving_water"),
        (cooling(head_pressure_pa=5.0e5), "head_below_suction", "500 kPa"),
        (cooling(head_pressure_pa=9.0e6), "head_pressure_out_of_range", "9000 kPa"),
        (heating(suction_pressure_pa=30.0), "suction_pressure_out_of_range", "gauge against absolute"),
        (cooling(discharge_line_k=306.15), "leaving_water_beyond_discharge", "33.0 degC"),
        (
            cooling(head_pressure_pa=1.7e6, discharge_line_k=None),
            "condensing_below_entering_water",
            "1700 kPa",
        ),
        (heating(suction_pressure_pa=1.25e6), "leaving_water_beyond_saturation", "evaporating"),
        (cooling(suction_line_k=272.15), "superheat_impossible", "suction_line"),
        (cooling(liquid_line_k=325.15), "subcooling_impossible", "52.0 degC"),
        (cooling(leaving_water_k=303.40), "temperature_change_too_small", "0.25 K"),
    ],
)
def test_contradictions_withhold_the_number_and_say_what_would_be_right(row, code, words):
    answer = judge(row, HEATING_PAST if row.mode == "heating" else TWO_CLEAN)
    assert answer.fouling_resistance_m2k_per_w is None
    assert answer.verdict == "undecided"
    assert code in codes(answer)
    assert words in " ".join(warning.text for warning in answer.warnings if warning.code == code)
    assert answer.do_next


def test_an_impossible_water_temperature_is_named_and_nothing_else_is_blamed():
    answer = judge(cooling(entering_water_k=-226.85))
    assert codes(answer) == {"entering_water_out_of_range"}
    assert "entering water" in answer.do_next


def test_a_mistyped_set_minutes_before_does_not_make_a_good_one_unsteady():
    now = cooling()
    mistyped = replace(now, taken_at=now.taken_at - timedelta(minutes=4), entering_water_k=-226.85)
    past = history(*TWO_CLEAN.readings, mistyped)
    assert "not_steady" not in codes(judge(now, past))


def test_a_trip_before_steady_is_evidence_and_names_another_way():
    answer = judge(cooling(minutes_running=3.0, fault_lockout="high_head"))
    text = next(warning.text for warning in answer.warnings if warning.code == "not_steady")
    assert "evidence but not a measurement" in text
    assert "other mode" in text


@pytest.mark.parametrize(("entering", "leaving"), [(272.9, 270.0), (274.0, 272.5)])
def test_plain_water_below_its_freezing_point_is_refused(entering, leaving):
    answer = judge(
        heating(entering_water_k=entering, leaving_water_k=leaving, suction_pressure_pa=6.5e5), HEATING_PAST
    )
    assert "water_would_freeze" in codes(answer)
    assert "no antifreeze" in " ".join(warning.text for warning in answer.warnings)


def test_the_wall_is_asked_and_not_only_the_water():
    # Plain water leaves at 2 degC, but the refrigerant evaporates at -20 degC: the wall would be ice.
    row = heating(
        entering_water_k=279.15, leaving_water_k=275.15, suction_pressure_pa=4.0e5, suction_line_k=258.15
    )
    assert "wall_would_freeze" in codes(judge(row, HEATING_PAST))


def test_antifreeze_carries_the_same_water_further_down():
    row = heating(
        entering_water_k=279.15, leaving_water_k=275.15, suction_pressure_pa=4.0e5, suction_line_k=258.15
    )
    facts = replace(FACTS, antifreeze="propylene_glycol", antifreeze_fraction=0.35)
    assert "wall_would_freeze" not in codes(judge(row, HEATING_PAST, facts))


def test_floodback_is_a_finding_and_not_an_error():
    row = reading(0.0)
    dew = row.suction_line_k - 6.0
    answer = judge(replace(row, suction_line_k=dew - 1.5))
    assert "floodback" in codes(answer)
    assert answer.fouling_resistance_m2k_per_w is not None


def test_water_may_pass_saturation_where_the_hot_gas_can_do_it():
    row = reading(0.0, flow=0.30, heat_w=14_000.0)
    answer = judge(row)
    assert row.leaving_water_k > answer.more["bubble_temperature_k"] - 3.0
    assert answer.fouling_resistance_m2k_per_w is not None


def test_water_that_passes_saturation_without_a_discharge_reading_is_asked_about():
    row = reading(0.0)
    hot = replace(row, leaving_water_k=row.leaving_water_k + 14.0, discharge_line_k=None)
    assert "leaving_water_beyond_saturation" in codes(judge(hot))


def test_a_head_pressure_valve_without_a_flow_reading_leaves_no_verdict():
    facts = replace(FACTS, head_pressure_valve=True)
    row = replace(reading(5e-4), water_flow_kg_per_s=None, water_pressure_drop_pa=None)
    answer = judge(row, facts=facts)
    assert "head_pressure_valve" in codes(answer)
    assert answer.verdict == "undecided"
    assert judge(reading(5e-4), facts=facts).verdict == "fouled"


def test_what_was_not_read_is_named_and_widens_the_answer():
    full, bare = reading(2e-4), replace(reading(2e-4), liquid_line_k=None, discharge_line_k=None)
    spans = [judge(row).fouling_resistance_m2k_per_w for row in (full, bare)]
    assert spans[1].high - spans[1].low > 1.3 * (spans[0].high - spans[0].low)
    assert {"liquid_line_missing", "discharge_line_missing"} <= codes(judge(bare))


def test_no_gauges_gives_a_wider_answer_from_the_line_temperatures():
    row = replace(reading(2e-4), head_pressure_pa=None, suction_pressure_pa=None)
    answer = judge(row)
    span = answer.fouling_resistance_m2k_per_w
    assert span.low < 2e-4 < span.high
    assert "head_pressure_missing" in codes(answer)
    assert answer.decides_next == "head_pressure"
    assert answer.do_next.startswith(
        "Connect gauges and read the head pressure: the interval would narrow to about"
    )


@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
def test_power_alone_stands_in_for_gauges_with_a_wide_answer(point):
    past = history(clean(point=point), clean(20.0, point=point))
    row = reading(3e-4, point)
    bare = replace(row, **{**WATER_ONLY, "compressor_power_w": row.compressor_power_w})
    span, full = (judge(one, past).fouling_resistance_m2k_per_w for one in (bare, row))
    assert span.low < 3e-4 < span.high
    assert span.high - span.low > 3 * (full.high - full.low)


def test_neither_gauges_nor_line_temperatures_withhold_and_say_what_to_connect():
    row = replace(reading(2e-4), **WATER_ONLY)
    answer = judge(row)
    assert answer.fouling_resistance_m2k_per_w is None
    assert answer.heat_w.low < 12_500 < answer.heat_w.high
    assert answer.water_flow_kg_per_s.low < 0.55 < answer.water_flow_kg_per_s.high
    assert answer.do_next.startswith("Connect gauges, or clamp a thermometer on the liquid line")
    assert "no_gauges" in codes(answer)
    assert "connect gauges" in " ".join(warning.text for warning in answer.warnings)


def test_no_flow_at_all_is_withheld_and_a_design_flow_is_assumed_with_its_width():
    row = replace(
        reading(2e-4), water_flow_kg_per_s=None, water_pressure_drop_pa=None, compressor_power_w=None
    )
    assumed = judge(row)
    assert "flow_assumed_design" in codes(assumed)
    span, full = assumed.fouling_resistance_m2k_per_w, judge(reading(2e-4)).fouling_resistance_m2k_per_w
    assert span.high - span.low > full.high - full.low
    bare = judge(row, history(), replace(FACTS, design_flow_m3_per_s=None))
    assert "no_flow" in codes(bare) and bare.decides_next == "water_flow"
    assert bare.do_next.startswith("Read the water flow: it was not read")


def test_a_value_that_parses_never_breaks_the_engine():
    for changes in (
        {"water_flow_kg_per_s": 0.0},
        {"water_flow_kg_per_s": -1.0},
        {"water_flow_kg_per_s": 1e9},
        {"compressor_power_w": -5.0},
        {"compressor_power_w": 0.0},
        {"discharge_line_k": 1000.0},
        {"liquid_line_k": 3.0},
        {"suction_line_k": 900.0},
        {"water_pressure_drop_pa": -3.0},
        {"entering_water_k": 500.0, "leaving_water_k": 505.0},
        {"entering_water_k": 1.0, "leaving_water_k": 2.0},
        {"head_pressure_pa": 1e-9},
        {"head_pressure_pa": 1e12},
    ):
        answer = judge(cooling(**changes))
        assert answer.verdict in {"fouled", "clean", "undecided"}, changes
        assert answer.do_next


def test_the_point_of_the_case_is_a_plain_one():
    assert COOLING.mode == "cooling"
    assert judge(reading(0.0)).verdict == "clean"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"leaving_water_k": 0.5}, "leaving_water went from"),
        ({"head_pressure_pa": 60_000.0}, "head_pressure went from"),
    ],
)
def test_a_second_set_minutes_apart_that_disagrees_withholds_the_number(changes, words):
    row = reading(0.0)
    moved = {name: getattr(row, name) - step for name, step in changes.items()}
    earlier = replace(row, taken_at=row.taken_at - timedelta(minutes=4), **moved)
    answer = judge(row, history(*TWO_CLEAN.readings, earlier))
    assert "not_steady" in codes(answer)
    assert words in " ".join(warning.text for warning in answer.warnings)


def test_a_second_set_that_agrees_or_is_from_another_hour_changes_nothing():
    row = reading(0.0)
    agreeing = replace(row, taken_at=row.taken_at - timedelta(minutes=4))
    old = replace(row, taken_at=row.taken_at - timedelta(hours=2), leaving_water_k=row.leaving_water_k + 2.0)
    assert judge(row, history(*TWO_CLEAN.readings, agreeing, old)) == judge(row)
