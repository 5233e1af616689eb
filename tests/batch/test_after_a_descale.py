"""Rows after a descale, held against the row before it: something removed, nothing removed, nothing to hold
against.

The fouling that went into the example's readings is known: 4.0e-4 m2K/W before, 0.2e-4 after (the forward
model that made them, see test_example.py).
"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from diagnostics.batch.run import Job, run

FILES = Path(__file__).resolve().parents[2] / "fixtures" / "batch"
UNIT, BEFORE, AFTER = "HR-HP-01", "2025-07-15T10:00", "2025-07-15T16:00"
GONE = 4.0e-4 - 0.2e-4
ROUTE = {"strainer": "clean", "back_flush": "no_change"}
"""The checks that come before acid, done."""


def assessed(folder: Path, change: Any = None, **job: Any) -> dict[str, dict[str, Any]]:
    """Results of the example's descaled unit by time, its rows changed as told."""
    with open(FILES / "readings.csv", newline="", encoding="utf-8") as file:
        rows = {row["taken_at"]: row for row in csv.DictReader(file) if row["unit"] == UNIT}
    for row in rows.values():
        row["back_flush"] = ""
    if change is not None:
        change(rows)
    readings = folder / "readings.csv"
    with open(readings, "w", newline="", encoding="utf-8") as file:
        table = csv.DictWriter(file, list(next(iter(rows.values()))))
        table.writeheader()
        table.writerows(rows.values())
    named = {"tables": FILES / "tables.csv", "events": FILES / "events.csv", "units": FILES / "units.csv"}
    files = {name: str(job.pop(name, path)) for name, path in named.items()}
    output, errors = io.StringIO(), io.StringIO()
    run(
        Job(**files, readings=str(readings), draws=4000, signatures=str(folder / "kept"), **job),
        output,
        errors,
    )
    return {row["taken_at"]: row for row in map(json.loads, output.getvalue().splitlines())}


def in_vain(rows: dict[str, dict[str, str]]) -> None:
    """The checks before acid are done, and after the descale the same is read as before."""
    rows[BEFORE].update(ROUTE)
    rows[AFTER] = {**rows[BEFORE], "taken_at": AFTER, "purpose": "after_descale"}


def said(row: dict[str, Any]) -> list[str]:
    return [one["text"] for one in row["warnings"] if one["code"] == "removed"]


def width(interval: dict[str, float]) -> float:
    return interval["high"] - interval["low"]


@pytest.fixture(scope="module")
def removed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    return assessed(tmp_path_factory.mktemp("removed"))


@pytest.fixture(scope="module")
def vain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    return assessed(tmp_path_factory.mktemp("vain"), in_vain)


def test_what_was_removed_is_told_narrower_than_the_two_values_apart(removed):
    gone = removed[AFTER]["removed"]
    assert 0 < gone["low"] < GONE < gone["high"] and gone["unit"] == "m2K/W"
    apart = sum(width(removed[at]["fouling_resistance_m2k_per_w"]) ** 2 for at in (BEFORE, AFTER)) ** 0.5
    assert width(gone) < 0.8 * apart
    (words,) = said(removed[AFTER])
    assert f"{gone['value']:.2g} m2K/W" in words and "nothing" not in words
    assert removed[AFTER]["reopened"] is None


def test_other_rows_tell_nothing_of_a_removal(removed):
    for at, row in removed.items():
        if at != AFTER:
            assert row["removed"] is None and said(row) == [] and row["reopened"] is None


def test_a_descale_that_changed_nothing_reopens_the_question_and_asks_for_no_acid(vain):
    after = vain[AFTER]
    assert after["removed"]["low"] <= 0 <= after["removed"]["high"]
    assert "the descale changed nothing" in said(after)[0]
    assert "scale was probably not the cause" in after["reopened"]
    assert after["why_not_chemical"].startswith("Not acid again")
    assert after["do_next"].startswith("The question is open again")
    assert "Chemical work is reasonable" not in after["do_next"]


def test_the_same_readings_before_the_descale_did_propose_acid(vain):
    before = vain[BEFORE]
    assert before["why_not_chemical"] is None and "Chemical work is reasonable" in before["do_next"]
    chance = [{one["cause"]: one["probability"] for one in vain[at]["causes"]} for at in (BEFORE, AFTER)]
    assert chance[1]["exchanger_fouled"] < chance[0]["exchanger_fouled"]


def test_without_an_area_it_is_in_kelvin_per_watt_and_needs_no_causes(tmp_path):
    units = tmp_path / "units.csv"
    units.write_text(f"unit,refrigerant,exchanger\n{UNIT},R410A,coaxial\n")
    row = assessed(tmp_path, units=units, causes=False)[AFTER]
    assert row["fouling_resistance_m2k_per_w"] is None
    assert row["removed"]["unit"] == "K/W" and row["removed"]["low"] > 0
    assert "causes" not in row


@pytest.mark.parametrize(
    "column, cell", [("mode", "heating"), ("taken_at", "2025-01-15T10:00"), ("purpose", "routine")]
)
def test_a_row_of_another_mode_time_or_purpose_is_no_row_before_it(tmp_path, column, cell):
    def other(rows: dict[str, dict[str, str]]) -> None:
        rows[BEFORE][column] = cell

    row = assessed(tmp_path, other, causes=False)[AFTER]
    assert row["removed"] is None and said(row) == []


def test_an_exchanger_replaced_between_leaves_nothing_to_compare(tmp_path):
    events = tmp_path / "events.csv"
    events.write_text(f"unit,at,what\n{UNIT},2025-07-15T12:00,exchanger_replaced\n")
    assert assessed(tmp_path, events=events, causes=False)[AFTER]["removed"] is None


def test_a_row_before_that_contradicts_itself_withholds_what_was_removed(tmp_path):
    def crossed(rows: dict[str, dict[str, str]]) -> None:
        rows[BEFORE]["leaving_water [degF]"] = "70"  # colder than it entered, though cooling

    row = assessed(tmp_path, crossed, causes=False)[AFTER]
    assert row["removed"] is None and said(row)[0].startswith("What the descale removed is not told: ")
    assert row["fouling_resistance_m2k_per_w"] is not None
