"""Readings and entries of the register that can't be are named, and no number of absurd size comes out."""

from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from diagnostics.engine.assessment import assess
from diagnostics.engine.entries import name_of
from tests.engine.case import FACTS, TWO_CLEAN, clean, codes, history, reading


def judge(row, facts=FACTS, past=TWO_CLEAN):
    return assess(facts, row, past, draws=2000)


def said(answer, code):
    return " ".join(warning.text for warning in answer.warnings if warning.code == code)


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_a_flow_at_or_below_zero_withholds_the_number_and_names_the_meter(value):
    answer = judge(replace(reading(0.0), water_flow_kg_per_s=value))
    assert answer.fouling_resistance_k_per_w is None
    assert answer.verdict == "undecided"
    assert f"{value:g} kg/s" in said(answer, "water_flow_not_above_zero")
    assert answer.decides_next == "water_flow"


@pytest.mark.parametrize("value", [1e-30, 1e-4, 55.0, 1e30])
def test_a_flow_of_another_size_than_any_of_this_unit_is_a_slip(value):
    answer = judge(replace(reading(0.0), water_flow_kg_per_s=value))
    assert answer.fouling_resistance_k_per_w is None
    assert "check the unit" in said(answer, "water_flow_out_of_range")


def test_a_flow_four_times_the_design_is_judged_with_a_word_about_its_unit():
    answer = judge(replace(reading(0.0), water_flow_kg_per_s=1.6))
    assert "times the design flow" in said(answer, "water_flow_far_from_design")
    assert answer.fouling_resistance_k_per_w is not None


@pytest.mark.parametrize("value", [0.0, -500.0])
def test_a_pressure_drop_at_or_below_zero_is_set_aside_beside_a_meter(value):
    row = replace(reading(0.0), water_pressure_drop_pa=value)
    answer = judge(row)
    plain = judge(replace(row, water_pressure_drop_pa=None))
    assert f"{value:g} Pa" in said(answer, "water_pressure_drop_not_above_zero")
    assert answer.water_flow_kg_per_s.value == pytest.approx(plain.water_flow_kg_per_s.value, rel=0.01)


def test_without_a_meter_a_pressure_drop_of_zero_withholds_the_number():
    answer = judge(replace(reading(0.0), water_pressure_drop_pa=0.0, water_flow_kg_per_s=None))
    assert answer.fouling_resistance_k_per_w is None
    assert answer.decides_next == "water_pressure_drop"


@pytest.mark.parametrize(
    ("field", "value"),
    [("compressor_power_w", 0.0), ("compressor_power_w", -5.0), ("amps_a", 0.0), ("power_factor", 1.2)],
)
def test_power_that_can_not_be_is_named_and_not_used(field, value):
    answer = judge(replace(reading(0.0), **{field: value}))
    code = field.rsplit("_", 1)[0] if field != "power_factor" else field
    assert f"{value:g}" in said(answer, f"{code}_out_of_range")
    assert answer.fouling_resistance_k_per_w is not None


@pytest.mark.parametrize("value", [0.0, -1.0, 1e-30, 1e30])
@pytest.mark.parametrize(
    "field",
    ["area_m2", "design_flow_m3_per_s", "design_pressure_drop_pa", "pressure_drop_exponent", "capacity_w"],
)
def test_an_entry_of_the_register_that_can_not_be_is_set_aside_and_said(field, value):
    answer = judge(reading(0.0), replace(FACTS, **{field: value}))
    without = judge(reading(0.0), replace(FACTS, **{field: None}))
    assert "right would be" in said(answer, f"{name_of(field)}_not_usable")
    assert answer.fouling_resistance_k_per_w.value == pytest.approx(
        without.fouling_resistance_k_per_w.value, abs=2e-5
    )


@pytest.mark.parametrize(
    ("antifreeze", "fraction", "code"),
    [
        ("propylene_glycol", -0.1, "antifreeze_fraction_out_of_range"),
        ("propylene_glycol", 30.0, "antifreeze_fraction_out_of_range"),
        ("propylene_glycol", None, "antifreeze_fraction_missing"),
        ("none", 0.3, "antifreeze_not_named"),
    ],
)
def test_an_antifreeze_that_has_no_properties_withholds_the_number(antifreeze, fraction, code):
    facts = replace(FACTS, antifreeze=antifreeze, antifreeze_fraction=fraction)
    answer = judge(reading(0.0), facts)
    assert answer.fouling_resistance_k_per_w is None
    assert code in codes(answer)
    assert "antifreeze" in answer.do_next


@pytest.mark.parametrize(
    ("fraction", "said_of_it"),
    [(1.4, "1.4, that is 140 %: check what was entered"), (30.0, "if 30 % was meant, enter 0.3")],
)
def test_a_strength_that_cannot_be_is_told_as_entered_and_sends_to_the_record(fraction, said_of_it):
    answer = judge(reading(0.0), replace(FACTS, antifreeze="methanol", antifreeze_fraction=fraction))
    assert said_of_it in said(answer, "antifreeze_fraction_out_of_range")
    assert answer.do_next.startswith("Check what was entered for antifreeze")
    assert answer.decides_next is None


def test_an_absurd_pressure_is_told_by_its_size_and_not_by_thirty_digits():
    answer = judge(replace(reading(0.0), head_pressure_pa=1e33))
    assert "head_pressure 1.0e+30 kPa absolute" in said(answer, "head_pressure_out_of_range")


def test_a_loop_that_is_coldest_above_its_warmest_is_set_aside():
    answer = judge(reading(0.0), replace(FACTS, loop_low_k=310.0, loop_high_k=290.0))
    assert {"loop_low_not_usable", "loop_high_not_usable"} <= codes(answer)


def test_a_clean_visit_without_flow_is_no_reference():
    past = history(clean(0.0), replace(clean(20.0), water_flow_kg_per_s=0.0))
    answer = judge(reading(0.0), past=past)
    assert "water_flow is 0" in said(answer, "reference_not_usable")


def test_the_digest_does_not_know_the_line_of_the_file():
    one, other = (judge(replace(reading(0.0), line=line)) for line in (2, 9))
    assert one.inputs_digest == other.inputs_digest
    assert one.fouling_resistance_k_per_w == other.fouling_resistance_k_per_w
    assert (one.line, other.line) == (2, 9)


FIELDS = [
    "water_flow_kg_per_s",
    "water_pressure_drop_pa",
    "compressor_power_w",
    "head_pressure_pa",
    "suction_pressure_pa",
    "leaving_water_k",
    "liquid_line_k",
    "discharge_line_k",
]


@settings(max_examples=60, deadline=None)
@given(field=st.sampled_from(FIELDS), factor=st.floats(-1e6, 1e6, allow_nan=False))
@example(field="compressor_power_w", factor=6e-8)
@example(field="compressor_power_w", factor=1e-2)
def test_no_single_slip_of_any_size_gives_an_absurd_number(field, factor):
    row = reading(0.0)
    answer = judge(replace(row, **{field: getattr(row, field) * factor}))
    told = answer.fouling_resistance_m2k_per_w
    assert told is None or abs(told.value) < 0.1
    assert told is not None or answer.warnings
