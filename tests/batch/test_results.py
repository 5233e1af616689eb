"""Results: the promised keys, in the file's order, JSON that any reader takes."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import numpy as np
import pytest

from diagnostics.engine.records import Assessment, Interval, Limit, ReferenceUsed, Warning
from tests.batch.desk import HEADER, ROW, UNITS, Desk, stand_in

PROMISED = [
    "line",
    "unit",
    "taken_at",
    "mode",
    "water_flow_kg_per_s",
    "heat_w",
    "ua_w_per_k",
    "excess_approach_k",
    "cleanliness",
    "fouling_resistance_m2k_per_w",
    "fouling_resistance_k_per_w",
    "probability_over_limit",
    "limit",
    "verdict",
    "reference",
    "decides_next",
    "do_next",
    "warnings",
]


def changed(**fields: Any) -> Any:
    def assess(*args: Any, **settings: Any) -> Assessment:
        return dataclasses.replace(stand_in(*args, **settings), **fields)

    return assess


def test_the_promised_keys_come_first_and_further_ones_follow(desk: Desk) -> None:
    result = desk.run().results[0]
    assert list(result)[: len(PROMISED)] == PROMISED
    assert result["superheat_k"] == 5.0
    assert set(result) - set(PROMISED) == {"superheat_k", "engine_version", "inputs_digest"}


def test_line_unit_time_and_mode_are_those_of_the_row(desk: Desk) -> None:
    result = desk.run().results[0]
    assert [result[key] for key in PROMISED[:4]] == [2, "HP-1", "2025-06-30T14:05", "cooling"]


def test_intervals_limit_reference_and_warnings_have_their_keys(desk: Desk) -> None:
    assess = changed(
        heat_w=Interval(3.0, 1.0, 5.0),
        limit=Limit(1.76e-4, "m2K/W", "as entered"),
        reference=(ReferenceUsed("clean_reference", "2024-05-01"), ReferenceUsed("geometry")),
        warnings=(Warning("area_unknown", "No area."),),
    )
    result = desk.run(assess=assess).results[0]
    assert result["heat_w"] == {"value": 3.0, "low": 1.0, "high": 5.0}
    assert result["ua_w_per_k"] is None
    assert result["limit"] == {"value": 1.76e-4, "unit": "m2K/W", "source": "as entered"}
    assert result["reference"] == [
        {"kind": "clean_reference", "taken_at": "2024-05-01"},
        {"kind": "geometry", "taken_at": None},
    ]
    assert result["warnings"] == [{"code": "area_unknown", "text": "No area."}]


def test_results_come_in_the_files_order(desk: Desk) -> None:
    rows = "".join(f"HP-1,2025-01-{day:02},cooling\n" for day in (9, 3, 7, 1))
    outcome = desk.run(f"{HEADER}\n{rows}")
    assert [result["line"] for result in outcome.results] == [2, 3, 4, 5]
    assert [result["taken_at"][-1] for result in outcome.results] == ["9", "3", "7", "1"]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_never_come_out(desk: Desk, bad: float) -> None:
    more = {
        "a_k": bad,
        "b": np.float64(bad),
        "c": np.array([1.0, bad]),
        "d": {"e": [bad, 2]},
        "f": np.int64(3),
    }
    outcome = desk.run(assess=changed(heat_w=Interval(bad, 1.0, 2.0), probability_over_limit=bad, more=more))
    result = outcome.results[0]
    assert result["heat_w"] is None and result["probability_over_limit"] is None
    assert [result[key] for key in "bcdf"] == [None, [1.0, None], {"e": [None, 2]}, 3]
    assert "heat_w came out beyond" in result["warnings"][-1]["text"]


def test_a_further_key_never_hides_a_promised_one(desk: Desk) -> None:
    result = desk.run(assess=changed(more={"line": 99, "verdict": "fouled"})).results[0]
    assert (result["line"], result["verdict"]) == (2, "undecided")


def test_each_result_is_one_line_of_ascii(desk: Desk) -> None:
    unit = "Süd\u2028wing"
    out = desk.folder / "out.jsonl"
    readings = f"{HEADER}\n{ROW.replace('HP-1', unit)}\n"
    desk.run(readings, UNITS.replace("HP-1", unit), out=str(out))
    data = out.read_bytes()
    assert data.isascii() and data.count(b"\n") == 1
    assert json.loads(data)["unit"] == unit


def test_a_row_that_the_engine_cannot_bear_is_withheld_and_the_others_run(desk: Desk) -> None:
    def assess(facts: Any, reading: Any, history: Any, **settings: Any) -> Assessment:
        if reading.mode == "heating":
            raise ZeroDivisionError("float division by zero")
        return stand_in(facts, reading, history, **settings)

    outcome = desk.run(f"{HEADER}\n{ROW}\nHP-1,2025-06-30,heating\n{ROW}\n", assess=assess)
    assert outcome.code == 0
    withheld = outcome.results[1]
    assert [result["line"] for result in outcome.results] == [2, 3, 4]
    assert all(withheld[key] is None for key in PROMISED[4:13])
    assert (withheld["verdict"], withheld["reference"]) == ("undecided", [])
    assert withheld["warnings"][0]["code"] == "not_computed"
    assert outcome.error == (
        "readings.csv:3: warning: the computation failed: ZeroDivisionError: float division by zero"
    )


def test_a_failure_that_speaks_of_the_inputs_is_told_in_the_result_only(desk: Desk) -> None:
    def assess(*args: Any, **settings: Any) -> Assessment:
        raise ValueError("methanol without a fraction; expected 0 to 0.6 by mass")

    outcome = desk.run(assess=assess)
    assert (outcome.code, outcome.errors) == (0, [])
    assert "methanol without a fraction" in outcome.results[0]["warnings"][0]["text"]


def test_a_failure_names_what_is_not_above_zero(desk: Desk) -> None:
    def fails(*args: Any, **settings: Any) -> Assessment:
        raise ValueError("math domain error")

    units = "unit,refrigerant,exchanger,area [m^2],elevation [m]\nHP-1,R410A,coaxial,0,-5\n"
    outcome = desk.run(f"{HEADER},water_flow [kg/s]\n{ROW},-1\n", units, assess=fails)
    text = outcome.results[0]["warnings"][0]["text"]
    assert "area is 0 (in SI), water_flow is -1 (in SI); expected above 0" in text


def test_draws_and_instruments_reach_the_engine(desk: Desk) -> None:
    outcome = desk.run(draws=5000, instruments="reading,repeating,random\nhead_pressure,2 %,1 %\n")
    settings = outcome.seen.calls[0][3]
    assert settings["draws"] == 5000
    assert [one.reading for one in settings["instruments"]] == ["head_pressure"]
    assert desk.run().seen.calls[0][3] == {"draws": 20_000, "instruments": None}
