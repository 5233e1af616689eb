"""What a header may say, and what is answered where it says it badly."""

from __future__ import annotations

import pytest

from tests.batch.desk import HEADER, ROW, UNITS, Desk

QUANTITIES_OF_READINGS = [
    "entering_water",
    "leaving_water",
    "water_flow",
    "water_pressure_drop",
    "head_pressure",
    "suction_pressure",
    "liquid_line",
    "suction_line",
    "discharge_line",
    "compressor_power",
    "entering_air",
    "entering_air_wet_bulb",
    "leaving_air",
    "static_pressure",
    "static_coldest",
]
QUANTITIES_OF_UNITS = [
    "area",
    "bore",
    "length",
    "design_flow",
    "design_pressure_drop",
    "fouling_limit",
    "elevation",
    "capacity",
    "loop_low",
    "loop_high",
    "high_head_cutout",
    "low_suction_cutout",
    "freeze_cutout",
]


@pytest.mark.parametrize("name", QUANTITIES_OF_READINGS)
@pytest.mark.parametrize("written", ["{}", "{} []", "{} [ ]"])
def test_a_quantity_without_a_unit_is_a_header_error_that_proposes_units(
    desk: Desk, name: str, written: str
) -> None:
    column = written.format(name)
    error = desk.header_error(column)
    assert error.startswith(f"readings.csv:1: {column}: no unit; expected {name} [")


@pytest.mark.parametrize("name", QUANTITIES_OF_UNITS)
def test_a_quantity_of_a_unit_without_its_unit_of_measure_is_a_header_error(desk: Desk, name: str) -> None:
    outcome = desk.run(units=f"unit,refrigerant,exchanger,{name}\nHP-1,R410A,coaxial,1\n")
    assert outcome.code == 2
    assert outcome.error.startswith(f"units.csv:1: {name}: no unit; expected {name} [")


@pytest.mark.parametrize(
    ("column", "reason"),
    [
        ("entering_water [furlong]", "not a unit of temperature"),
        ("entering_water [degQ]", "not a known unit"),
        ("entering_water [F]", "not a unit of temperature; expected degF"),
        ("water_flow [psi]", "not a unit of water flow"),
        ("head_pressure [degF]", "not a unit of pressure"),
        ("compressor_power [kg]", "not a unit of power"),
        ("entering_water [", "brackets do not match"),
        ("entering_water [degF", "brackets do not match"),
        ("entering_water [2*(]", "not a known unit"),
        ("entering_water [9**9**9**9]", "not a known unit"),
        ("entering_water [9⁹⁹⁹⁹⁹⁹⁹⁹⁹*K]", "not a known unit"),
        ("entering_water [K**(9)**(9)**(9)**(9)]", "not a known unit"),
        ("entering_water [K/0]", "not a known unit"),
        ("entering_water [()]", "not a known unit"),
        (f"entering_water [{'K*' * 3000}K]", "not a known unit"),
        ("water_flow [inch**99999999/foot**99999996/s]", "not a unit of"),
    ],
)
def test_a_unit_that_will_not_do_is_a_header_error(desk: Desk, column: str, reason: str) -> None:
    error = desk.header_error(column)
    assert error.startswith(f"readings.csv:1: {column[:60]}")
    assert reason in error
    assert len(error) < 300
    assert "; expected " in error


def test_a_word_column_takes_no_unit(desk: Desk) -> None:
    assert "strainer [clean]: this column takes no unit; expected strainer" in desk.header_error(
        "strainer [clean]"
    )


def test_one_name_in_two_units_is_a_header_error(desk: Desk) -> None:
    outcome = desk.row(**{"entering_water [degF]": "85", "entering_water [degC]": "29"})
    assert outcome.code == 2
    assert outcome.error == (
        "readings.csv:1: entering_water [degC]: entering_water is also there as entering_water [degF]; "
        "expected one column of each name"
    )


def test_one_name_twice_in_one_unit_is_a_header_error_too(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},strainer,strainer\n{ROW},clean,dirty\n")
    assert outcome.code == 2
    assert "is also there as strainer" in outcome.error


def test_every_header_error_is_told_at_once(desk: Desk) -> None:
    outcome = desk.row(**{"entering_water": "85", "head_pressure [psi]": "250", "superheat [furlong]": "1"})
    assert outcome.code == 2
    assert len(outcome.errors) == 2


def test_unknown_columns_warn_and_the_run_goes_on(desk: Desk) -> None:
    outcome = desk.row(**{"remarks": "noisy pump", "colour [furlong]": "red"})
    assert outcome.code == 0
    assert len(outcome.results) == 1
    assert outcome.errors == [
        "readings.csv:1: remarks: warning: not a column of readings, not used",
        "readings.csv:1: colour [furlong]: warning: not a column of readings, not used",
    ]


@pytest.mark.parametrize(
    ("column", "meant"),
    [
        ("entering_watr [degF]", "did you mean entering_water [degF, degC or K]?"),
        ("leaving_water (degF)", "did you mean leaving_water [degF, degC or K]?"),
        ("strainers", "did you mean strainer?"),
    ],
)
def test_a_near_miss_is_told_what_was_perhaps_meant(desk: Desk, column: str, meant: str) -> None:
    outcome = desk.row(**{column: "85"})
    assert outcome.code == 0
    assert outcome.error.endswith(meant)


def test_a_column_of_another_file_is_unknown_here(desk: Desk) -> None:
    outcome = desk.row(**{"superheat_low [K]": "5"})
    assert "not a column of readings" in outcome.error


def test_names_may_have_capitals_blanks_and_quotes(desk: Desk) -> None:
    readings = f'{HEADER}," Entering Water [degF] "\n{ROW},85\n'
    outcome = desk.run(readings)
    assert (outcome.code, outcome.errors) == (0, [])
    assert outcome.seen.reading.entering_water_k is not None


@pytest.mark.parametrize(
    ("missing", "readings"),
    [
        ("unit", "taken_at,mode\n2025-06-30,cooling\n"),
        ("taken_at", "unit,mode\nHP-1,cooling\n"),
        ("mode", "unit,taken_at\nHP-1,2025-06-30\n"),
    ],
)
def test_a_compulsory_column_of_readings_that_is_missing_runs_nothing(
    desk: Desk, missing: str, readings: str
) -> None:
    outcome = desk.run(readings)
    assert outcome.code == 2
    assert outcome.error == (
        f"readings.csv:1: {missing}: no column of this name; readings need it; expected unit, taken_at, mode"
    )


@pytest.mark.parametrize("missing", ["unit", "refrigerant", "exchanger"])
def test_a_compulsory_column_of_units_that_is_missing_runs_nothing(desk: Desk, missing: str) -> None:
    cells = {"unit": "HP-1", "refrigerant": "R410A", "exchanger": "coaxial"}
    del cells[missing]
    outcome = desk.run(units=f"{','.join(cells)}\n{','.join(cells.values())}\n")
    assert outcome.code == 2
    assert f"units.csv:1: {missing}: no column of this name" in outcome.error


@pytest.mark.parametrize(
    ("file", "text", "missing"),
    [
        ("tables", "unit\nHP-1\n", "mode"),
        ("events", "unit,at\nHP-1,2025-01-01\n", "what"),
        ("events", "unit,what\nHP-1,descaled\n", "at"),
    ],
)
def test_a_compulsory_column_of_tables_or_events_that_is_missing_runs_nothing(
    desk: Desk, file: str, text: str, missing: str
) -> None:
    outcome = desk.run(**{file: text})
    assert outcome.code == 2
    assert f"{file}.csv:1: {missing}: no column of this name" in outcome.error


def test_only_unit_refrigerant_and_exchanger_are_compulsory_for_units(desk: Desk) -> None:
    outcome = desk.run(units=UNITS)
    assert (outcome.code, outcome.errors) == (0, [])
    assert outcome.seen.facts.antifreeze == "none"
    assert outcome.seen.facts.area_m2 is None


@pytest.mark.parametrize("text", ["", "\n", "\ufeff", "   \n", ",,,\n"])
def test_a_file_without_a_header_runs_nothing(desk: Desk, text: str) -> None:
    outcome = desk.run(text)
    assert outcome.code == 2
    assert outcome.error == "readings.csv:1: no header; expected column names in the first line"


@pytest.mark.parametrize(
    "readings",
    [
        "unit;taken_at;mode;entering_water [degC]\nHP-1;2025-06-30;cooling;29,4\n",
        "sep=;\nunit;taken_at;mode\nHP-1;2025-06-30;cooling\n",
        '"unit";"taken_at";"mode"\n"HP-1";"2025-06-30";"cooling"\n',
    ],
)
def test_a_file_with_semicolons_is_told_so(desk: Desk, readings: str) -> None:
    outcome = desk.run(readings)
    assert outcome.code == 2
    assert outcome.error == (
        "readings.csv:1: semicolons between the columns; "
        "expected commas between the columns and points in the numbers"
    )


def test_a_file_with_tabs_is_told_so(desk: Desk) -> None:
    outcome = desk.run("unit\ttaken_at\tmode\nHP-1\t2025-06-30\tcooling\n")
    assert outcome.code == 2
    assert "tabs between the columns" in outcome.error


def test_a_byte_order_mark_is_let_pass(desk: Desk) -> None:
    mark = b"\xef\xbb\xbf"
    outcome = desk.run(mark + f"{HEADER}\n{ROW}\n".encode(), mark + UNITS.encode())
    assert (outcome.code, outcome.errors) == (0, [])


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (f"{HEADER}\n{ROW}\n".encode("utf-16"), 1),
        (f"{HEADER},stage\n{ROW},first\n{ROW},d\xe9gel\xe9\n".encode("latin-1"), 3),
    ],
)
def test_a_file_that_is_not_utf_8_is_told_so(desk: Desk, data: bytes, line: int) -> None:
    outcome = desk.run(data)
    assert outcome.code == 2
    assert outcome.error.startswith(f"readings.csv:{line}: not UTF-8 text; expected ")


def test_letters_beyond_ascii_are_kept(desk: Desk) -> None:
    units = UNITS.replace("HP-1", "Wärmepumpe 1 – Süd")
    outcome = desk.run(f"{HEADER}\n{ROW}\n".replace("HP-1", "Wärmepumpe 1 – Süd"), units)
    assert outcome.results[0]["unit"] == "Wärmepumpe 1 – Süd"


def test_two_probes_unless_told_that_one_was_moved(desk: Desk) -> None:
    assert desk.row().seen.reading.probe_moved is False
    assert desk.read("probe_moved", "yes").probe_moved is True


def test_how_the_drop_was_read_and_whether_the_fan_was_on_the_meter(desk: Desk) -> None:
    bare = desk.row().seen.reading
    assert (bare.drop_read_by, bare.power_includes_fan) == (None, None)
    assert desk.read("drop_read_by", "gauge_at_each_port").drop_read_by == "gauge_at_each_port"
    assert desk.read("power_includes_fan", "yes").power_includes_fan is True
    assert desk.read("power_includes_fan", "no").power_includes_fan is False
