"""Readings as a phone sends them: stored whatever parses, converted once, asked about, queued."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.utils import timezone

from contractor.http.models import KeptAnswer
from contractor.register import services as register
from contractor.visits.models import Reading
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

AS_TYPED = {
    "entering_water": {"value": "85.2", "unit": "degF"},
    "leaving_water": {"value": "95,1", "unit": "degF"},
    "water_flow": {"value": 9, "unit": "gpm"},
    "head_pressure": {"value": "318", "unit": "psig"},
    "suction_pressure": {"value": "118", "unit": "psig"},
}


def body(cast: Cast, **given: Any) -> dict[str, Any]:
    return {
        "id": str(uuid.uuid4()),
        "visit": str(cast.visit.pk),
        "exchanger": str(cast.exchanger.pk),
        "taken_at": timezone.now().isoformat(),
        "mode": "cooling",
        "minutes_running": 15,
        "as_typed": AS_TYPED,
        **given,
    }


def post(cast: Cast, sent: dict[str, Any], key: str = "", who: str = "assigned") -> Any:
    client = as_person(getattr(cast, who))
    return client.post("/api/v1/readings/", sent, headers={"Idempotency-Key": key or str(uuid.uuid4())})


def test_how_drop_and_power_were_read_is_kept_and_a_fan_that_cannot_be_is_asked_about(cast: Cast) -> None:
    cast.unit.kind = "water_cooled_chiller"
    cast.unit.save()
    sent = body(cast, drop_read_by="differential_gauge", power_includes_fan=True)
    answer = post(cast, sent)
    assert answer.status_code == 201, answer.data  # what was read is never refused
    assert (answer.data["drop_read_by"], answer.data["power_includes_fan"]) == ("differential_gauge", True)
    assert "fan_on_a_machine_without_one" in [one["code"] for one in answer.data["warnings"]]
    plain = post(cast, body(cast, taken_at="2027-03-03T10:00:00Z"))
    assert (plain.data["drop_read_by"], plain.data["power_includes_fan"]) == ("", None)
    refused = post(cast, body(cast, drop_read_by="a straw"))
    assert refused.status_code == 400 and "gauge_at_each_port" in str(refused.data)


def test_a_reading_is_stored_in_si_with_what_was_typed_beside_it(cast: Cast) -> None:
    cast.site.elevation_m = 0.0
    cast.site.save()
    sent = body(cast)
    answer = post(cast, sent)
    assert answer.status_code == 201, answer.data
    assert answer.data["as_typed"]["leaving_water"] == {"value": "95,1", "unit": "degF"}
    assert answer.data["as_typed"]["water_flow"] == {"value": "9", "unit": "gpm"}
    # by hand: (85.2 + 459.67) / 1.8; 318 psi * 6894.757 Pa + 101325 Pa; 9 gal * 3.785412 L / 60 s
    assert answer.data["entering_water_k"] == pytest.approx(302.706, abs=1e-3)
    assert answer.data["head_pressure_pa"] == pytest.approx(318 * 6894.757 + 101325, rel=1e-6)
    assert answer.data["water_flow_m3_per_s"] == pytest.approx(9 * 3.785412e-3 / 60, rel=1e-6)
    assert answer["Location"] == f"/api/v1/readings/{sent['id']}/"
    assert answer.data["warnings"] == []


def test_the_answer_names_the_work_item_that_assesses_it(cast: Cast) -> None:
    answer = post(cast, body(cast))
    item = WorkItem.objects.get(kind="assess")
    assert item.subject == answer.data["id"]
    assert item.asked_by == cast.assigned
    assert answer.data["work_item"] == f"/api/v1/work-items/{item.pk}/"
    assert as_person(cast.assigned).get(answer.data["work_item"]).status_code == 200


@pytest.mark.parametrize(
    ("elevation", "barometric"),
    # U.S. Standard Atmosphere 1976, by geopotential altitude: 83.52 kPa at 1600 m, 101.325 kPa at sea level
    [(0.0, 101_325.0), (1600.0, 83_520.0)],
)
def test_gauge_pressure_becomes_absolute_by_the_sites_elevation(
    cast: Cast, elevation: float, barometric: float
) -> None:
    cast.site.elevation_m = elevation
    cast.site.save()
    answer = post(cast, body(cast, as_typed={"head_pressure": {"value": "0", "unit": "psig"}}))
    assert answer.data["head_pressure_pa"] == pytest.approx(barometric, abs=20)


def test_another_elevation_moves_absolute_pressures_and_leaves_what_was_typed(cast: Cast) -> None:
    posted = post(cast, body(cast, as_typed={"head_pressure": {"value": "100", "unit": "psig"}})).data
    register.change_site(cast.site, {"elevation_m": 1600.0})
    reading = Reading.objects.get(pk=posted["id"])
    assert posted["head_pressure_pa"] - (reading.head_pressure_pa or 0) == pytest.approx(
        101_325 - 83_520, abs=20
    )
    assert reading.as_typed == {"head_pressure": {"value": "100", "unit": "psig"}}
    assert WorkItem.objects.filter(kind="reassess", subject=str(cast.exchanger.pk)).exists()


def test_mass_flow_keeps_its_own_column(cast: Cast) -> None:
    answer = post(cast, body(cast, as_typed={"water_flow": {"value": "0.6", "unit": "kg/s"}}))
    assert answer.data["water_flow_kg_per_s"] == pytest.approx(0.6)
    assert answer.data["water_flow_m3_per_s"] is None


def test_an_impossible_value_is_stored_and_asked_about(cast: Cast) -> None:
    typed = {**AS_TYPED, "entering_water": {"value": "852", "unit": "degF"}}
    answer = post(cast, body(cast, as_typed=typed))
    assert answer.status_code == 201
    question = next(w for w in answer.data["warnings"] if w["code"] == "entering_water_unusual")
    assert "852 degF" in question["text"]
    assert "85.2 degF meant" in question["text"]
    assert question["pointer"] == "/as_typed/entering_water"


def test_even_less_than_absolute_zero_is_stored_and_asked_about(cast: Cast) -> None:
    answer = post(cast, body(cast, as_typed={"liquid_line": {"value": "-500", "unit": "degC"}}))
    assert answer.status_code == 201
    assert [w["code"] for w in answer.data["warnings"]] == ["liquid_line_unusual"]


@pytest.mark.parametrize(
    ("name", "entry", "at", "words"),
    [
        ("head_pressure", {"value": "318", "unit": "psi"}, "/unit", "psig or psia"),
        ("head_pressure", {"value": "3 18x", "unit": "psig"}, "/value", "not a number"),
        ("amps", {"value": "1,234", "unit": "A"}, "/value", "1.234 or 1234"),
        ("head_presure", {"value": "1", "unit": "psig"}, "", "head_pressure"),
        ("entering_water", "85", "", "degF"),
        ("entering_water", {"value": "85"}, "/unit", "degF, degC or K"),
        ("entering_water", {"value": "85", "unit": "gpm"}, "/unit", "degF"),
        ("entering_water", {"value": "NaN", "unit": "degF"}, "/value", "not a number"),
        ("entering_water", {"value": "1e999", "unit": "degF"}, "/value", "too large"),
        ("entering_water", {"value": True, "unit": "degF"}, "/value", "not a number"),
        ("water_pressure_drop", {"value": 1, "unit": "m**9**9**9"}, "/unit", "not a known unit"),
    ],
)
def test_what_cannot_be_parsed_is_refused_with_a_pointer_and_what_would_be_right(
    cast: Cast, name: str, entry: Any, at: str, words: str
) -> None:
    answer = post(cast, body(cast, as_typed={name: entry}))
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == f"#/as_typed/{name}{at}"
    assert words in answer.data["errors"][0]["detail"]
    assert not Reading.objects.exists()


@pytest.mark.parametrize("field", ["mode", "taken_at", "visit", "exchanger"])
def test_a_missing_fact_is_pointed_to(cast: Cast, field: str) -> None:
    sent = body(cast)
    del sent[field]
    answer = post(cast, sent)
    assert answer.status_code == 400
    assert [e["pointer"] for e in answer.data["errors"]] == [f"#/{field}"]


def test_an_unknown_word_is_refused_with_those_known(cast: Cast) -> None:
    answer = post(cast, body(cast, strainer="filthy"))
    assert answer.status_code == 400
    assert "clean, dirty, blocked, not_fitted" in answer.data["errors"][0]["detail"]


def test_words_alone_are_a_reading_but_nothing_is_not(cast: Cast) -> None:
    assert post(cast, body(cast, as_typed={}, strainer="blocked")).status_code == 201
    answer = post(cast, body(cast, as_typed={}))
    assert answer.status_code == 400
    assert "Nothing was read" in answer.data["detail"]


def test_si_columns_are_not_the_senders_to_set(cast: Cast) -> None:
    answer = post(cast, body(cast, head_pressure_pa=1e6))
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/head_pressure_pa"


def test_a_reading_without_a_key_is_refused(cast: Cast) -> None:
    answer = as_person(cast.assigned).post("/api/v1/readings/", body(cast))
    assert answer.status_code == 400
    assert answer.data["type"] == "/api/v1/problems/idempotency-key-missing/"


def test_the_same_key_gives_the_first_answer_and_stores_once(cast: Cast) -> None:
    sent, key = body(cast), str(uuid.uuid4())
    first, second = post(cast, sent, key), post(cast, sent, key)
    assert (second.status_code, second["Location"]) == (201, first["Location"])
    assert second.data["work_item"] == first.data["work_item"]
    assert Reading.objects.count() == 1
    assert WorkItem.objects.filter(kind="assess").count() == 1
    assert KeptAnswer.objects.count() == 1


def test_the_same_id_with_another_key_is_not_stored_twice(cast: Cast) -> None:
    sent = body(cast)
    post(cast, sent)
    answer = post(cast, sent)
    assert answer.status_code == 409
    assert answer.data["errors"][0]["pointer"] == "#/id"
    assert Reading.objects.count() == 1


def test_a_technician_posts_in_their_own_name_only(cast: Cast) -> None:
    assert post(cast, body(cast, taken_by=str(cast.office.pk))).status_code in (400, 403)
    assert post(cast, body(cast)).data["taken_by"] == cast.assigned.pk


def test_the_office_enters_what_a_technician_wrote_on_paper(cast: Cast) -> None:
    answer = post(cast, body(cast, taken_by=str(cast.assigned.pk)), who="office")
    assert answer.status_code == 201
    assert answer.data["taken_by_name"] == cast.assigned.name


def test_a_technician_outside_the_crew_posts_nothing(cast: Cast) -> None:
    make.visit(cast.site, [cast.other])
    answer = post(cast, body(cast), who="other")
    assert answer.status_code == 403
    assert not Reading.objects.exists()


def test_a_technician_who_sees_neither_visit_nor_exchanger_is_told_they_are_not_there(cast: Cast) -> None:
    answer = post(cast, body(cast), who="other")
    assert answer.status_code == 400
    assert {e["pointer"] for e in answer.data["errors"]} == {"#/visit", "#/exchanger"}


def test_an_exchanger_of_another_site_is_not_read_on_this_visit(cast: Cast) -> None:
    elsewhere = make.exchanger(make.unit(make.site(cast.customer)))
    answer = post(cast, body(cast, exchanger=str(elsewhere.pk)), who="office")
    assert answer.status_code == 400
    assert "is not at Harbour Reach, Block A" in answer.data["detail"]


def test_a_reading_on_a_retired_exchanger_or_a_called_off_visit_is_stored_and_asked_about(cast: Cast) -> None:
    register.retire_exchanger(cast.exchanger, timezone.now())
    cast.visit.state, cast.visit.called_off_at, cast.visit.called_off_because = (
        "called_off",
        timezone.now(),
        "rain",
    )
    cast.visit.save()
    answer = post(cast, body(cast))
    assert answer.status_code == 201
    assert {w["code"] for w in answer.data["warnings"]} >= {"exchanger_retired", "visit_called_off"}


def test_a_clock_that_runs_ahead_is_asked_about(cast: Cast) -> None:
    ahead = timezone.now() + dt.timedelta(hours=5)
    answer = post(cast, body(cast, taken_at=ahead.isoformat()))
    assert "taken_in_the_future" in {w["code"] for w in answer.data["warnings"]}


def test_a_clean_reference_that_arrives_late_has_the_exchanger_assessed_again(cast: Cast) -> None:
    post(cast, body(cast))
    assert not WorkItem.objects.filter(kind="reassess").exists()
    yesterday = timezone.now() - dt.timedelta(days=1)
    post(cast, body(cast, taken_at=yesterday.isoformat(), purpose="clean_reference"))
    assert WorkItem.objects.filter(kind="reassess", subject=str(cast.exchanger.pk)).exists()


def test_the_very_same_reading_under_another_id_is_stored_and_asked_about(cast: Cast) -> None:
    sent = body(cast)
    post(cast, sent)
    answer = post(cast, {**sent, "id": str(uuid.uuid4())})
    assert answer.status_code == 201
    assert [w["code"] for w in answer.data["warnings"]] == ["elevation_not_known", "same_again"]
