"""Records over the API: created, changed under If-Match, retired and brought back, with refusals in words."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from contractor.register import services
from contractor.register.models import Exchanger, Site, Unit
from contractor.trail.models import Change
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

ANY = {"If-Match": "*"}


def patch(person: Any, address: str, sent: dict[str, Any], tag: str = "*") -> Any:
    return as_person(person).patch(f"/api/v1/{address}/", sent, headers={"If-Match": tag})


def test_a_unit_is_added_as_typed_and_read_back_in_both_forms(cast: Cast) -> None:
    sent = {
        "site": str(cast.site.pk),
        "tag": "HR-A-002",
        "refrigerant": "r-410a",
        "as_typed": {
            "capacity": {"value": "36", "unit": "MBH"},
            "high_head_cutout": {"value": 600, "unit": "psig"},
        },
    }
    answer = as_person(cast.office).post("/api/v1/units/", sent)
    assert answer.status_code == 201, answer.data
    assert answer.data["refrigerant"] == "R410A"
    assert answer.data["capacity_w"] == pytest.approx(10_550.56, rel=1e-5)  # 36 000 Btu/h * 0.2930711 W
    assert answer.data["as_typed"]["high_head_cutout"] == {"value": "600", "unit": "psig"}
    again = as_person(cast.office).get(answer["Location"])
    assert again.data == answer.data
    shown_only = {"id", "version", "created_at", "changed_at", "retired_at"}
    written = {name: value for name, value in answer.data.items() if name not in shown_only}
    back = patch(cast.office, f"units/{answer.data['id']}", written, answer["ETag"])
    assert back.status_code == 200
    assert back.data["version"] == 1  # sent back as it was: nothing changed


def test_an_absolute_cutout_becomes_a_gauge_pressure_at_the_sites_elevation(cast: Cast) -> None:
    services.change_site(cast.site, {"elevation_m": 1600.0})
    typed = {"high_head_cutout": {"value": "4000", "unit": "kPa_abs"}}
    answer = patch(cast.office, f"units/{cast.unit.pk}", {"as_typed": typed})
    # U.S. Standard Atmosphere 1976: 83.52 kPa at 1600 m
    assert answer.data["high_head_cutout_pa_gauge"] == pytest.approx(4_000_000 - 83_520, abs=20)


@pytest.mark.parametrize(
    ("address", "sent", "pointer", "words"),
    [
        ("units", {"refrigerant": "R999"}, "#/refrigerant", "expected one of R410A"),
        ("units", {"kind": "boiler"}, "#/kind", "water_cooled_chiller"),
        ("units", {"capacity_w": -1}, "#/capacity_w", "expected a number above zero"),
        ("units", {"capacity_w": "1e999"}, "#/capacity_w", "number"),
        ("units", {"stages": 0}, "#/stages", "between 1 and 20"),
        ("sites", {"time_zone": "Mars/Base"}, "#/time_zone", "Europe/London"),
        ("sites", {"elevation_m": 9000}, "#/elevation_m", "between -500 and 6000"),
        ("sites", {"access_from": "07:00"}, "#/access_from", "both or neither"),
        ("sites", {"loop_low_k": 300, "loop_high_k": 290}, "#/loop_low_k", "must not lie above"),
        ("sites", {"antifreeze_fraction": 30}, "#/antifreeze_fraction", "between 0 and 1"),
        ("sites", {"as_typed": {"elevation": {"value": 2}}}, "#/as_typed/elevation/unit", "m, mm"),
        ("exchangers", {"area_m2": 0}, "#/area_m2", "expected a number above zero"),
        ("exchangers", {"metal": "wood"}, "#/metal", "cupronickel"),
        ("exchangers", {"count": 2.5}, "#/count", "valid integer"),
        ("exchangers", {"colour": "blue"}, "#/colour", "Unknown field"),
    ],
)  # fmt: skip
def test_what_is_not_right_is_pointed_to(
    cast: Cast, address: str, sent: dict[str, Any], pointer: str, words: str
) -> None:
    row = {"units": cast.unit, "sites": cast.site, "exchangers": cast.exchanger}[address]
    answer = patch(cast.office, f"{address}/{row.pk}", sent)
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == pointer
    assert words in answer.data["errors"][0]["detail"]
    row.refresh_from_db()
    assert row.version == 1


@pytest.mark.parametrize("field", ["id", "version", "created_at", "retired_at", "customer"])
def test_what_may_not_be_changed_is_refused_not_dropped(cast: Cast, field: str) -> None:
    other = {"customer": str(cast.other_customer.pk), "id": str(cast.unit.pk), "version": 9}
    answer = patch(cast.office, f"sites/{cast.site.pk}", {field: other.get(field, "2020-01-01T00:00:00Z")})
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == f"#/{field}"
    assert Site.objects.get(pk=cast.site.pk).customer == cast.customer


def test_two_people_cannot_overwrite_each_other(cast: Cast) -> None:
    address, tag = f"sites/{cast.site.pk}", f'"{cast.site.pk}-1"'
    assert patch(cast.office, address, {"address": "1 Quay"}, tag).status_code == 200
    late = patch(cast.owner, address, {"address": "2 Quay"}, tag)
    assert (late.status_code, late["ETag"]) == (412, f'"{cast.site.pk}-2"')
    assert as_person(cast.owner).patch(f"/api/v1/{address}/", {"address": "3"}).status_code == 428


@pytest.mark.parametrize(
    ("address", "sent", "pointer"),
    [
        ("customers", {"name": "harbour reach OFFICES"}, "#/name"),
        ("units", {"tag": "hr-a-001", "refrigerant": "R410A"}, "#/tag"),
        ("sites", {"name": "HARBOUR REACH, block a"}, "#/name"),
        ("exchangers", {"name": "1", "kind": "coaxial"}, "#/name"),
    ],
)
def test_a_second_of_the_same_name_is_a_conflict(cast: Cast, address: str, sent: Any, pointer: str) -> None:
    above = {"units": {"site": str(cast.site.pk)}, "sites": {"customer": str(cast.customer.pk)},
             "exchangers": {"unit": str(cast.unit.pk)}}.get(address, {})  # fmt: skip
    answer = as_person(cast.office).post(f"/api/v1/{address}/", {**sent, **above})
    assert answer.status_code == 409
    assert answer.data["errors"][0]["pointer"] == pointer


def test_a_customer_retires_with_all_below_and_comes_back_with_it(cast: Cast) -> None:
    quiet = make.customer()
    site = make.site(quiet)
    unit = make.unit(site)
    exchanger = make.exchanger(unit)
    services.retire_exchanger(make.exchanger(unit, name="old"), timezone.now() - dt.timedelta(days=9))
    client = as_person(cast.office)
    assert client.post(f"/api/v1/customers/{quiet.pk}/retire/", headers=ANY).status_code == 200
    assert not (Site.objects.in_use() & Site.objects.filter(pk=site.pk)).exists()
    assert Unit.objects.get(pk=unit.pk).is_retired
    assert Exchanger.objects.filter(unit=unit).in_use().count() == 0
    assert Change.objects.filter(table="register.unit", row_id=str(unit.pk), person=cast.office).exists()
    assert client.post(f"/api/v1/sites/{site.pk}/bring-back/", headers=ANY).status_code == 409
    assert client.post(f"/api/v1/customers/{quiet.pk}/bring-back/", headers=ANY).status_code == 200
    assert list(Exchanger.objects.filter(unit=unit).in_use()) == [exchanger]


def test_nothing_is_added_to_what_is_retired(cast: Cast) -> None:
    site = make.site(cast.customer, retired_at=timezone.now())
    sent = {"site": str(site.pk), "tag": "T-9", "refrigerant": "R22"}
    answer = as_person(cast.office).post("/api/v1/units/", sent)
    assert (answer.status_code, answer.data["type"]) == (409, "/api/v1/problems/retired/")


def test_a_unit_with_readings_stays_where_it_was_read(cast: Cast) -> None:
    elsewhere = make.site(cast.customer)
    assert patch(cast.office, f"units/{cast.unit.pk}", {"site": str(elsewhere.pk)}).status_code == 200
    Unit.objects.filter(pk=cast.unit.pk).update(site=cast.site)
    make.reading(cast.visit, cast.exchanger, cast.assigned)
    answer = patch(cast.office, f"units/{cast.unit.pk}", {"site": str(elsewhere.pk)})
    assert answer.status_code == 409
    assert "has readings at" in answer.data["detail"]


def test_what_an_assessment_rests_on_has_it_made_again_and_other_words_do_not(cast: Cast) -> None:
    patch(cast.office, f"units/{cast.unit.pk}", {"place": "roof"})
    patch(cast.office, f"exchangers/{cast.exchanger.pk}", {"hose_connections": "3/4 in"})
    assert not WorkItem.objects.exists()
    for address, sent in (
        (f"exchangers/{cast.exchanger.pk}", {"area_m2": 0.9}),
        (f"units/{cast.unit.pk}", {"refrigerant": "R22"}),
        (f"sites/{cast.site.pk}", {"antifreeze": "methanol"}),
    ):
        patch(cast.office, address, sent)
        item = WorkItem.objects.get()
        assert (item.kind, item.subject, item.lane) == ("reassess", str(cast.exchanger.pk), "bulk")
        item.delete()


def test_an_event_taken_back_stays_on_record_without_effect(cast: Cast) -> None:
    client = as_person(cast.office)
    sent = {"unit": str(cast.unit.pk), "at": "2027-01-04T10:00:00Z", "what": "charge_changed"}
    event = client.post("/api/v1/unit-events/", sent).data
    WorkItem.objects.all().delete()
    back = client.post(f"/api/v1/unit-events/{event['id']}/take-back/", headers=ANY)
    assert (back.status_code, back.data["taken_back_at"] is None) == (200, False)
    assert client.get("/api/v1/unit-events/").data["results"] == []
    assert len(client.get("/api/v1/unit-events/?taken_back=yes").data["results"]) == 1
    assert WorkItem.objects.get().subject == str(cast.exchanger.pk)


def test_an_operating_table_is_typed_at_once_and_changed_row_by_row(cast: Cast) -> None:
    client = as_person(cast.office)
    row = {"mode": "cooling", "as_typed": {"entering_water": {"value": "85", "unit": "degF"},
                                           "head_low": {"value": "300", "unit": "psig"},
                                           "head_high": {"value": "330", "unit": "psig"}}}  # fmt: skip
    table = client.post("/api/v1/operating-tables/", {"name": "WA 036", "rows": [row, row]}).data
    assert len(table["rows"]) == 2
    assert table["rows"][0]["head_low_pa_gauge"] == pytest.approx(300 * 6894.757, rel=1e-6)
    services.change_unit(cast.unit, {"operating_table_id": table["id"]})
    WorkItem.objects.all().delete()
    address = f"operating-table-rows/{table['rows'][0]['id']}"
    changed = patch(cast.office, address, {"as_typed": {"head_low": {"value": "310", "unit": "psig"}}})
    assert changed.status_code == 200
    assert WorkItem.objects.get().subject == str(cast.exchanger.pk)
    assert client.post(f"/api/v1/{address}/retire/", headers=ANY).status_code == 200
    shown = client.get(f"/api/v1/operating-tables/{table['id']}/").data
    assert [each["id"] for each in shown["rows"]] == [table["rows"][1]["id"]]
    assert patch(cast.office, f"operating-tables/{table['id']}", {"rows": []}).status_code == 400


def test_a_wrong_row_of_a_table_is_pointed_to_and_nothing_is_kept(cast: Cast) -> None:
    good, bad = {"mode": "cooling"}, {"mode": "cooling", "superheat_low_k": 9, "superheat_high_k": 4}
    client = as_person(cast.office)
    answer = client.post("/api/v1/operating-tables/", {"name": "WA 036", "rows": [good, bad]})
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/rows/1/superheat_low_k"
    assert client.get("/api/v1/operating-tables/").data["results"] == []


def test_another_accuracy_has_what_was_read_with_it_assessed_again(cast: Cast) -> None:
    gauges = services.add_gauge_set({"name": "Set 1"})
    make.reading(cast.visit, cast.exchanger, cast.assigned, gauge_set=gauges)
    make.reading(cast.visit, make.exchanger(cast.unit, name="2"), cast.assigned)
    sent = {
        "gauge_set": str(gauges.pk),
        "reading": "entering_water",
        "repeating": 0.1,
        "random": 0.05,
        "relative": False,
    }
    made = as_person(cast.office).post("/api/v1/instruments/", sent)
    assert made.status_code == 201
    assert [item.subject for item in WorkItem.objects.all()] == [str(cast.exchanger.pk)]
    assert as_person(cast.office).post("/api/v1/instruments/", sent).status_code == 409
    assert as_person(cast.office).post("/api/v1/instruments/", {**sent, "reading": "mood"}).status_code == 400


def test_the_trail_of_a_row_tells_before_and_after_to_the_office(cast: Cast) -> None:
    patch(cast.office, f"sites/{cast.site.pk}", {"address": "1 Quay"})
    found = (
        as_person(cast.owner).get(f"/api/v1/changes/?table=register.site&row={cast.site.pk}").data["results"]
    )
    assert [(each["action"], each["by"]) for each in found] == [
        ("changed", cast.office.email),
        ("created", "program"),
    ]
    assert found[0]["fields_changed"] == {"address": ["", "1 Quay"]}
    assert found[0]["person"] == str(cast.office.pk)
