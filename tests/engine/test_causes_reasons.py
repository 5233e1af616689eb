"""Reasons: absurd readings, what a deposit does by an unknown amount, what no reading tells apart."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from diagnostics.engine.causes import Findings, rank
from diagnostics.engine.causes.reasons import Line, as_words, reasons_of, share
from diagnostics.engine.causes.weighing import Weighed
from tests.engine.causes_case import HEAT_PUMP, read_with

ABSURD = [
    {"water_flow_kg_per_s": 1e300},
    {"water_flow_kg_per_s": 1e-300},
    {"water_pressure_drop_pa": 1e250},
    {"compressor_power_w": 1e200},
    {"compressor_power_w": 1e-200},
    {"head_pressure_pa": 9e30},
    {"suction_pressure_pa": 1e-30},
    {"leaving_water_k": 1e12},
    {"liquid_line_k": 2.0},
    {"discharge_line_k": 1e9},
    {"water_flow_kg_per_s": 1e300, "water_pressure_drop_pa": 1e-300, "compressor_power_w": 1e300},
]


@pytest.mark.parametrize("typed", ABSURD)
def test_readings_of_absurd_size_are_told_without_a_warning_of_the_arithmetic(typed):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = rank(HEAT_PUMP, read_with("nothing_wrong", **typed))
    assert found.why_not_chemical
    assert all(np.isfinite(one["probability"]) for one in found.causes)
    assert "inf" not in str(found.causes) and "nan" not in str(found.causes)


@pytest.mark.parametrize(
    ("ln_value", "said"),
    [
        (0.0, "100 %"),
        (1000.0, "more than 1000 times"),
        (-1e6, "less than a thousandth"),
        (np.log(0.5), "50 %"),
    ],
)
def test_a_share_is_told_as_far_as_its_size_tells_anything(ln_value, said):
    assert share(ln_value) == said


def weighed(shift: float, own: float) -> Weighed:
    return Weighed(("exchanger_fouled",), 0.1, 0.0, 0.4, np.array([shift]), 2.0, np.array([[own**2]]))


def reason(shift: float, own: float) -> str:
    line = Line("flow", np.array([1.0]), 0.0, 0.0, 0.04)
    read = read_with("exchanger_fouled", strainer=None, back_flush=None)
    told = reasons_of(weighed(shift, own), [line], HEAT_PUMP, read, Findings())
    return told[0] if told else ""


def test_flow_that_did_not_fall_says_less_against_a_deposit_than_against_a_shut_valve():
    """By hand, z of full flow where -14 % is expected, known to 4 %: 0.15 / 0.04 = 3.7, gain -7; a deposit of
    unknown thickness moves it by -14 % give or take 10 %: 0.15 / 0.113 = 1.3, gain -0.9 - ln(2.8) = -1.9."""
    sure, doubted = reason(-0.15, 0.0), reason(-0.15, 0.7 * 0.15)
    assert sure.startswith("against: flow 100 %") and sure.endswith("would move it by -14 %")
    assert doubted.endswith("would move it by -14 %, anything from -30 % to +6 %")
    assert (
        reason(-0.04, 0.0)
        == "against: "
        + as_words(Line("flow", np.array([1.0]), 0.0, 0.0, 0.04), HEAT_PUMP)
        + "; this cause would move it by -4 %"
    )


def test_low_flow_by_the_system_and_by_the_units_own_valve_are_said_to_be_alike():
    for cause in ("water_flow_low", "flow_control_fault"):
        read = read_with(cause, strainer="clean")
        found = rank(HEAT_PUMP, read)
        apart = next(
            one
            for one in found.cannot_tell_apart
            if one["causes"] == ["water_flow_low", "flow_control_fault"]
        )
        assert apart["check"] == "look_at_flow_control" and "cartridge" in apart["words"]
        for name in apart["causes"]:
            told = next(one for one in found.causes if one["cause"] == name)
            assert any(reason.startswith("alike: ") for reason in told["reasons"])
    looked = rank(HEAT_PUMP, read, findings=Findings({"look_at_flow_control": "right"}))
    assert ["water_flow_low", "flow_control_fault"] not in [one["causes"] for one in looked.cannot_tell_apart]


def test_a_wrong_reading_has_its_reason_in_numbers():
    read = replace(
        read_with("nothing_wrong"), head_pressure_pa=read_with("nothing_wrong").head_pressure_pa * 1.25
    )
    found = rank(HEAT_PUMP, read)
    told = next(one for one in found.causes if one["cause"] == "bad_reading")
    assert found.causes[0]["cause"] == "bad_reading"
    assert any("head pressure" in reason for reason in told["reasons"])


def test_a_wrong_reading_is_named_in_its_reason_and_in_the_step():
    read = read_with("nothing_wrong")
    found = rank(HEAT_PUMP, replace(read, liquid_line_k=read.liquid_line_k - 14.0, strainer="clean"))
    told = next(one for one in found.causes if one["cause"] == "bad_reading")
    assert found.causes[0] == told
    assert told["reasons"][0] == "for: without the liquid line temperature the rest fits a sound unit best"
    assert "the liquid line temperature" in found.do_next


def test_a_wrong_record_is_named_with_what_would_fit():
    facts = replace(HEAT_PUMP, design_flow_m3_per_s=2.0 * 5.4e-4)
    found = rank(facts, replace(read_with("nothing_wrong"), water_flow_kg_per_s=0.54))
    told = next(one for one in found.causes if one["cause"] == "bad_record")
    assert told["probability"] > 0.1
    assert told["reasons"][0].startswith(
        "for: the design flow on record may be wrong: a design flow of about 0."
    )
