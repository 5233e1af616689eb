"""The real command as people run it, on a few units, in a folder of its own."""

from __future__ import annotations

import json
import re
import socket
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.demo import small

COUNTED = (
    "visits_reading",
    "diagnostics_assessment",
    "reporting_document",
    "accounts_person",
    "register_unit",
)


@pytest.fixture(scope="module")
def var(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("demo")


@pytest.fixture(scope="module")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small.scenario_in(tmp_path_factory.mktemp("scenario"))


@pytest.fixture(scope="module")
def first(var: Path, scenario: Path) -> subprocess.CompletedProcess[str]:
    done = small.demo(var, "--no-serve", "--scenario", str(scenario))
    assert done.returncode == 0, done.stdout + done.stderr
    return done


def test_it_says_what_to_do_next_beside_the_truth(first: subprocess.CompletedProcess[str]) -> None:
    table = first.stdout.partition("what to do next")[2].partition("Reports as PDF")[0]
    for name in ("HRQ-11", "HRS-03 cond.", "HRS-03 evap.", "LFC-05"):
        assert re.search(rf"^{re.escape(name)} +\S", table, re.MULTILINE), name
    assert re.search(r"HRQ-11 +Clean the strainer", table), "the blocked strainer comes before any acid"
    assert "; low on charge" in table and "; strainer blocked" in table, "the truth beside it"
    assert re.search(r"(fouled|clean|undecided) \d+ %", table)
    assert re.search(r"holds the truth for \d+ of the \d+", first.stdout)


def test_it_assesses_every_reading_and_writes_a_report_for_each_exchanger(
    first: subprocess.CompletedProcess[str], var: Path
) -> None:
    readings = small.count(var, "visits_reading")
    assert f"{readings} of {readings} readings assessed" in first.stdout
    assert small.count(var, "diagnostics_assessment") == readings > 20
    assert "4 of 4 reports written" in first.stdout
    paths = [Path(line.strip()) for line in first.stdout.splitlines() if line.strip().endswith(".pdf")]
    assert len(paths) == 4 and all(var in path.parents for path in paths)
    for path in paths:
        assert PdfReader(path).pages[0].extract_text().startswith("What to do next")


def test_it_prints_sign_ins_of_every_role_that_are_kept_in_no_other_place(
    first: subprocess.CompletedProcess[str], var: Path
) -> None:
    kept = json.loads((var / "demo-sign-ins.json").read_text())
    assert {one["role"] for one in kept.values()} == {"owner", "office", "technician", "client"}
    for email, one in kept.items():
        assert re.search(rf"{one['role']} +{re.escape(email)} +{re.escape(one['password'])}", first.stdout)
    assert (var / "demo-sign-ins.json").stat().st_mode & 0o077 == 0, "for its owner only"
    database = (var / "waterside.sqlite3").read_bytes()
    assert not any(one["password"].encode() in database for one in kept.values())


def test_run_again_it_duplicates_nothing(
    first: subprocess.CompletedProcess[str], var: Path, scenario: Path
) -> None:
    before = {model: small.count(var, model) for model in COUNTED}
    again = small.demo(var, "--no-serve", "--scenario", str(scenario))
    assert again.returncode == 0, again.stderr
    assert {model: small.count(var, model) for model in COUNTED} == before
    same = "what to do next"
    assert (
        again.stdout.partition(same)[2].partition("done in")[0]
        == (first.stdout.partition(same)[2].partition("done in")[0])
    )


def test_it_keeps_out_of_a_register_that_is_not_its_own(tmp_path: Path, scenario: Path) -> None:
    small.in_its_shell(
        tmp_path,
        "from django.core.management import call_command; call_command('migrate', verbosity=0)\n"
        "from contractor.register.models import Customer; Customer.objects.create(name='A real customer')",
    )
    refused = small.demo(tmp_path, "--no-serve", "--scenario", str(scenario))
    assert refused.returncode == 1 and "not the demo's" in refused.stderr
    assert small.count(tmp_path, "register_customer") == 1


@pytest.mark.parametrize("name", ["DATABASE_URL", "REDIS_URL"])
def test_it_refuses_the_grown_setting(name: str, tmp_path: Path) -> None:
    address = {"DATABASE_URL": "postgresql://nobody@127.0.0.1:9/none", "REDIS_URL": "redis://127.0.0.1:9/0"}
    refused = small.demo(tmp_path, "--no-serve", **{name: address[name], "WATERSIDE_SECRET_KEY": "a" * 50})
    assert refused.returncode == 1 and name in refused.stderr


def test_a_taken_port_is_told_before_any_work(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        refused = small.demo(tmp_path, "--port", str(taken.getsockname()[1]))
    assert refused.returncode == 1 and "--port" in refused.stderr
    assert not (tmp_path / "waterside.sqlite3").exists()
