"""The instruments file: accuracies in place of the defaults, in per cent or in a unit."""

from __future__ import annotations

import csv
import io

import pytest
from pytest import approx

from diagnostics.batch.instruments import print_instruments, read_instruments
from diagnostics.engine.records import InstrumentAccuracy
from diagnostics.engine.uncertainty import DEFAULT_INSTRUMENTS
from tests.batch.desk import Desk

HEAD = "reading,repeating,random"


def stated(desk: Desk, text: str) -> InstrumentAccuracy:
    (one,), notes = read_instruments(desk.write("instruments.csv", text))
    assert notes == []
    return one


def fault(desk: Desk, text: str) -> str:
    outcome = desk.run(instruments=text)
    assert outcome.code == 2
    assert outcome.results == []
    return outcome.error


@pytest.mark.parametrize(
    ("text", "repeating", "random", "relative"),
    [
        # 1 psi = 6894.757 Pa, 1 Fahrenheit degree = 5/9 K: NIST SP 811.
        (f"{HEAD}\nentering_water,0.5 K,0.2 K\n", 0.5, 0.2, False),
        (f"{HEAD}\nentering_water,0.5,0.2\n", 0.5, 0.2, False),
        (f"{HEAD}\nentering_water,0.9 delta_degF,0.36delta_degF\n", 0.5, 0.2, False),
        (f"{HEAD}\nhead_pressure,2 %,1%\n", 0.02, 0.01, True),
        (f"{HEAD}\nhead_pressure,2,1\n", 0.02, 0.01, True),
        (f"{HEAD}\nhead_pressure,5 psi,2 psi\n", 34473.785, 13789.514, False),
        (f"{HEAD}\nwater_flow,5 %,2.5 %\n", 0.05, 0.025, True),
        ("reading,repeating [psi],random [psi]\nhead_pressure,5,2\n", 34473.785, 13789.514, False),
        ("reading,repeating [%],random [%]\nwater_flow,5,2\n", 0.05, 0.02, True),
        (f"{HEAD},unit\nsuction_pressure,5,2,kPa\n", 5000.0, 2000.0, False),
        (f"{HEAD}\ncompressor_power,0.1 kW,50 W\n", 100.0, 50.0, False),
        (f"{HEAD}\npower_factor,0.03,0.01\n", 0.03, 0.01, False),
        (f"{HEAD}\nentering_water,0,0\n", 0.0, 0.0, False),
    ],
)
def test_limits_in_per_cent_or_in_a_unit(
    desk: Desk, text: str, repeating: float, random: float, relative: bool
) -> None:
    one = stated(desk, text)
    assert (one.repeating, one.random) == (approx(repeating), approx(random))
    assert one.relative is relative


def test_distribution_and_source_may_be_stated(desk: Desk) -> None:
    one = stated(desk, f"{HEAD},distribution,source\nvolts,1 %,1 %,normal,certificate 12\n")
    assert (one.distribution, one.source) == ("normal", "certificate 12")
    assert stated(desk, f"{HEAD}\nvolts,1 %,1 %\n").distribution == "rectangular"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("humidity,1 %,1 %", "reading: 'humidity': not a word known here; expected entering_water, "),
        ("volts,much,1 %", "repeating: 'much': not a number; expected a limit of error, as in 0.2 K or 3 %"),
        ("volts,-1 %,1 %", "repeating: '-1 %': negative"),
        ("volts,1 %,", "random: '': blank"),
        (
            "volts,1 %,2 V",
            "random: '2 V': one part in % and one not; expected both parts in % or both in a unit",
        ),
        ("volts,1 bar,1 bar", "repeating: '1 bar': not a unit of voltage"),
        ("entering_water,1 degF,1 degF", "a temperature, not a difference; expected delta_degF"),
        ("head_pressure,5 psig,5 psig", "neither gauge nor absolute"),
        ("water_flow,1 gpm,1 gpm", "repeating: '1 gpm': in gpm; expected per cent of the reading, as in 3 %"),
        ('volts,"0,5 %",1 %', "decimal comma"),
        ("volts,inf %,1 %", "not a number"),
        ("volts,1e999 %,1 %", "too large"),
    ],
)
def test_a_bad_row_runs_nothing_since_it_would_touch_every_result(desk: Desk, row: str, said: str) -> None:
    error = fault(desk, f"{HEAD}\n{row}\n")
    assert error.startswith("instruments.csv:2: ")
    assert said in error


def test_a_reading_stated_twice_runs_nothing(desk: Desk) -> None:
    assert "instruments.csv:3: reading: 'volts': stated twice" in fault(
        desk, f"{HEAD}\nvolts,1 %,1 %\nvolts,2 %,1 %\n"
    )


@pytest.mark.parametrize("missing", ["reading", "repeating", "random"])
def test_the_three_columns_are_compulsory(desk: Desk, missing: str) -> None:
    header = ",".join(name for name in HEAD.split(",") if name != missing)
    assert f"instruments.csv:1: {missing}: no column of this name" in fault(desk, f"{header}\n")


def test_a_bare_fraction_where_per_cent_is_meant_is_asked_about(desk: Desk) -> None:
    outcome = desk.run(instruments=f"{HEAD}\nwater_flow,0.03,0.02\n")
    assert outcome.code == 0
    assert [error.partition(": warning: ")[2] for error in outcome.errors] == [
        "water_flow is taken as 0.03 %; write 0.03 % or 3 % to say which is meant",
        "water_flow is taken as 0.02 %; write 0.02 % or 2 % to say which is meant",
    ]


def test_the_printed_defaults_read_back_as_the_defaults(desk: Desk) -> None:
    read, notes = read_instruments(desk.write("instruments.csv", print_instruments()))
    assert notes == []
    assert len(read) == len(DEFAULT_INSTRUMENTS)
    for one, default in zip(read, DEFAULT_INSTRUMENTS, strict=True):
        assert (one.reading, one.relative, one.distribution, one.source) == (
            default.reading,
            default.relative,
            default.distribution,
            default.source,
        )
        assert (one.repeating, one.random) == (approx(default.repeating), approx(default.random))


def test_the_printed_defaults_are_those_of_common_practice(desk: Desk) -> None:
    # Common practice of the trade, no source: the accuracies that field instruments are sold with.
    rows = {row["reading"]: row for row in csv.DictReader(io.StringIO(print_instruments()))}
    expected = {
        "entering_water": ("0.2", "0.1", "K"),
        "leaving_water": ("0.2", "0.1", "K"),
        "water_flow": ("3", "2", "%"),
        "head_pressure": ("0.6", "0.4", "%"),
        "suction_pressure": ("0.6", "0.4", "%"),
        "liquid_line": ("0.5", "0.3", "K"),
        "suction_line": ("0.5", "0.3", "K"),
        "discharge_line": ("0.5", "0.3", "K"),
        "compressor_power": ("1.5", "1", "%"),
    }
    for reading, limits in expected.items():
        row = rows[reading]
        assert (row["repeating"], row["random"], row["unit"]) == limits
        assert row["distribution"] and row["source"]
