"""Several processes give what one gives, line by line."""

from __future__ import annotations

import os
from typing import Any

import pytest

from diagnostics.batch import run as runs
from diagnostics.engine.records import Assessment
from tests.batch.desk import HEADER, Desk, stand_in

ROWS = f"{HEADER},entering_water [degF]\n" + "".join(
    f"HP-1,2025-01-{1 + number % 28:02},{'heating' if number % 3 else 'cooling'},{60 + number % 30}\n"
    for number in range(130)
)


def dies(*args: Any, **settings: Any) -> Assessment:
    os._exit(9)


def test_two_processes_give_the_same_lines_in_the_same_order(desk: Desk) -> None:
    one = desk.run(ROWS, assess=stand_in, processes=1)
    two = desk.run(ROWS, assess=stand_in, processes=2)
    assert len(one.results) == 130
    assert one.results == two.results
    assert (one.code, one.errors) == (two.code, two.errors) == (0, [])


def test_a_process_ended_from_outside_is_told_and_nothing_is_written(desk: Desk) -> None:
    out = desk.folder / "out.jsonl"
    outcome = desk.run(ROWS, assess=dies, processes=2, out=str(out))
    assert outcome.code == 2
    assert "a process was ended from outside" in outcome.error
    assert not out.exists()


@pytest.mark.parametrize(("rows", "cores", "processes"), [(10, 8, 1), (400, 8, 2), (400, 1, 1)])
def test_large_files_take_two_processes_where_there_are_cores(
    monkeypatch: pytest.MonkeyPatch, desk: Desk, rows: int, cores: int, processes: int
) -> None:
    taken: list[int] = []
    monkeypatch.setattr(runs.os, "cpu_count", lambda: cores)
    monkeypatch.setattr(runs, "assess_in_order", lambda assessor, count: taken.append(count) or iter(()))
    desk.run(f"{HEADER}\n" + "HP-1,2025-01-01,cooling\n" * rows)
    assert taken == [processes]
