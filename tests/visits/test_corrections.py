"""Corrections supersede: the old reading is kept, the new one counts, results are computed again."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.utils import timezone

from contractor.http.problems import Problem
from contractor.trail.models import Change
from contractor.visits import services
from contractor.visits.models import Reading
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db

AS_TYPED = {
    "entering_water": {"value": "58.2", "unit": "degF"},
    "head_pressure": {"value": "318", "unit": "psig"},
}


@pytest.fixture
def reading(cast: Cast) -> Reading:
    fields = {"visit": cast.visit, "exchanger": cast.exchanger, "taken_at": cast.visit.window_start,
              "mode": "cooling", "note": "cover was off", "as_typed": AS_TYPED}  # fmt: skip
    posted = services.post_readings(cast.assigned, fields, timezone.now())
    WorkItem.objects.all().delete()
    return posted.reading


def send(person: Any, reading: Reading, what: str, **sent: Any) -> Any:
    headers = {"Idempotency-Key": str(uuid.uuid4())}
    return as_person(person).post(f"/api/v1/readings/{reading.pk}/{what}/", sent, headers=headers)


def reassessed() -> set[str]:
    return set(WorkItem.objects.filter(kind="reassess").values_list("subject", flat=True))


def test_a_correction_takes_the_place_of_the_old_reading_which_is_kept(cast: Cast, reading: Reading) -> None:
    typed = {"entering_water": {"value": "85.2", "unit": "degF"}}
    answer = send(cast.assigned, reading, "correct", as_typed=typed, reason="two digits exchanged")
    assert answer.status_code == 201, answer.data
    new, old = Reading.objects.get(pk=answer.data["id"]), Reading.objects.get(pk=reading.pk)
    assert new.supersedes == old
    assert new.entering_water_k == pytest.approx((85.2 + 459.67) / 1.8)
    assert old.entering_water_k == pytest.approx((58.2 + 459.67) / 1.8)
    assert (new.head_pressure_pa, new.note, new.taken_at) == (
        old.head_pressure_pa,
        "cover was off",
        old.taken_at,
    )
    assert (old.superseded_at is None, new.superseded_at) == (False, None)
    assert new.correction_reason == "two digits exchanged"
    assert list(Reading.objects.standing()) == [new]
    shown = as_person(cast.office).get(f"/api/v1/readings/{old.pk}/").data
    assert (shown["superseded_by"], answer.data["superseded_by"]) == (str(new.pk), None)


def test_the_exchanger_is_assessed_again(cast: Cast, reading: Reading) -> None:
    answer = send(cast.assigned, reading, "correct", strainer="dirty", reason="forgot it")
    assert reassessed() == {str(cast.exchanger.pk)}
    assert WorkItem.objects.get(kind="assess").subject == answer.data["id"]


def test_null_takes_a_value_out(cast: Cast, reading: Reading) -> None:
    answer = send(cast.assigned, reading, "correct", as_typed={"head_pressure": None}, reason="wrong port")
    assert answer.data["head_pressure_pa"] is None
    assert set(answer.data["as_typed"]) == {"entering_water"}


@pytest.mark.parametrize("reason", [None, "", "   "])
def test_a_correction_without_a_reason_is_refused(cast: Cast, reading: Reading, reason: str | None) -> None:
    sent = {"strainer": "dirty"} | ({} if reason is None else {"reason": reason})
    answer = send(cast.assigned, reading, "correct", **sent)
    assert answer.status_code == 400
    assert answer.data["errors"][0]["pointer"] == "#/reason"
    assert Reading.objects.count() == 1


def test_what_was_corrected_once_is_corrected_at_its_successor(cast: Cast, reading: Reading) -> None:
    first = send(cast.assigned, reading, "correct", strainer="dirty", reason="forgot it").data
    again = send(cast.office, reading, "correct", strainer="clean", reason="no, clean")
    assert again.status_code == 409
    assert again.data["superseded_by"] == first["id"]
    assert Reading.objects.count() == 2


def test_a_reading_is_never_changed_in_place_nor_deleted(cast: Cast, reading: Reading) -> None:
    client = as_person(cast.owner)
    for method in (client.patch, client.put, client.delete):
        assert method(f"/api/v1/readings/{reading.pk}/", {"note": "x"}).status_code in (403, 405)
    reading.refresh_from_db()
    assert reading.note == "cover was off"


def test_a_reading_moved_to_the_right_exchanger_has_both_assessed_again(cast: Cast, reading: Reading) -> None:
    right = make.exchanger(make.unit(cast.site))
    answer = send(cast.assigned, reading, "move", exchanger=str(right.pk), mode="heating", reason="next unit")
    assert answer.status_code == 201, answer.data
    assert (answer.data["exchanger"], answer.data["mode"]) == (right.pk, "heating")
    assert answer.data["as_typed"] == AS_TYPED
    assert reassessed() == {str(cast.exchanger.pk), str(right.pk)}
    assert Reading.objects.get(pk=reading.pk).exchanger == cast.exchanger


def test_a_reading_moved_to_another_mode_has_its_exchanger_assessed_again(
    cast: Cast, reading: Reading
) -> None:
    answer = send(
        cast.assigned, reading, "move", exchanger=str(cast.exchanger.pk), mode="heating", reason="mode"
    )
    assert answer.status_code == 201
    assert reassessed() == {str(cast.exchanger.pk)}


def test_a_reading_moved_to_a_site_higher_up_gets_that_sites_absolute_pressure(
    cast: Cast, reading: Reading
) -> None:
    hill = make.site(cast.customer, elevation_m=1600.0)
    there = make.exchanger(make.unit(hill))
    other = make.visit(hill, [cast.assigned])
    moved = services.move_reading(
        cast.assigned, reading, there, "cooling", "wrong site", timezone.now(), other
    )
    # U.S. Standard Atmosphere 1976: 83.52 kPa at 1600 m
    assert moved.reading.head_pressure_pa == pytest.approx(318 * 6894.757 + 83_520, abs=20)
    with pytest.raises(Problem, match="no longer counts"):
        services.move_reading(cast.assigned, reading, there, "cooling", "again", timezone.now(), other)


def test_moving_a_reading_nowhere_is_refused(cast: Cast, reading: Reading) -> None:
    answer = send(cast.office, reading, "move", exchanger=str(cast.exchanger.pk), mode="cooling", reason="?")
    assert answer.status_code == 400
    assert "there already" in answer.data["detail"]


def test_a_reading_entered_twice_is_set_aside_and_stays_on_record(cast: Cast, reading: Reading) -> None:
    answer = send(cast.office, reading, "set-aside", reason="entered twice")
    assert answer.status_code == 200
    assert answer.data["set_aside_because"] == "entered twice"
    assert reassessed() == {str(cast.exchanger.pk)}
    client = as_person(cast.office)
    assert client.get("/api/v1/readings/").data["results"] == []
    assert [row["id"] for row in client.get("/api/v1/readings/?superseded=yes").data["results"]] == [
        str(reading.pk)
    ]
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    assert as_person(cast.client).get(f"/api/v1/readings/{reading.pk}/").status_code == 404


def test_technicians_correct_on_their_own_visits_only(cast: Cast, reading: Reading) -> None:
    make.visit(cast.site, [cast.other])
    make.shown_to_clients(cast.exchanger, reading.taken_at)
    assert send(cast.other, reading, "correct", strainer="dirty", reason="x").status_code == 403
    assert send(cast.client, reading, "correct", strainer="dirty", reason="x").status_code == 403
    assert send(cast.other_client, reading, "correct", strainer="dirty", reason="x").status_code == 404


def test_both_sides_of_a_correction_leave_who_and_why(cast: Cast, reading: Reading) -> None:
    new = send(cast.office, reading, "correct", strainer="dirty", reason="seen on the photo").data
    made = Change.objects.get(table="visits.reading", row_id=new["id"])
    ended = Change.objects.filter(table="visits.reading", row_id=str(reading.pk)).latest("id")
    assert (made.person, made.fields["correction_reason"]) == (cast.office, [None, "seen on the photo"])
    assert (ended.person, list(ended.fields)) == (cast.office, ["superseded_at"])
