"""A firm's own sheets from one file: the whole table of metals and acids, drafts, papers, twice the same."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from contractor.register import services, sheets
from contractor.register.models import Cleaner
from contractor.trail.models import Change
from diagnostics.engine.descaling.metals import TABLE
from tests import make

pytestmark = pytest.mark.django_db

EXAMPLE = Path(__file__).parents[2] / "fixtures" / "cleaners.csv"
COLUMN = {
    "allowed": "metals_allowed",
    "only_inhibited": "metals_only_inhibited",
    "forbidden": "metals_forbidden",
}
MILD_TO_STRICT = list(COLUMN)
PDF = b"%PDF-1.7 a sheet"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    def run_on(*lines: str, **options: Any) -> tuple[int, str, str]:
        file = tmp_path / "cleaners.csv"
        file.write_text("\n".join(lines))
        return command(file, **options)

    return run_on


def command(file: Path, **options: Any) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("import_cleaners", str(file), stdout=out, stderr=err, **options)
        status = 0
    except SystemExit as end:
        status = int(end.code or 0)
    return status, out.getvalue(), err.getvalue().replace(str(file), "F.csv")


def test_no_imported_sheet_allows_more_than_the_table(run: Run) -> None:
    """Every pair in each of the three columns: a stricter one comes in, a milder one is refused by its line
    and column with the column it belongs under."""
    lines, wanted = ["cleaner,acids,metals_allowed,metals_only_inhibited,metals_forbidden"], []
    for (metal, acid), row in TABLE.items():
        for state in COLUMN:
            cells = [metal if one == state else "" for one in COLUMN]
            lines.append(f"{metal} {acid} {state},{acid},{','.join(cells)}")
            milder = MILD_TO_STRICT.index(state) < MILD_TO_STRICT.index(row.state)
            wanted.append((f"{metal} {acid} {state}", milder, COLUMN[state], COLUMN[row.state]))
    assert len(wanted) == 24 * 9 * 3
    status, _, complained = run(*lines)
    said = {int(one.split(":")[1]): one for one in complained.splitlines()}
    there = set(Cleaner.objects.values_list("name", flat=True))
    assert status == 1
    for line, (name, milder, column, right) in enumerate(wanted, 2):
        assert (name not in there) is milder is (line in said), name
        if milder:
            assert f" {column}:" in said[line] and said[line].endswith(f"expected it under {right}"), said


def test_the_example_comes_in_is_planned_with_and_once_more_changes_nothing() -> None:
    status, told, complained = command(EXAMPLE)
    assert (status, complained) == (0, "")
    assert "2 created     0 changed     0 unchanged" in told
    citric = Cleaner.objects.get(name="Workshop citric")
    assert sheets.missing_fields(citric) == ()
    sheet = sheets.sheet_of(citric)
    assert sheet.strengths == (0.02, 0.04, 0.05) and sheet.acids == ("citric",)
    assert citric.highest_temperature_k == pytest.approx(333.15)  # (140 - 32) / 1.8 degC
    assert citric.longest_time_s == 12 * 3600 and citric.sources["strengths"] == "the label"
    assert citric.protection == ["goggles and face shield", "acid-proof gloves", "apron"]
    last = Change.objects.latest("id").pk
    status, told, _ = command(EXAMPLE)
    assert status == 0 and "0 created     0 changed     2 unchanged" in told
    assert not Change.objects.filter(pk__gt=last).exists()


def test_a_draft_comes_in_and_every_field_that_it_lacks_is_named(run: Run) -> None:
    status, told, _ = run("cleaner,acids,storage", "Drum,citric,dry")
    assert status == 0
    [line] = [line for line in told.splitlines() if "Drum" in line]
    named = set(line.partition("lacks: ")[2].split(", "))
    wanted = {*sheets.COMPULSORY, *sheets.PAPERS, "renewal_ph", "metals_allowed"} - {"acids", "storage"}
    assert named == {name.replace("_", " ") for name in wanted}


def test_papers_beside_the_file_are_kept_once(run: Run, tmp_path: Path) -> None:
    (tmp_path / "label.pdf").write_bytes(PDF)
    row = ("cleaner,label_file,label_on", "Drum,label.pdf,2026-03-01")
    assert run(*row, dry_run=True)[0] == 0 and not Cleaner.objects.exists()
    assert run(*row)[0] == 0
    drum = Cleaner.objects.get()
    with drum.label.open("rb") as kept:
        assert kept.read() == PDF
    name = drum.label.name
    assert "1 unchanged" in run(*row)[1]
    assert Cleaner.objects.get().label.name == name
    (tmp_path / "label.pdf").write_bytes(PDF + b" of spring")
    assert "1 changed" in run(*row)[1]


@pytest.mark.parametrize(
    ("heading", "cell", "said"),
    [
        ("acids", "battery", "'battery' is no acid known here; expected hydrochloric"),
        ("acids", "glycolic: 60 %; formic: 20 %", "shares do not make 1 together; expected such as"),
        ("metals_allowed", "unobtainium", "'unobtainium' is not known here; expected copper"),
        ("metals_forbidden", "copper; copper", "stands there twice"),
        ("label_on", "03/01/2026", "not a date; expected year, month, day"),
        ("label_file", "nowhere.pdf", "No such file or directory; expected a file of this name beside"),
        ("inhibited", "perhaps", "neither yes nor no"),
        ("sources", "strengths", "does not say who says it"),
        ("strength_usual [%]", "140", "expected"),
        ("highest_temperature [degC]", "120", "expected"),
    ],
)
def test_a_cell_that_will_not_do_is_told_by_line_and_column(
    run: Run, heading: str, cell: str, said: str
) -> None:
    status, _, complained = run(f"cleaner,{heading}", f"Drum,{cell}", "Other,")
    assert status == 1 and complained.startswith(f"F.csv:2: {heading}:"), complained
    assert said in complained
    assert list(Cleaner.objects.values_list("name", flat=True)) == ["Other"]


def test_a_name_twice_or_blank_and_a_retired_cleaner_are_refused(run: Run) -> None:
    services.retire_cleaner(services.add_cleaner({"name": "Gone"}), timezone.now())
    status, _, complained = run("cleaner,storage", "Drum,dry", "drum ,wet", ",dry", "Gone,dry")
    assert status == 1
    assert [line.partition(": ")[2][:24] for line in complained.splitlines()] == [
        "cleaner: 'drum': also in", "cleaner: '': blank; expe", "cleaner: 'Gone': Gone is",
    ]  # fmt: skip


def test_a_header_that_is_no_sheets_file_runs_nothing(run: Run) -> None:
    assert run("name;acids", "Drum;citric")[0] == 2
    status, _, complained = run("cleaner,longest_time", "Drum,4")
    assert status == 2 and "longest_time: no unit; expected longest_time [" in complained


def test_who_answers_for_it_stands_in_the_trail(run: Run) -> None:
    office = make.person("office")
    assert run("cleaner", "Drum", by=office.email)[0] == 0
    assert Change.objects.latest("id").person == office
    run("cleaner", "Other")
    assert Change.objects.latest("id").by == "import_cleaners"
