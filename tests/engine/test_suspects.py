"""Refrigerant and water that do not close: which reading to look at first."""

from dataclasses import replace

import numpy as np
import pytest

from diagnostics.engine.assessment import assess
from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.uncertainty import instrument_table
from tests.engine.case import COOLING, FACTS, HEATING, LIMIT, TWO_CLEAN, clean, history, reading


def judge(row, past=None):
    point = COOLING if row.mode == "cooling" else HEATING
    known = history(clean(point=point), clean(20.0, point=point, flow=0.8)) if past is None else past
    return assess(FACTS, row, known, draws=1000)


def named(answer):
    return next((warning.text for warning in answer.warnings if warning.code == "reading_suspect"), "")


def off(row, field, change):
    value = getattr(row, field)
    return replace(row, **{field: value + change if field.endswith("_k") else value * change})


@pytest.mark.parametrize("point", [COOLING, HEATING], ids=["cooling", "heating"])
@pytest.mark.parametrize(
    ("field", "change", "column"),
    [
        ("compressor_power_w", 1.4, "compressor_power"),
        ("compressor_power_w", 0.65, "compressor_power"),
        ("discharge_line_k", 12.0, "discharge_line"),
        ("suction_line_k", 12.0, "suction_line"),
        ("water_flow_kg_per_s", 1.4, "water_flow"),
    ],
)
def test_the_reading_that_errs_is_named_with_what_would_fit(point, field, change, column):
    true = reading(0.0, point)
    text = named(judge(off(true, field, change)))
    assert f"agree without {column} (" in text
    assert " or " not in text
    assert "would fit" in text


def test_a_water_temperature_is_named_but_not_which_of_the_two():
    text = named(judge(off(reading(0.0), "leaving_water_k", 1.6)))
    assert "leaving_water (37.0 degC was read" in text
    assert "entering_water (30.0 degC was read" in text
    assert "compressor_power" not in text and "discharge_line" not in text


def test_a_liquid_line_far_off_is_named_where_it_moves_the_heat():
    text = named(judge(off(reading(0.0, HEATING), "liquid_line_k", -25.0)))
    assert "agree without liquid_line (" in text


def test_no_verdict_rests_on_a_suspect_and_the_charge_is_not_blamed_for_it():
    answer = judge(off(reading(4 * LIMIT), "suction_line_k", 14.0))
    assert answer.verdict == "undecided"
    assert "charge_moved" not in {warning.code for warning in answer.warnings}
    assert answer.do_next.startswith("Read the suction line temperature again")


def test_a_power_that_errs_does_not_stop_the_verdict():
    answer = judge(off(reading(4 * LIMIT), "compressor_power_w", 1.6))
    assert "compressor_power (" in named(answer)
    assert answer.verdict == "fouled"


def test_what_fits_is_near_the_truth():
    true = reading(0.0)
    text = named(judge(off(true, "compressor_power_w", 1.4)))
    fits = float(text.split("about ")[1].split(" kW")[0])
    assert fits == pytest.approx(true.compressor_power_w / 1000, rel=0.05)


def test_without_clean_visits_the_compressor_is_not_known_and_more_are_named():
    text = named(judge(off(reading(0.0), "compressor_power_w", 1.4), history()))
    assert "compressor_power (" in text and "leaving_water (" in text


def test_amps_are_named_where_no_power_meter_was_read():
    row = reading(0.0)
    amps = row.compressor_power_w / (3**0.5 * 400 * 0.85)
    electric = {"compressor_power_w": None, "volts_v": 400.0, "phases": 3, "power_factor": 0.85}
    text = named(judge(replace(row, amps_a=1.5 * amps, **electric)))
    assert "amps (" in text


def test_a_bore_that_scale_narrowed_is_no_suspect_reading():
    row = reading(0.0)
    answer = judge(replace(row, water_pressure_drop_pa=2.2 * row.water_pressure_drop_pa))
    assert any(warning.code == "flow_sources_disagree" for warning in answer.warnings)
    assert named(answer) == ""


@pytest.mark.parametrize("truth", [0.0, 2 * LIMIT])
def test_readings_with_nothing_but_their_usual_errors_are_hardly_ever_suspected(truth):
    instruments, false = instrument_table(), 0
    for seed in range(60):
        rng = np.random.default_rng([11, seed])
        repeating = draw_repeating_errors(instruments, rng)
        rows = [
            with_instrument_noise(row, instruments, rng, repeating)
            for row in (*TWO_CLEAN.readings, reading(truth))
        ]
        false += named(assess(FACTS, rows[-1], history(*rows[:-1]), draws=200)) != ""
    assert false <= 2


@pytest.mark.parametrize("factor", [0.7, 1.4])
def test_closure_is_told_in_standard_uncertainties(factor):
    row = reading(0.0)
    right, wrong = (
        judge(one).more["heat_closure_z"] for one in (row, off(row, "compressor_power_w", factor))
    )
    assert abs(right) < 0.7
    assert abs(wrong) > 2.6 and (wrong > 0) == (factor > 1)


def test_no_closure_is_told_where_the_refrigerant_side_was_not_read():
    assert judge(replace(reading(0.0), discharge_line_k=None)).more["heat_closure_z"] is None
