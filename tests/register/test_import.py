"""Bringing in a contractor's register from one file: by row, repeatable, nothing doubled."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from contractor.register import services
from contractor.register.importing.columns import COLUMNS
from contractor.register.models import Customer, Exchanger, Site, Unit
from contractor.trail.models import Change
from contractor.workqueue.models import WorkItem
from tests import make

pytestmark = pytest.mark.django_db

EXAMPLE = Path(__file__).parents[2] / "fixtures" / "register.csv"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    def run_on(*lines: str, data: bytes = b"", **options: Any) -> tuple[int, str, str]:
        file = tmp_path / "register.csv"
        file.write_bytes(data or "\n".join(lines).encode())
        return command(file, **options)

    return run_on


def command(file: Path, **options: Any) -> tuple[int, str, str]:
    """Exit status, what it told, what it complained of (with the file's plain name)."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("import_register", str(file), stdout=out, stderr=err, **options)
        status = 0
    except SystemExit as end:
        status = int(end.code or 0)
    return status, out.getvalue(), err.getvalue().replace(str(file), "F.csv")


def counted(told: str) -> dict[str, tuple[int, ...]]:
    lines = [line.split() for line in told.splitlines() if "created" in line]
    return {words[0]: tuple(int(word) for word in words if word.isdigit()) for words in lines}


def test_the_example_is_brought_in_and_once_more_changes_nothing() -> None:
    status, told, complained = command(EXAMPLE)
    assert (status, complained) == (0, "")
    assert counted(told) == {
        "customers": (3, 0, 0),
        "sites": (4, 0, 0),
        "units": (4, 0, 0),
        "exchangers": (5, 0, 0),
    }
    last = Change.objects.latest("id").pk
    status, told, _ = command(EXAMPLE)
    assert counted(told) == {
        "customers": (0, 0, 3),
        "sites": (0, 0, 4),
        "units": (0, 0, 4),
        "exchangers": (0, 0, 5),
    }
    assert not Change.objects.filter(pk__gt=last).exists()


def test_sizes_become_si_with_what_was_typed_beside() -> None:
    command(EXAMPLE)
    unit = Unit.objects.get(tag="HR-A-001")
    # by hand: 36 MBH = 36 000 Btu/h * 0.2930711 W; 600 psi * 6894.757 Pa; 8.6 ft2 * 0.09290304 m2
    assert unit.capacity_w == pytest.approx(10_550.56, rel=1e-5)
    assert unit.high_head_cutout_pa_gauge == pytest.approx(600 * 6894.757, rel=1e-6)
    assert unit.as_typed["capacity"] == {"value": "36", "unit": "MBH"}
    assert unit.exchangers.get().area_m2 == pytest.approx(8.6 * 0.09290304)
    site = Site.objects.get(name="Larkfield Court")
    assert (site.antifreeze, site.antifreeze_fraction) == ("propylene_glycol", pytest.approx(0.2))
    assert Site.objects.get(name="Main building").units.count() == 0


def test_ports_and_fan_come_in_with_their_units(run: Run) -> None:
    status, _, complained = run(
        "customer,site,unit,refrigerant,exchanger,between_ports,port_rise [inch],fan_power [W]",
        "Larkfield,Block A,HP-1,R410A,coaxial,strainer and valve,-12,250",
    )
    assert (status, complained) == (0, "")
    exchanger = Exchanger.objects.get()
    assert exchanger.between_ports == "strainer_and_valve"
    assert exchanger.port_rise_m == pytest.approx(-0.3048)  # 12 inches of 25.4 mm
    assert exchanger.unit.fan_power_w == 250.0
    status, _, complained = run(
        "customer,site,unit,refrigerant,exchanger,between_ports",
        "Larkfield,Block A,HP-1,R410A,coaxial,pump",
    )
    assert status != 0 and "coil_only, hoses, strainer, valve, strainer_and_valve" in complained


def test_a_chillers_two_exchangers_are_two_rows_of_one_unit() -> None:
    command(EXAMPLE)
    chiller = Unit.objects.get(tag="HR-B-CH1")
    assert {e.name: e.modes for e in chiller.exchangers.all()} == {
        "condenser": "cooling",
        "evaporator": "heating",
    }


def test_a_dry_run_tells_and_changes_nothing() -> None:
    status, told, _ = command(EXAMPLE, dry_run=True)
    assert status == 0
    assert counted(told)["units"] == (4, 0, 0)
    assert "Nothing was changed" in told
    assert not Customer.objects.exists()
    assert not Change.objects.exists()
    assert not WorkItem.objects.exists()


def test_names_are_matched_whatever_their_capitals_and_spaces(run: Run) -> None:
    run("customer,site,unit,refrigerant,exchanger", "Harbour Reach,Block A,HR-1,R410A,coaxial")
    status, told, _ = run("customer,site,unit,place", " harbour  reach ,BLOCK A,hr-1,roof")
    assert status == 0
    assert counted(told) == {
        "customers": (0, 0, 1),
        "sites": (0, 0, 1),
        "units": (0, 1, 0),
        "exchangers": (0, 0, 0),
    }
    assert Unit.objects.get().place == "roof"
    assert Customer.objects.get().name == "Harbour Reach"


def test_a_changed_cell_changes_its_record_and_asks_for_new_assessments(run: Run) -> None:
    lines = ("customer,site,unit,refrigerant,exchanger,area [m**2]", "H,A,HR-1,R410A,coaxial,0.8")
    run(*lines)
    assert not WorkItem.objects.exists()
    _, told, _ = run(lines[0], "H,A,HR-1,R-410a,coaxial,0.9")
    assert counted(told)["exchangers"] == (0, 1, 0)
    assert counted(told)["units"] == (0, 0, 1)
    assert Exchanger.objects.get().area_m2 == pytest.approx(0.9)
    assert WorkItem.objects.get().kind == "reassess"


def test_a_blank_cell_leaves_what_is_known(run: Run) -> None:
    run("customer,phone,site,unit,refrigerant,place", "H,0100 000000,A,HR-1,R410A,roof")
    status, told, _ = run("customer,phone,site,unit,refrigerant,place", "H,,A,HR-1,,")
    assert (status, counted(told)["units"]) == (0, (0, 0, 1))
    assert (Unit.objects.get().place, Customer.objects.get().phone) == ("roof", "0100 000000")


def test_good_rows_are_brought_in_and_bad_ones_reported_by_line_and_column(run: Run) -> None:
    status, told, complained = run(
        "customer,site,unit,refrigerant,exchanger,area [ft**2],head_pressure_valve",
        "H,A,HR-1,R410A,coaxial,8.6,no",
        "H,A,HR-2,R999,coaxial,8.6,no",
        "H,A,HR-3,R410A,spiral,8.6,no",
        "H,A,HR-4,R410A,coaxial,large,no",
        "H,A,HR-5,R410A,coaxial,-2,maybe",
        "H,A,HR-6,R410A,coaxial,-2,no",
        "H,A,HR-7,R410A,coaxial,8.6,yes",
    )
    assert status == 1
    assert set(Unit.objects.values_list("tag", flat=True)) == {"HR-1", "HR-7"}
    lines = complained.splitlines()
    assert lines[0].startswith(
        "F.csv:3: refrigerant: 'R999': unknown refrigerant 'R999'; expected one of R410A, R22"
    )
    assert lines[1] == (
        "F.csv:4: exchanger: 'spiral': not a word known here; "
        "expected coaxial, brazed_plate, shell_and_tube, plate_and_frame"
    )
    assert (
        lines[2] == "F.csv:5: area [ft**2]: 'large': 'large' is not a number; expected a number such as 85.2"
    )
    assert lines[3] == "F.csv:6: head_pressure_valve: 'maybe': neither yes nor no; expected yes or no"
    assert lines[4] == (
        "F.csv:7: area [ft**2]: '-2': Not above zero; "
        "expected a number above zero, or nothing where it is not known"
    )
    assert len(lines) == 5
    assert "5 rows not brought in" in told


@pytest.mark.parametrize(
    ("heading", "cell", "told"),
    [
        ("antifreeze_fraction [%]", "150", "'150': out of range; expected 0 to 100 %"),
        ("antifreeze_fraction", "1.5", "'1.5': out of range; expected 0 to 1"),
        (
            "elevation [m]",
            '"0,8"',
            "'0,8': decimal comma or thousands comma; expected a decimal point and no other mark, as in 0.8",
        ),
        # 200 K and 400 K by hand: 200 - 273.15, 400 - 273.15
        ("loop_low [degC]", "500", "'500': out of range; expected -73.15 to 126.85 degC"),
    ],
)
def test_a_size_that_cannot_be_is_told_in_the_unit_of_its_heading(
    run: Run, heading: str, cell: str, told: str
) -> None:
    status, _, complained = run(f"customer,site,{heading}", f"H,A,{cell}")
    assert status == 1
    assert complained.splitlines()[0] == f"F.csv:2: {heading}: {told}"


def test_a_row_with_fewer_cells_than_the_heading_is_a_bad_row(run: Run) -> None:
    status, _, complained = run("customer,site,address", "H,A", "H,B,")
    assert status == 1
    assert complained.splitlines()[0].startswith("F.csv:2: 2 cells under 3 columns; expected as many cells")
    assert list(Site.objects.values_list("name", flat=True)) == ["B"]


def test_a_bad_row_leaves_nothing_of_itself(run: Run) -> None:
    status, _, _ = run("customer,site,unit,refrigerant", "New customer,New site,HR-1,R999")
    assert status == 1
    assert not Customer.objects.exists()


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        (["H,A,T-1,R410A,,", "H,B,T-1,R410A,,"], 3, "unit: 'T-1': the tag is on another site in line 2"),
        (["H,A,T-1,R410A,,", "K,A,T-1,R410A,,"], 3, "unit: 'T-1': the tag is on another site in line 2"),
        (["H,A,T-1,R410A,,", "H,A,T-1,R22,,"], 3, "refrigerant: 'R22': line 2 says 'R410A' of the same unit"),
        (["H,A,T-1,R410A,coaxial,1", "H,A,T-1,R410A,coaxial,2"], 3, "area [m**2]: '2': line 2 says '1'"),
        (["H,,T-1,R410A,,"], 2, "site: '': blank, though the row tells of a unit; expected which site it is"),
        ([",A,T-1,R410A,,"], 2, "customer: '': blank"),
        (["H,A,,,coaxial,"], 2, "unit: '': blank, though the row tells of a exchanger"),
        (["H,A,T-1,,,"], 2, "refrigerant: '': a new unit; expected its refrigerant"),
        (["H,A,T-1,R410A,,1"], 2, "exchanger: '': a new exchanger; expected its kind"),
        (["H,A,T-1,R410A,coaxial,1,surplus"], 2, "7 cells under 6 columns"),
        (['H,A,"T-1,R410A,coaxial,1'], 2, "unexpected end of data"),
    ],
)
def test_contradictions_and_gaps_are_said(run: Run, rows: list[str], line: int, words: str) -> None:
    status, _, complained = run("customer,site,unit,refrigerant,exchanger,area [m**2]", *rows)
    assert status == 1
    assert complained.startswith(f"F.csv:{line}: {words}")
    assert "; expected " in complained


def test_a_tag_that_stands_elsewhere_in_the_register_is_not_moved(run: Run) -> None:
    make.unit(make.site(make.customer(name="Larkfield"), name="Court"), tag="T-1")
    status, _, complained = run("customer,site,unit", "H,A,T-1")
    assert status == 1
    assert "the tag is on a unit at Court of Larkfield; expected that site" in complained


def test_what_is_retired_is_brought_back_by_a_person_not_by_a_file(run: Run) -> None:
    site = make.site(make.customer(name="H"), name="A")
    services.retire_site(site, timezone.now())
    status, _, complained = run("customer,site", "H,A")
    assert status == 1
    assert "F.csv:2: site: 'A': this site is retired" in complained


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("customer,site,unit,area", "F.csv:1: area: no unit; expected area [m**2]"),
        ("customer,site,unit,high_head_cutout [psi]", "must say gauge or absolute; expected psig or psia"),
        ("customer,site,unit,area [degF]", "not a unit of area"),
        (
            "customer,site,unit,area [m**2],area [ft**2]",
            "also there as area [m**2]; expected each column once",
        ),
        ("customer,site,unit,place [m]", "this column takes no unit"),
        ("customer;site;unit", "semicolons between the columns; expected commas"),
        ("site,unit", "no column customer"),
        ("", "no column customer"),
        ("customer,site,unit,design_flow [kg/s]", "a mass a time"),
    ],
)
def test_a_wrong_header_runs_nothing(run: Run, header: str, words: str) -> None:
    status, told, complained = run(header, "H,A,T-1,1")
    assert (status, told) == (2, "")
    assert words in complained
    assert not Customer.objects.exists()


def test_a_file_that_is_not_there_or_not_text_runs_nothing(run: Run, tmp_path: Path) -> None:
    assert command(tmp_path / "none.csv")[0] == 2
    status, _, complained = run(data=b"customer,site\nH\xff,A")
    assert (status, complained) == (
        2,
        "F.csv: not UTF-8 text; expected comma-separated values saved as UTF-8\n",
    )


def test_an_unknown_column_is_said_and_not_used(run: Run) -> None:
    status, _, complained = run("customer,colour", "H,blue")
    assert status == 0
    assert complained == "F.csv:1: colour: warning: not a column of a register file, not used\n"


def test_a_byte_order_mark_and_windows_line_ends_are_fine(run: Run) -> None:
    status, _, complained = run(data="\ufeffcustomer,site\r\nH,Käthe\u2019s Hof\r\n\r\n".encode())
    assert (status, complained) == (0, "")
    assert Site.objects.get().name == "Käthe\u2019s Hof"


def test_the_trail_names_who_answers_for_it(run: Run) -> None:
    office = make.person("office")
    run("customer", "H", by=office.email)
    assert Change.objects.latest("id").person == office
    run("customer", "K")
    assert Change.objects.latest("id").by == "import_register"
    for stranger in ("nobody@example.org", make.person("technician").email):
        with pytest.raises(CommandError, match="someone of the office"):
            run("customer", "L", by=stranger)


def test_every_column_of_the_file_reaches_its_record(run: Run) -> None:
    """A row with every column filled is brought in, and each record has the value in its column."""
    samples = {
        "customer": "H", "site": "A", "unit": "T-1", "refrigerant": "R410A", "exchanger": "coaxial",
        "time_zone": "Europe/London", "email": "a@example.org", "water_source": "well", "antifreeze": "none",
        "unit_kind": "water_cooled_chiller", "expansion": "fixed", "exchanger_modes": "cooling",
        "metal": "copper", "between_ports": "hoses",
        "flow_in_heating": "parallel", "access_from": "07:00", "access_until": "18:00", "quiet_from": "22:00",
        "quiet_until": "06:00", "loop_low": "280", "loop_high": "310", "antifreeze_fraction": "0.2",
        "freeze_cutout": "275", "discharge_highest": "313", "wetted_materials": "gaskets: epdm",
    }  # fmt: skip
    header, cells = [], []
    for column in COLUMNS:
        unit = f" [{column.quantity.si_unit}]" if column.quantity else ""
        header.append(column.name + unit)
        kind = getattr(column.read, "__name__", "")
        cells.append(samples.get(column.name, "yes" if kind == "yes_no" else "2"))
    status, _, complained = run(",".join(header), ",".join(cells))
    assert (status, complained) == (0, "")
    rows = {"customer": Customer.objects.get(), "site": Site.objects.get(), "unit": Unit.objects.get(),
            "exchanger": Exchanger.objects.get()}  # fmt: skip
    for column in COLUMNS:
        name = column.quantity.column if column.quantity else column.field
        assert getattr(rows[column.record], name) not in (None, ""), column.name
