"""0: all rows good; 1: some bad; 2: nothing run, and nothing written."""

from __future__ import annotations

import errno
import io
import os
from pathlib import Path

import pytest

from diagnostics.batch.run import Job, run
from tests.batch.desk import HEADER, ROW, UNITS, Desk, stand_in

KEPT = "what was there before\n"


@pytest.fixture
def out(tmp_path: Path) -> Path:
    (tmp_path / "results").mkdir()
    return tmp_path / "results" / "out.jsonl"


def test_all_rows_good_is_0(desk: Desk, out: Path) -> None:
    outcome = desk.run(out=str(out))
    assert (outcome.code, outcome.errors, outcome.results) == (0, [], [])
    assert out.read_text().count("\n") == 1


def test_some_rows_bad_is_1_and_the_good_ones_are_written(desk: Desk, out: Path) -> None:
    outcome = desk.run(f"{HEADER}\n{ROW}\nHP-9,2025-01-01,cooling\n", out=str(out))
    assert outcome.code == 1
    assert out.read_text().count("\n") == 1


def test_all_rows_bad_is_1_with_an_empty_file(desk: Desk, out: Path) -> None:
    outcome = desk.run(f"{HEADER}\nHP-9,2025-01-01,cooling\n", out=str(out))
    assert outcome.code == 1
    assert out.read_text() == ""


def test_a_header_without_rows_is_0(desk: Desk) -> None:
    outcome = desk.run(f"{HEADER}\n")
    assert (outcome.code, outcome.results) == (0, [])
    assert outcome.errors[-1].endswith("no rows under the header, nothing to assess")


def test_a_bad_row_of_units_tables_or_events_alone_is_1(desk: Desk) -> None:
    assert desk.run(units=UNITS + "HP-2,R999,coaxial\n").code == 1
    assert desk.run(tables="unit,mode\nHP-1,melting\n").code == 1
    assert desk.run(events="unit,at,what\nHP-1,soon,descaled\n").code == 1


@pytest.mark.parametrize(
    "broken",
    [
        {"readings": f"{HEADER},head_pressure [psi]\n{ROW},250\n"},
        {"readings": "unit,mode\nHP-1,cooling\n"},
        {"units": "unit,refrigerant\nHP-1,R410A\n"},
        {"tables": "unit,mode,superheat_low [degF]\nHP-1,cooling,9\n"},
        {"events": "unit;at;what\n"},
        {"instruments": "reading,repeating,random\nhumidity,1 %,1 %\n"},
        {"draws": 3},
        {"draws": 10**9},
    ],
)
def test_nothing_run_is_2_and_nothing_is_written(desk: Desk, out: Path, broken: dict[str, object]) -> None:
    out.write_text(KEPT)
    outcome = desk.run(out=str(out), **broken)  # type: ignore[arg-type]
    assert outcome.code == 2
    assert outcome.seen.calls == [] and outcome.results == []
    assert len(outcome.errors) == 1
    assert out.read_text() == KEPT
    assert os.listdir(out.parent) == ["out.jsonl"]


@pytest.mark.parametrize("name", ["units", "readings", "tables", "events", "instruments"])
@pytest.mark.parametrize("path", ["nowhere.csv", "."])
def test_a_file_that_cannot_be_read_is_2(desk: Desk, tmp_path: Path, name: str, path: str) -> None:
    files = {
        "units": desk.write("units.csv", UNITS),
        "readings": desk.write("readings.csv", f"{HEADER}\n{ROW}\n"),
    }
    errors = io.StringIO()
    assert run(Job(**{**files, name: str(tmp_path / path)}), io.StringIO(), errors) == 2
    assert "cannot be read: " in errors.getvalue()
    assert "; expected a comma-separated file" in errors.getvalue()


def test_results_appear_whole_or_not_at_all(desk: Desk, out: Path) -> None:
    out.write_text(KEPT)

    def interrupted(*args: object, **settings: object) -> None:
        assert out.read_text() == KEPT
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        desk.run(out=str(out), assess=interrupted)
    assert out.read_text() == KEPT
    assert os.listdir(out.parent) == ["out.jsonl"]


def test_a_place_that_cannot_be_written_is_2(desk: Desk, tmp_path: Path) -> None:
    outcome = desk.run(out=str(tmp_path / "no such folder" / "out.jsonl"))
    assert outcome.code == 2
    assert outcome.seen.calls == []
    assert "cannot be written" in outcome.error
    assert desk.run(out=str(tmp_path)).code == 2


@pytest.mark.parametrize("name", ["readings.csv", "units.csv", "./units.csv"])
def test_results_never_replace_what_was_read(desk: Desk, tmp_path: Path, name: str) -> None:
    outcome = desk.run(out=f"{tmp_path}/{name}")
    assert outcome.code == 2
    assert "is one of the files to read" in outcome.error
    assert (tmp_path / "units.csv").read_text() == UNITS


def test_a_link_is_followed_and_stays_a_link(desk: Desk, out: Path) -> None:
    link = out.with_name("latest.jsonl")
    out.write_text(KEPT)
    link.symlink_to(out)
    assert desk.run(out=str(link)).code == 0
    assert link.is_symlink() and out.read_text() != KEPT


def test_a_device_is_written_to_and_not_replaced(desk: Desk) -> None:
    assert desk.run(out=os.devnull).code == 0
    assert Path(os.devnull).is_char_device()


def test_a_person_at_a_terminal_is_told_how_far_it_is(desk: Desk) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    readings = desk.write("readings.csv", f"{HEADER}\n" + f"{ROW}\n" * 250)
    errors = Terminal()
    assert run(Job(desk.write("units.csv", UNITS), readings), io.StringIO(), errors, stand_in) == 0
    assert errors.getvalue() == "100 of 250 rows done\n200 of 250 rows done\n"


def test_a_full_disk_is_2_and_says_so(desk: Desk) -> None:
    class FullDisk(io.StringIO):
        def write(self, text: str, /) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

    job = Job(desk.write("units.csv", UNITS), desk.write("readings.csv", f"{HEADER}\n{ROW}\n"))
    errors = io.StringIO()
    assert run(job, FullDisk(), errors, stand_in) == 2
    assert (
        errors.getvalue() == "results: cannot be written: No space left on device; expected room to write\n"
    )
