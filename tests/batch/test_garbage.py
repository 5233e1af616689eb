"""Whatever stands in the files: an exit code and lines that say what is wrong, never a traceback."""

from __future__ import annotations

import json
import re
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnostics.batch.columns import EVENTS, READINGS, TABLES, UNITS, Layout
from tests.batch.desk import HEADER, ROW, Desk, stand_in
from tests.batch.desk import UNITS as ONE_UNIT

MANY = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
NUMBER_LIKE = ["nan", "-inf", "1e999", "-1e308", "0", "1,5", "1;5", "1" * 400, "٣", "½", "𝟗"]
TEXT_LIKE = [
    "",
    " ",
    '"',
    '""',
    "'",
    "=1+1",
    "[",
    "]",
    "\x00",
    "\x1b[2J",
    "\ufeff",
    "\u2028",
    "\r",
    "\n",
    "a\nb",
]
TIME_LIKE = ["2025-06-30", "9999-12-31T23:59-14:00", "0001-01-01", "0001-01-01T00:00+14:00"]
WORD_LIKE = ["yes", "cooling", "R410A", "coaxial", "HP-1"]
NASTY = st.sampled_from(NUMBER_LIKE + TEXT_LIKE + TIME_LIKE + WORD_LIKE)
CELL = st.one_of(NASTY, st.text(max_size=12), st.floats().map(repr), st.integers().map(str))
UNIT_OF_MEASURE = st.one_of(
    st.sampled_from(
        ["degF", "degC", "K", "psig", "kPa_abs", "gpm", "kg/s", "%", "m^2", "ft", "W", "A", "V", "min"]
    ),
    st.text(max_size=6),
)


def quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


def header_of(layout: Layout) -> st.SearchStrategy[str]:
    names = st.one_of(st.sampled_from([column.name for column in layout.columns]), st.text(max_size=8))
    label = st.one_of(names, st.tuples(names, UNIT_OF_MEASURE).map(lambda pair: f"{pair[0]} [{pair[1]}]"))
    return st.lists(label, max_size=6).map(lambda labels: ",".join(quoted(label) for label in labels))


def check(desk: Desk, **files: str | bytes) -> None:
    outcome = desk.run(**files)  # type: ignore[arg-type]
    assert outcome.code in (0, 1, 2)
    if outcome.code == 2:
        assert outcome.results == []
    if outcome.code:
        assert outcome.errors
    for error in outcome.errors:
        assert error.isprintable()
        assert re.search(r"; expected .|warning: ", error), error
    for result in outcome.results:
        json.dumps(result, allow_nan=False)


@MANY
@given(data=st.binary(max_size=300))
@pytest.mark.parametrize("name", ["readings", "units", "tables", "events", "instruments"])
def test_random_bytes(desk: Desk, name: str, data: bytes) -> None:
    check(desk, **{name: data})


@MANY
@given(text=st.text(alphabet=st.sampled_from('HP-1,;"\n\r \tcoling2056[]degF.'), max_size=120))
@pytest.mark.parametrize(
    ("name", "header"),
    [
        ("readings", f"{HEADER},stage,entering_water [degF]"),
        ("units", "unit,refrigerant,exchanger,elevation [ft],high_head_cutout [psig]"),
        ("tables", "unit,mode,water_flow [kg/s],entering_water [degF]"),
        ("events", "unit,at,what"),
        ("instruments", "reading,repeating,random"),
    ],
)
def test_random_text_under_a_good_header(desk: Desk, name: str, header: str, text: str) -> None:
    check(desk, **{name: f"{header}\n{text}"})


@MANY
@given(data=st.data())
@pytest.mark.parametrize(
    ("name", "layout"), [("readings", READINGS), ("units", UNITS), ("tables", TABLES), ("events", EVENTS)]
)
def test_random_headers(desk: Desk, name: str, layout: Layout, data: st.DataObject) -> None:
    check(desk, **{name: data.draw(header_of(layout)) + "\nHP-1,2025-06-30,cooling,1,2,3\n"})


GOOD_UNIT = {
    "temperature": "degF",
    "temperature_difference": "K",
    "refrigerant_pressure": "psig",
    "pressure_difference": "psi",
    "water_flow": "kg/s",
    "area": "ft^2",
    "length": "ft",
    "power": "kW",
    "fouling_resistance": "m^2*K/W",
}


def good_header(layout: Layout) -> list[str]:
    return [
        f"{column.name} [{GOOD_UNIT[column.kind]}]" if column.kind in GOOD_UNIT else column.name
        for column in layout.columns
    ]


@MANY
@given(data=st.data())
@pytest.mark.parametrize(
    ("name", "layout", "start"),
    [
        ("readings", READINGS, ["HP-1", "2025-06-30", "routine", "cooling"]),
        ("units", UNITS, ["HP-1", "R410A", "coaxial"]),
        ("tables", TABLES, ["HP-1", "cooling"]),
        ("events", EVENTS, ["HP-1"]),
    ],
)
def test_random_cells_under_every_column(
    desk: Desk, name: str, layout: Layout, start: list[str], data: st.DataObject
) -> None:
    width = len(layout.columns) - len(start)
    rows = data.draw(st.lists(st.lists(CELL, min_size=width, max_size=width), min_size=1, max_size=3))
    lines = [",".join(quoted(cell) for cell in [*start, *row]) for row in rows]
    check(desk, **{name: "\n".join([",".join(good_header(layout)), *lines]) + "\n"})


def test_thousands_of_unclosed_quotes_take_a_moment(desk: Desk) -> None:
    readings = f"{HEADER},stage\n" + f'{ROW},"first\n{ROW},full\n' * 3_000
    began = time.perf_counter()
    outcome = desk.run(readings, ONE_UNIT, assess=stand_in)
    assert (outcome.code, len(outcome.results), len(outcome.errors)) == (1, 3_000, 3_000)
    assert time.perf_counter() - began < 20
