"""`manage.py assess` as people run it: its own process, no database, exit codes, streams."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from tests.batch.desk import HEADER, ROW, UNITS, Desk

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "fixtures" / "batch"


def manage(*arguments: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "assess", *arguments],
        capture_output=True,
        text=True,
        cwd=folder,
        env={**os.environ, "WATERSIDE_VAR": str(folder / "var"), **environment},
        timeout=120,
        check=False,
    )


@pytest.fixture
def files(desk: Desk) -> list[str]:
    desk.write("units.csv", UNITS)
    desk.write("readings.csv", f"{HEADER},entering_water [degF]\n{ROW},85\n{ROW},warm\n")
    return ["--units", "units.csv", "--readings", "readings.csv"]


def test_it_runs_without_a_database_and_names_files_as_given(files: list[str], tmp_path: Path) -> None:
    nowhere = "postgres://nobody@127.0.0.1:9/nothing"
    secret = "only-for-tests-only-for-tests-only-for-tests"
    done = manage(*files, folder=tmp_path, DATABASE_URL=nowhere, WATERSIDE_SECRET_KEY=secret)
    assert done.returncode == 1, done.stderr
    (line,) = done.stdout.splitlines()
    assert json.loads(line)["line"] == 2
    assert done.stderr.startswith("readings.csv:3: entering_water [degF]: 'warm': not a number; expected ")
    assert done.stderr.count("\n") == 1
    assert not list((tmp_path / "var").rglob("*sqlite*"))


def test_out_takes_the_results_and_leaves_standard_output_empty(files: list[str], tmp_path: Path) -> None:
    done = manage(*files, "--out", "results.jsonl", folder=tmp_path)
    assert (done.returncode, done.stdout) == (1, "")
    assert (tmp_path / "results.jsonl").read_text().count("\n") == 1


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["--units", "units.csv"],
        ["--readings", "readings.csv"],
        ["--units", "units.csv", "--readings", "nowhere.csv"],
        ["--units", "units.csv", "--readings", "readings.csv", "--draws", "many"],
        ["--units", "units.csv", "--readings", "readings.csv", "--draws", "10"],
        ["--units", "units.csv", "--readings", "readings.csv", "--processes", "0"],
        ["--units", "units.csv", "--readings", "readings.csv", "--colour"],
    ],
)
def test_bad_arguments_and_files_are_2_without_a_traceback(
    files: list[str], tmp_path: Path, arguments: list[str]
) -> None:
    done = manage(*arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr and "Traceback" not in done.stderr


def test_all_rows_good_is_0(desk: Desk, tmp_path: Path) -> None:
    desk.write("units.csv", UNITS)
    desk.write("readings.csv", f"{HEADER}\n{ROW}\n")
    done = manage("--units", "units.csv", "--readings", "readings.csv", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_defaults_of_instruments_are_printed_as_a_table(tmp_path: Path) -> None:
    done = manage("--print-instruments", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    rows = list(csv.DictReader(done.stdout.splitlines()))
    assert {"reading", "repeating", "random", "unit", "distribution", "source"} == set(rows[0])
    assert [row["reading"] for row in rows][:2] == ["entering_water", "leaving_water"]


def test_a_reader_who_leaves_early_costs_no_traceback(tmp_path: Path) -> None:
    done = subprocess.run(
        f'"{sys.executable}" "{ROOT}/manage.py" assess --units units.csv --readings readings.csv'
        f" --tables tables.csv --draws 1000 | true",
        shell=True,
        capture_output=True,
        text=True,
        cwd=EXAMPLE,
        env={**os.environ, "WATERSIDE_VAR": str(tmp_path)},
        timeout=120,
        check=False,
    )
    assert "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr


def test_a_header_error_is_told_before_anything_heavy_is_loaded(tmp_path: Path, desk: Desk) -> None:
    desk.write("units.csv", UNITS)
    desk.write("readings.csv", f"{HEADER},head_pressure [psi]\n{ROW},250\n")
    program = (
        "import sys; from diagnostics.batch.run import Job, run;"
        "code = run(Job('units.csv', 'readings.csv'), sys.stdout, sys.stderr);"
        "print(code, sorted({'CoolProp', 'scipy.interpolate', 'django'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=True,
    )
    assert done.stdout == "2 []\n"


def test_called_from_python_it_raises_what_django_expects(desk: Desk) -> None:
    with pytest.raises(CommandError, match="--units and --readings must be given"):
        call_command("assess")
    units, readings = desk.write("units.csv", UNITS), desk.write("readings.csv", "unit;mode\n")
    with pytest.raises(SystemExit) as ended:
        call_command("assess", units=units, readings=readings)
    assert ended.value.code == 2
