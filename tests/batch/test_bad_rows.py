"""Rows that cannot be read: no result, one line that says where and what would be right; the others run."""

from __future__ import annotations

import pytest

from diagnostics.engine import records
from tests.batch.desk import HEADER, ROW, UNITS, Desk

WANTED = "a number in degF, or a blank cell where it is not known"


def test_a_bad_row_gives_a_line_and_the_others_run(desk: Desk) -> None:
    column = "entering_water [degF]"
    outcome = desk.run(f"{HEADER},{column}\n{ROW},85\n{ROW},warm\n{ROW},86\n")
    assert outcome.code == 1
    assert [result["line"] for result in outcome.results] == [2, 4]
    assert outcome.error == f"readings.csv:3: {column}: 'warm': not a number; expected {WANTED}"


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("warm", f"not a number; expected {WANTED}"),
        ("#N/A", f"not a number; expected {WANTED}"),
        ("-", f"not a number; expected {WANTED}"),
        ("85 degF", f"more than a number; expected {WANTED}; the unit stands in the header only"),
        ("85F", "more than a number"),
        ("8 5", "more than a number"),
        ("1_000", "more than a number"),
        ("0x55", "more than a number"),
        ("nan", "not a finite number"),
        ("NaN", "not a finite number"),
        ("inf", "not a finite number"),
        ("-Infinity", "not a finite number"),
        ("1e999", "too large to be a number"),
        ("--85", "not a number"),
        ("８５", "more than a number"),
    ],
)
def test_a_cell_that_is_no_number_says_why(desk: Desk, cell: str, reason: str) -> None:
    error = desk.cell_error("entering_water [degF]", cell)
    assert error.startswith(f"readings.csv:2: entering_water [degF]: '{cell}': {reason}")
    assert "; expected " in error


@pytest.mark.parametrize(
    ("cell", "value"), [("85", 85), (" 85.0 ", 85), ("+85.", 85), (".5e2", 50), ("−4", -4), ("-0", 0)]
)
def test_a_number_may_be_written_in_the_usual_ways(desk: Desk, cell: str, value: float) -> None:
    assert desk.read("entering_water [K]", cell).entering_water_k == value


@pytest.mark.parametrize(
    ("cell", "right"), [("29,4", "29.4"), ("-3,05", "-3.05"), ("1,234.5", "1234.5"), ("1,234,567", "1234567")]
)
def test_a_decimal_comma_is_named(desk: Desk, cell: str, right: str) -> None:
    outcome = desk.run(f'{HEADER},entering_water [degC]\n{ROW},"{cell}"\n')
    assert outcome.code == 1
    assert outcome.error == (
        f"readings.csv:2: entering_water [degC]: '{cell}': decimal comma or thousands comma; "
        f"expected a decimal point and no other mark, as in {right}"
    )


def test_a_decimal_comma_without_quotes_is_named(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},entering_water [degC]\n{ROW},29,4\n{ROW},29.4\n")
    assert outcome.code == 1
    assert [result["line"] for result in outcome.results] == [3]
    assert outcome.error.startswith(
        "readings.csv:2: cell 5: '4': a cell under no column name; a decimal comma"
    )


def test_a_row_with_semicolons_under_a_header_with_commas_is_named(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER}\nHP-1;2025-06-30;cooling\n{ROW}\n")
    assert outcome.code == 1
    assert "'HP-1;2025-06-30;cooling': semicolons between the cells; expected commas" in outcome.error


WORDS = [
    ("purpose", records.PURPOSES),
    ("strainer", records.STRAINER_STATES),
    ("back_flush", records.BACK_FLUSH_RESULTS),
    ("fault_lockout", records.FAULT_LOCKOUTS),
]


@pytest.mark.parametrize(("column", "words"), WORDS)
def test_every_word_of_a_list_is_known_and_no_other(desk: Desk, column: str, words: tuple[str, ...]) -> None:
    for word in words:
        assert getattr(desk.read(column, word), column) == word
    listed = ", ".join(words[:-1]) + f" or {words[-1]}"
    assert desk.cell_error(column, "purple") == (
        f"readings.csv:2: {column}: 'purple': not a word known here; expected {listed}"
    )


UNIT_WORDS = [
    ("antifreeze", records.ANTIFREEZES),
    ("flow_in_heating", records.FLOW_ARRANGEMENTS),
    ("expansion", records.EXPANSION_DEVICES),
    ("water_source", records.WATER_SOURCES),
    ("between_ports", records.BETWEEN_PORTS),
]


@pytest.mark.parametrize(("column", "words"), UNIT_WORDS)
def test_every_word_of_a_units_list_is_known_and_no_other(
    desk: Desk, column: str, words: tuple[str, ...]
) -> None:
    for word in words:
        outcome = desk.run(units=f"unit,refrigerant,exchanger,{column}\nHP-1,R410A,coaxial,{word}\n")
        assert getattr(outcome.seen.facts, column) == word
    outcome = desk.run(units=f"unit,refrigerant,exchanger,{column}\nHP-1,R410A,coaxial,purple\n")
    assert outcome.code == 1
    assert outcome.errors[0].startswith(f"units.csv:2: {column}: 'purple': not a word known here; expected ")
    assert all(word in outcome.errors[0] for word in words)


@pytest.mark.parametrize("kind", records.EXCHANGER_KINDS)
def test_every_kind_of_exchanger_is_known(desk: Desk, kind: str) -> None:
    assert desk.run(units=UNITS.replace("coaxial", kind)).seen.facts.exchanger == kind


@pytest.mark.parametrize("mode", records.MODES)
def test_both_modes_are_known_and_no_other(desk: Desk, mode: str) -> None:
    assert desk.run(f"{HEADER}\nHP-1,2025-06-30,{mode}\n").results[0]["mode"] == mode
    outcome = desk.run(f"{HEADER}\nHP-1,2025-06-30,defrost\n")
    assert outcome.code == 1
    assert "mode: 'defrost': not a word known here; expected cooling or heating" in outcome.error


def test_capitals_blanks_and_hyphens_in_words_are_let_pass(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},purpose\nHP-1,2025-06-30, Cooling ,Before-Descale\n")
    assert (outcome.results[0]["mode"], outcome.seen.reading.purpose) == ("cooling", "before_descale")


@pytest.mark.parametrize("column", ["head_pressure_valve", "rating_includes_fouling"])
def test_yes_and_no_and_nothing_else(desk: Desk, column: str) -> None:
    header = f"unit,refrigerant,exchanger,{column}\n"
    for cell, value in (("yes", True), ("no", False), ("", None)):
        assert getattr(desk.run(units=f"{header}HP-1,R410A,coaxial,{cell}\n").seen.facts, column) is value
    outcome = desk.run(units=f"{header}HP-1,R410A,coaxial,perhaps\n")
    assert f"units.csv:2: {column}: 'perhaps': not a word known here; expected yes or no" in outcome.errors


@pytest.mark.parametrize("name", ["R410A", "r-410a", "R 134a", "R1234ze(E)", "R454B", "r123"])
def test_a_refrigerant_is_known_by_its_name_in_any_spelling(desk: Desk, name: str) -> None:
    assert desk.run(units=UNITS.replace("R410A", name)).code == 0


def test_an_unknown_refrigerant_makes_the_unit_and_its_readings_bad(desk: Desk) -> None:
    outcome = desk.run(units=UNITS.replace("R410A", "R999") + "HP-2,R22,coaxial\n")
    assert outcome.code == 1
    assert outcome.results == []
    first, second = outcome.errors
    assert first.startswith(
        "units.csv:2: refrigerant: 'R999': not a refrigerant known here; expected R410A, R22"
    )
    assert second == (
        "readings.csv:2: unit: 'HP-1': its row in units.csv, line 2, is bad; "
        "expected a unit with one good row there"
    )


def test_a_unit_that_units_does_not_have(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER}\n{ROW}\nHP-7,2025-06-30,cooling\nboiler,2025-06-30,cooling\n")
    assert outcome.code == 1
    assert [result["line"] for result in outcome.results] == [2]
    assert outcome.errors == [
        "readings.csv:3: unit: 'HP-7': not in the units file; expected a unit that has a row there",
        "readings.csv:4: unit: 'boiler': not in the units file; expected a unit that has a row there",
    ]


def test_a_unit_that_is_nearly_there_is_named(desk: Desk) -> None:
    units = UNITS.replace("HP-1", "North wing 4")
    outcome = desk.run(f"{HEADER}\nNorth wng 4,2025-06-30,cooling\n", units)
    assert "not in the units file (is it North wing 4?)" in outcome.error


def test_a_doubled_unit_makes_both_its_rows_and_its_readings_bad(desk: Desk) -> None:
    units = UNITS + "HP-2,R22,coaxial\nHP-1,R22,coaxial\n"
    outcome = desk.run(f"{HEADER}\n{ROW}\nHP-2,2025-06-30,cooling\n", units)
    assert outcome.code == 1
    assert [result["unit"] for result in outcome.results] == ["HP-2"]
    assert outcome.errors == [
        "units.csv:2: unit: 'HP-1': on lines 2 and 4; expected each unit once",
        "units.csv:4: unit: 'HP-1': on lines 2 and 4; expected each unit once",
        "readings.csv:2: unit: 'HP-1': it is doubled in units.csv, lines 2 and 4; "
        "expected a unit with one good row there",
    ]


@pytest.mark.parametrize("file", ["tables", "events"])
def test_a_row_of_an_unknown_unit_in_tables_or_events_is_bad(desk: Desk, file: str) -> None:
    text = {
        "tables": "unit,mode\nHP-1,cooling\nHP-9,cooling\n",
        "events": "unit,at,what\nHP-1,2025-01-01,descaled\nHP-9,2025-01-01,descaled\n",
    }[file]
    outcome = desk.run(**{file: text})
    assert outcome.code == 1
    assert len(outcome.results) == 1
    assert outcome.error.startswith(f"{file}.csv:3: unit: 'HP-9': not in the units file")
    assert len(getattr(outcome.seen.history, file)) == 1


def test_bad_cells_in_tables_and_events_are_bad_rows(desk: Desk) -> None:
    tables = "unit,mode,superheat_low [K]\nHP-1,cooling,5\nHP-1,cooling,five\n"
    events = "unit,at,what\nHP-1,yesterday,descaled\nHP-1,2025-01-01,painted\nHP-1,2025-01-02,descaled\n"
    outcome = desk.run(tables=tables, events=events)
    assert outcome.code == 1
    assert [error.split("'")[0] for error in outcome.errors] == [
        "tables.csv:3: superheat_low [K]: ",
        "events.csv:2: at: ",
        "events.csv:3: what: ",
    ]
    assert (len(outcome.seen.history.tables), len(outcome.seen.history.events)) == (1, 1)


@pytest.mark.parametrize("what", records.EVENT_KINDS)
def test_every_kind_of_event_is_known(desk: Desk, what: str) -> None:
    outcome = desk.run(events=f"unit,at,what\nHP-1,2025-01-01,{what}\n")
    assert outcome.seen.history.events[0].what == what


@pytest.mark.parametrize(
    ("cells", "column", "wanted"),
    [
        (",2025-06-30,cooling", "unit", "a name"),
        ("HP-1,,cooling", "taken_at", "a date and time in ISO 8601"),
        ("HP-1,2025-06-30,", "mode", "cooling or heating"),
    ],
)
def test_a_blank_compulsory_cell_is_bad(desk: Desk, cells: str, column: str, wanted: str) -> None:
    outcome = desk.run(f"{HEADER}\n{cells}\n")
    assert outcome.code == 1
    assert outcome.error == f"readings.csv:2: {column}: '': blank; expected {wanted}"


@pytest.mark.parametrize(
    "cell", ["yesterday", "30/06/2025", "2025-13-01", "2025-06-30T25:00", "45838", "2025-06-31"]
)
def test_a_time_that_is_not_iso_8601_is_bad(desk: Desk, cell: str) -> None:
    outcome = desk.run(f"{HEADER}\nHP-1,{cell},cooling\n")
    assert outcome.code == 1
    assert outcome.error == (
        f"readings.csv:2: taken_at: '{cell}': not a date and time; "
        "expected ISO 8601, as in 2025-06-30T14:05 (UTC) or 2025-06-30T14:05+01:00"
    )


@pytest.mark.parametrize("column", ["phases", "power_factor"])
def test_a_bad_plain_number_is_told_without_a_unit(desk: Desk, column: str) -> None:
    assert "'x': not a number; expected a number, or a blank" in desk.cell_error(column, "x")


def test_a_count_must_be_whole(desk: Desk) -> None:
    outcome = desk.run(units="unit,refrigerant,exchanger,count\nHP-1,R410A,coaxial,2.5\n")
    assert outcome.errors[0].startswith(
        "units.csv:2: count: '2.5': not a whole number; expected a whole number"
    )


def test_a_row_with_several_bad_cells_gives_one_line_that_names_them_all(desk: Desk) -> None:
    outcome = desk.row(**{"entering_water [degF]": "warm", "strainer": "ok", "volts": "x"})
    assert outcome.error.startswith("readings.csv:2: entering_water [degF]: 'warm': not a number; expected ")
    assert outcome.error.endswith("(also bad in this row: strainer, volts)")


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("water_flow [gpm]", "-5"),
        ("entering_water [degF]", "-900"),
        ("head_pressure [psig]", "-300"),
        ("minutes_running [min]", "-1"),
        ("phases", "7"),
        ("power_factor", "12"),
        ("water_pressure_drop [psi]", "1e12"),
    ],
)
def test_what_was_read_is_never_refused_though_it_cannot_be(desk: Desk, column: str, cell: str) -> None:
    outcome = desk.row(**{column: cell})
    assert (outcome.code, outcome.errors) == (0, [])
    assert len(outcome.results) == 1


def test_a_value_over_several_lines_is_shown_on_one(desk: Desk) -> None:
    outcome = desk.run(f'{HEADER},entering_water [degF]\n{ROW},"85\n86\x1b[31m"\n')
    assert "'85\\n86\\x1b[31m'" in outcome.error


def test_a_long_value_is_cut(desk: Desk) -> None:
    assert len(desk.cell_error("entering_water [degF]", "x" * 5000)) < 300


def test_the_line_is_the_one_where_the_row_starts(desk: Desk) -> None:
    column = "entering_water [degF]"
    readings = (
        f'"unit",taken_at,mode,"stage",{column}\n'  # line 1
        f'{ROW},"first\nand second\nstage",85\n'  # lines 2 to 4
        "\n"  # line 5
        f'{ROW},"one\n\ntwo",warm\n'  # lines 6 to 8
        ",,,,\n"  # line 9
        f"{ROW},full,86\n"  # line 10
    )
    outcome = desk.run(readings)
    assert [result["line"] for result in outcome.results] == [2, 10]
    assert outcome.error.startswith(f"readings.csv:6: {column}: 'warm'")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_counts_as_one_line(desk: Desk, end: str) -> None:
    outcome = desk.run(end.join([HEADER, ROW, "", ROW, "HP-1,never,cooling", ROW]))
    assert [result["line"] for result in outcome.results] == [2, 4, 6]
    assert outcome.error.startswith("readings.csv:5: taken_at: 'never'")


def test_a_header_over_two_lines_is_counted(desk: Desk) -> None:
    outcome = desk.run(f'unit,taken_at,mode,"my\nremarks"\n{ROW},\n')
    assert outcome.results[0]["line"] == 3


def test_a_quote_that_is_never_closed_costs_one_row(desk: Desk) -> None:
    outcome = desk.run(f'{HEADER},stage\n{ROW},full\n{ROW},"first\n{ROW},full\n{ROW},full\n')
    assert [result["line"] for result in outcome.results] == [2, 4, 5]
    assert outcome.error == (
        "readings.csv:3: a quote is opened and never closed; expected quotes in pairs around a whole cell"
    )


def test_a_quote_that_is_closed_in_the_middle_of_a_cell_costs_one_row(desk: Desk) -> None:
    outcome = desk.run(f'{HEADER},stage\n{ROW},"first" stage\n{ROW},full\n')
    assert [result["line"] for result in outcome.results] == [3]
    assert "readings.csv:2: a quote is closed in the middle of a cell" in outcome.error


def test_a_row_shorter_than_the_heading_is_bad_and_blank_rows_are_no_rows(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER},stage,volts\n{ROW},,\n\n,,\n{ROW},first\n")
    assert outcome.code == 1
    cells = len(f"{HEADER},stage,volts".split(","))
    told = "expected as many cells as columns, blank ones with their commas"
    assert outcome.error == f"readings.csv:5: {cells - 1} cells under {cells} columns; {told}"
    assert [result["line"] for result in outcome.results] == [2]


def test_an_elevation_where_there_is_no_air_is_bad(desk: Desk) -> None:
    outcome = desk.run(units="unit,refrigerant,exchanger,elevation [ft]\nHP-1,R410A,coaxial,52500\n")
    assert outcome.errors[0].startswith("units.csv:2: elevation [ft]: '52500': elevation 16002 m is outside")


def test_a_table_row_with_low_above_high_is_bad(desk: Desk) -> None:
    header = "unit,mode,subcooling_low [K],subcooling_high [K]"
    tables = f"{header}\nHP-1,cooling,9,5\nHP-1,cooling,5,5\nHP-1,cooling,,5\n"
    outcome = desk.run(f"{HEADER}\n{ROW}\n", tables=tables)
    assert outcome.code == 1
    assert outcome.error == (
        "tables.csv:2: subcooling_low [K]: '9': above subcooling_high, 5; "
        "expected subcooling_low at or below subcooling_high"
    )
    assert len(outcome.seen.history.tables) == 2
