"""Causes beside the number: sorted, with reasons, a next check, and why nothing chemical yet."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest

from diagnostics.batch.run import Job, run

FILES = Path(__file__).resolve().parents[2] / "fixtures" / "batch"


def results(tmp_path: Path, **given: object) -> list[dict[str, object]]:
    names = ("units", "readings", "tables", "events")
    files = {name: str(FILES / f"{name}.csv") for name in names}
    output, errors = StringIO(), StringIO()
    job = Job(**files, draws=1000, signatures=str(tmp_path / "kept"), **given)  # type: ignore[arg-type]
    assert run(job, output, errors) == 0, errors.getvalue()
    return [json.loads(line) for line in output.getvalue().splitlines()]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, object]]:
    return results(tmp_path_factory.mktemp("causes"))


def test_every_row_has_its_causes_sorted_by_probability(told):
    for row in told:
        chances = [one["probability"] for one in row["causes"]]
        assert chances == sorted(chances, reverse=True) and sum(chances) == pytest.approx(1.0, abs=1e-3)
        assert set(row["causes"][0]) == {"cause", "probability", "reasons"}


def test_a_fouled_verdict_without_a_back_flush_gets_no_acid_yet(told):
    fouled = [row for row in told if row["verdict"] == "fouled"]
    assert fouled
    for row in fouled:
        assert row["causes"][0]["cause"] == "exchanger_fouled"
        assert row["why_not_chemical"] and row["next_check"]["check"] in (
            "open_strainer",
            "back_flush",
            "static_test",
        )


def test_no_row_is_told_to_go_chemical_while_a_reason_against_it_stands(told):
    for row in told:
        assert ("Chemical work is reasonable" in row["do_next"]) == (row["why_not_chemical"] is None)


def test_a_surface_within_its_limit_is_left_alone(told):
    clean = [row for row in told if row["verdict"] == "clean"]
    assert clean and all(row["why_not_chemical"] for row in clean)
    for row in clean:
        if row["causes"][0]["cause"] in ("exchanger_fouled", "nothing_wrong"):
            assert "within its fouling limit" in row["do_next"]


def test_causes_can_be_left_out(tmp_path):
    assert all("causes" not in row for row in results(tmp_path, causes=False))
