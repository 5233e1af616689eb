"""Cleaners' sheets: drafts, what a sheet may allow, files, stock; the whole table of metals and acids."""

from __future__ import annotations

import datetime as dt
from io import StringIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command

from contractor.http.problems import Problem
from contractor.register import services, sheets
from contractor.register.models import Cleaner, CleanerLot
from contractor.trail.models import Change
from diagnostics.engine.descaling.cleaners import CLEANERS, fitness
from diagnostics.engine.descaling.metals import MATERIALS, TABLE
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
COLUMN = {
    "allowed": "metals_allowed",
    "only_inhibited": "metals_only_inhibited",
    "forbidden": "metals_forbidden",
}
MILD_TO_STRICT = list(COLUMN)


def of_acid(name: str, column: str, material: str) -> dict[str, Any]:
    return {"name": f"{name} {column}", "acids": [{"acid": name, "share": 1}], column: [material]}


@pytest.mark.parametrize("material", MATERIALS)
def test_the_api_takes_no_sheet_that_allows_more_than_the_table(cast: Cast, material: str) -> None:
    """Every pair, each of the three columns: a stricter one is taken, a milder one is refused with words."""
    office = as_person(cast.office)
    for (metal, acid), row in TABLE.items():
        if metal != material:
            continue
        for state, column in COLUMN.items():
            answer = office.post("/api/v1/cleaners/", of_acid(acid, column, material))
            milder = MILD_TO_STRICT.index(state) < MILD_TO_STRICT.index(row.state)
            assert answer.status_code == (400 if milder else 201), (acid, column)
            if milder:
                assert answer.json()["errors"][0]["pointer"] == f"#/{column}"
                assert COLUMN[row.state] in answer.json()["errors"][0]["detail"]


def test_a_change_cannot_allow_more_than_the_table_either(cast: Cast) -> None:
    """White vinegar's sheet turned into hydrochloric's by its acid alone: stainless is pitted by chloride
    (UFC 3-240-13FN, 9-2.2.6)."""
    made = services.add_cleaner(of_acid("acetic", "metals_allowed", "stainless_316"))
    with pytest.raises(Problem, match="hydrochloric acid on stainless 316"):
        services.change_cleaner(made, {"acids": [{"acid": "hydrochloric", "share": 1}]})
    made.refresh_from_db()
    assert made.acids == [{"acid": "acetic", "share": 1}]


@pytest.mark.parametrize("name", CLEANERS)
def test_a_generic_sheet_goes_through_the_register_and_fits_what_it_fitted_before(name: str) -> None:
    call_command("add_generic_cleaners", stdout=StringIO())
    row = Cleaner.objects.get(name=f"{name.replace('_', ' ')} (generic)")
    back, before = sheets.sheet_of(row), CLEANERS[name]
    for material in MATERIALS:
        assert fitness(back, [material]).usable == fitness(before, [material]).usable, material
    assert back.strengths == before.strengths
    assert back.acid_shares == pytest.approx(before.acid_shares)


def test_every_property_of_a_generic_sheet_has_a_source() -> None:
    for cleaner in services.add_generic_cleaners():
        unsourced = {name for name in sheets.COMPULSORY if name not in cleaner.sources} - {
            "strength_low", "strength_usual", "strength_high",  # one source: strengths
        }  # fmt: skip
        assert unsourced == set()
        assert cleaner.sources["strengths"]


def test_the_generic_sheets_are_added_once() -> None:
    assert len(services.add_generic_cleaners()) == len(CLEANERS)
    assert services.add_generic_cleaners() == []


def test_a_draft_can_be_stored_and_says_what_it_lacks(cast: Cast) -> None:
    answer = as_person(cast.office).post("/api/v1/cleaners/", {"name": "From a drum without a label"})
    assert answer.status_code == 201
    assert {"acids", "longest_time_s", "metals_allowed"} <= set(answer.json()["missing"])
    assert answer.json()["missing_papers"] == ["label", "label_on", "safety_sheet", "safety_sheet_on"]


def test_nobody_plans_with_a_draft() -> None:
    draft = services.add_cleaner({"name": "Draft", "acids": [{"acid": "citric", "share": 1}]})
    with pytest.raises(Problem) as refused:
        sheets.sheet_of(draft)
    assert refused.value.kind == "sheet-incomplete"
    assert {"pointer": "#/renewal_ph", "detail": "Missing on the sheet."} in refused.value.errors or {
        "pointer": "/renewal_ph",
        "detail": "Missing on the sheet.",
    } in refused.value.errors


@pytest.mark.parametrize("missing", sheets.COMPULSORY)
def test_each_compulsory_field_is_missed(missing: str) -> None:
    call_command("add_generic_cleaners", stdout=StringIO())
    whole = Cleaner.objects.get(name="citric (generic)")
    assert sheets.missing_fields(whole) == ()
    empty: Any = "" if missing in ("form", "disposal", "storage") else None
    setattr(whole, missing, [] if isinstance(getattr(whole, missing), list) else empty)
    assert missing in sheets.missing_fields(whole)


def test_what_a_sheet_does_not_list_it_forbids() -> None:
    made = services.add_cleaner({"name": "x", "inhibited": True, "metals_allowed": ["ptfe"],
                                 "metals_only_inhibited": ["copper"]})  # fmt: skip
    forbidden = sheets.forbidden_by_sheet(made)
    assert "ptfe" not in forbidden and "copper" not in forbidden and "titanium" in forbidden
    made.inhibited = False
    assert "copper" in sheets.forbidden_by_sheet(made)


def test_strengths_and_times_are_taken_as_typed(cast: Cast) -> None:
    typed = {"highest_temperature": {"value": "120", "unit": "degF"},
             "longest_time": {"value": "4", "unit": "hour"},
             "strength_usual": {"value": "10", "unit": "%"}}  # fmt: skip
    answer = as_person(cast.office).post("/api/v1/cleaners/", {"name": "y", "as_typed": typed})
    assert answer.status_code == 201, answer.json()
    assert answer.json()["highest_temperature_k"] == pytest.approx(322.039, abs=1e-3)  # (120 - 32) / 1.8
    assert answer.json()["longest_time_s"] == 14_400
    assert answer.json()["strength_usual"] == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("field", "given", "said"),
    [
        ("acids", [{"acid": "battery", "share": 1}], "no acid known here"),
        ("acids", [{"acid": "citric", "share": 0.5}], "make 1 together"),
        ("acids", "citric", "expected a list"),
        ("metals_forbidden", ["unobtainium"], "not known here"),
        ("neutralisers", ["lime"], "sodium_bicarbonate"),
        ("protection", [3], "list of words"),
        ("sources", [], "expected an object"),
    ],
)
def test_a_list_that_cannot_be_read_is_told_with_what_would_be_right(
    cast: Cast, field: str, given: Any, said: str
) -> None:
    answer = as_person(cast.office).post("/api/v1/cleaners/", {"name": "z", field: given})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == f"#/{field}"
    assert said in answer.json()["errors"][0]["detail"]


PDF = b"%PDF-1.7 a sheet"


@pytest.mark.parametrize("paper", ["label", "safety-sheet"])
def test_a_paper_is_kept_and_given_back_as_a_file_that_no_browser_runs(cast: Cast, paper: str) -> None:
    cleaner, office = services.add_cleaner({"name": "a"}), as_person(cast.office)
    address = f"/api/v1/cleaners/{cleaner.pk}/{paper}/"
    assert office.get(address).status_code == 404
    sent = office.post(address, {"file": SimpleUploadedFile("whatever.exe", PDF)}, format="multipart")
    assert (sent.status_code, sent["Location"]) == (201, address)
    got = as_person(cast.assigned).get(address)
    assert b"".join(got.streaming_content) == PDF
    assert got["Content-Type"] == "application/pdf"
    assert got["Content-Disposition"] == f'attachment; filename="{paper}.pdf"'
    assert got["X-Content-Type-Options"] == "nosniff" and "sandbox" in got["Content-Security-Policy"]


@pytest.mark.parametrize("content", [b"", b"<html>", b"MZ\x90", b" %PDF-1.4", b"GIF89a"])
def test_what_is_no_paper_by_its_first_bytes_is_refused(cast: Cast, content: bytes) -> None:
    cleaner = services.add_cleaner({"name": "a"})
    address, file = f"/api/v1/cleaners/{cleaner.pk}/label/", SimpleUploadedFile("a.pdf", content)
    sent = as_person(cast.office).post(address, {"file": file}, format="multipart")
    assert sent.status_code == 400
    cleaner.refresh_from_db()
    assert not cleaner.label


def test_a_paper_that_is_too_large_is_refused(cast: Cast) -> None:
    cleaner = services.add_cleaner({"name": "a"})
    sent = as_person(cast.office).post(
        f"/api/v1/cleaners/{cleaner.pk}/label/",
        {"file": SimpleUploadedFile("a.pdf", PDF + bytes(11 * 1024 * 1024))}, format="multipart",
    )  # fmt: skip
    assert sent.status_code in (400, 413) and "10 MB" in sent.json()["detail"]


def test_an_older_label_stays_in_the_storage_and_its_name_in_the_trail(cast: Cast) -> None:
    cleaner = services.add_cleaner({"name": "a"})
    first = services.keep_paper(cleaner, "label", SimpleUploadedFile("a.pdf", PDF)).label.name
    services.keep_paper(cleaner, "label", SimpleUploadedFile("a.pdf", PDF + b"2"))
    assert cleaner.label.name != first and cleaner.label.storage.exists(first)
    assert any(first in str(change.fields) for change in Change.objects.filter(row_id=str(cleaner.pk)))


def test_usable_lots_are_those_not_expired_with_something_left() -> None:
    cleaner, day = services.add_cleaner({"name": "a"}), dt.date(2027, 3, 1)
    for lot, expires, left in (("good", day, 5.0), ("old", day - dt.timedelta(days=1), 5.0),
                               ("empty", None, 0.0), ("uncounted", None, None)):  # fmt: skip
        services.add_cleaner_lot({"cleaner": cleaner, "lot": lot, "expires_on": expires, "quantity_kg": left})
    assert {lot.lot for lot in CleanerLot.objects.usable_on(day)} == {"good", "uncounted"}


def test_pouring_more_than_the_count_says_is_kept() -> None:
    lot = services.add_cleaner_lot({"cleaner": services.add_cleaner({"name": "a"}), "lot": "1",
                                    "quantity_kg": 2.0})  # fmt: skip
    assert services.take_from_lot(lot, 2.5).quantity_kg == pytest.approx(-0.5)


def test_all_that_a_bath_would_touch_is_asked_part_by_part() -> None:
    parts = {"joints": "tin_solder", "valve_bodies": "bronze", "strainer": "not_fitted"}
    exchanger = make.exchanger(metal="cupronickel", wetted_materials=parts)
    rig = services.add_rig({"name": "r", "wetted_materials": {"tank": "polyethylene"}})
    found = sheets.wetted(exchanger, rig)
    assert found.materials == ("cupronickel", "tin_solder", "bronze", "polyethylene")
    assert {"gaskets", "flow_switch", "rig's pump"} <= set(found.unknown)
    assert "strainer" not in found.unknown


@pytest.mark.parametrize(
    "curve", [[[0, 12]], [[0, 5], [0.001, 9]], [[0.001, 5], [0, 9]], [["a", 1], [2, 0]], {"0": 1}]
)
def test_a_pump_curve_that_cannot_be_is_refused(cast: Cast, curve: Any) -> None:
    answer = as_person(cast.office).post("/api/v1/rigs/", {"name": "r", "pump_curve": curve})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/pump_curve"


def test_a_sites_limits_are_those_entered_and_else_the_general_ones() -> None:
    """40 CFR 403.5(b): nothing below pH 5, nothing that makes the works warmer than 40 degC."""
    entered = sheets.site_limits(make.site(discharge_ph_high=9.5, discharge_copper_mg_per_l=4.57))
    assert (entered.lowest_ph, entered.highest_ph) == (5.0, 9.5)
    assert entered.hottest_k == pytest.approx(313.15)
    assert entered.concentrations_mg_per_l == {"copper": 4.57}


def test_a_rigs_pump_is_what_its_points_say() -> None:
    rig = services.add_rig({"name": "r", "pump_curve": [[0, 12], [0.0004, 9], [0.0008, 0]]})
    pump = sheets.pump_of(rig)
    assert pump is not None
    assert pump.shut_off_pressure_pa == pytest.approx(12 * 998.2 * 9.80665, rel=1e-3)
    assert pump.greatest_flow_m3_per_s == pytest.approx(8e-4, rel=1e-3)
    assert sheets.pump_of(services.add_rig({"name": "no curve"})) is None


def test_a_material_that_nobody_knows_is_refused_by_the_api(cast: Cast) -> None:
    answer = as_person(cast.office).patch(
        f"/api/v1/exchangers/{cast.exchanger.pk}/", {"wetted_materials": {"gaskets": "chewing gum"}},
        headers={"If-Match": "*"},
    )  # fmt: skip
    assert answer.status_code == 400
    assert "epdm" in answer.json()["errors"][0]["detail"]
