"""What is asked before acid besides the readings: the vent, forced air, whom to ring, the unknown rating."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from contractor.descales import services
from contractor.descales.models import Check, Look
from contractor.register.models import Exchanger, Unit
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db


def codes(told: services.Told) -> list[str]:
    return [one.code for one in told.do_now]


def shut_by(job: world.Job) -> list[str]:
    return [one.code for one in services.may_dose(job.fresh(), job.at(50)).reasons]


def page_of(job: world.Job) -> str:
    phone = Client()
    phone.force_login(job.technician)
    return phone.get(f"/crew/descales/{job.descale.pk}/").content.decode()


# --- reversal: common practice of makers: never where gas cannot leave
def quiet_for_half_an_hour(job: world.Job) -> services.Told:
    for minutes in (0.0, 10.0, 20.0, 31.0):
        told = world.look(job, minutes, drops=20.0 - minutes / 5)
    return told


@pytest.mark.parametrize(("vent", "action"), [(None, "go_on"), (False, "go_on"), (True, "reverse")])
def test_reversing_is_offered_only_where_the_hoses_check_told_of_the_vent(
    vent: bool | None, action: str
) -> None:
    job = world.noticed(world.job())
    world.check(job, "hoses_connected", 5.0, vent_at_both_tops=vent)
    assert job.fresh().vent_at_both_tops is vent
    world.mix(job)
    assert quiet_for_half_an_hour(job).do_now[0].code == action
    offered = 'data-reversing data-vented="The flow was reversed"'
    page = page_of(job)
    assert offered in page
    assert ("Reversed although no vent is known at the top of both paths</summary>" in page) is (not vent)


def test_the_latest_word_on_the_vent_by_its_own_clock_counts_whatever_order_it_comes_in() -> None:
    job = world.noticed(world.job())
    world.check(job, "hoses_connected", 9.0, vent_at_both_tops=True)
    world.check(job, "hoses_connected", 5.0, vent_at_both_tops=False)
    assert job.fresh().vent_at_both_tops is True
    world.check(job, "hoses_connected", 12.0, vent_at_both_tops=None)
    assert job.fresh().vent_at_both_tops is True
    world.check(job, "hoses_connected", 15.0, vent_at_both_tops=False)
    assert job.fresh().vent_at_both_tops is False


def test_that_it_was_reversed_without_a_vent_is_kept_marked_and_answered() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    told = world.look(job, 10.0, reversed_now=True)
    assert Look.objects.get(pk=told.row.pk).marks == ["reversed_without_vent"]
    [answer] = [one for one in told.do_now if one.code == "reversed_without_vent"]
    assert answer.urgent and "Turn the flow back" in answer.words
    services.change_descale(job.technician, job.fresh(), {"vent_at_both_tops": True})
    assert "reversed_without_vent" not in codes(world.look(job, 20.0, reversed_now=True))


# --- carbon dioxide above 3 % of the room: the short-term limit of 30 000 ppm (NIOSH, from memory)
def test_a_room_that_the_plan_fills_above_3_per_cent_asks_for_forced_ventilation_whatever_a_meter_read() -> (
    None
):
    job = world.job()
    Unit.objects.filter(pk=job.exchanger.unit_id).update(room_volume_m3=2.0)
    job.descale.refresh_from_db()
    world.noticed(job)
    plan = services.current_plan(job.fresh())
    assert plan is not None and plan.result["gas"]["share_of_room"] > 0.03
    for kind in services.checking.kinds_needed(plan):
        if kind != "forced_ventilation":
            world.check(job, kind)
    make.reading(job.descale.visit, job.exchanger, job.technician, purpose="before_descale")
    assert Check.objects.get(kind="ventilation").gas_share == 0.0006
    assert shut_by(job) == ["forced_ventilation"]
    assert "does_not_pass" in world.check(job, "forced_ventilation", told="").row.marks
    world.check(job, "forced_ventilation", 2.0, outcome="not_needed")
    assert shut_by(job) == ["forced_ventilation"]
    world.check(job, "forced_ventilation", 3.0)
    assert shut_by(job) == []


def test_a_plan_made_before_it_asks_for_forced_ventilation_too_and_a_large_room_does_not() -> None:
    job = world.noticed(world.job())
    plan = services.current_plan(job.descale)
    assert plan is not None and "forced_ventilation" not in services.checking.kinds_needed(plan)
    plan.result["gas"]["room"] = "forced_ventilation_or_no_work"
    assert "forced_ventilation" in services.checking.kinds_needed(plan)


# --- emergency number at hand
def without_a_number() -> world.Job:
    job = world.checked(world.noticed(world.job()))
    type(job.exchanger.unit.site).objects.update(emergency_phone="")
    return job


def test_without_an_emergency_number_the_sheets_are_not_at_hand_until_somebody_tells_one() -> None:
    job = without_a_number()
    assert shut_by(job) == ["sheets_at_hand"]
    told = world.check(job, "sheets_at_hand", 30.0)
    assert "does_not_pass" in told.row.marks and "tell with this check whom to ring" in told.row.note
    assert 'name="emergency_phone"' in page_of(job) and "No emergency number on record" in page_of(job)
    world.check(job, "sheets_at_hand", 31.0, emergency_phone="01632 960990")
    assert shut_by(job) == []
    assert 'href="tel:01632960990"' in page_of(job)


def test_the_firms_general_number_serves_where_the_site_has_none(settings: Any) -> None:
    job = without_a_number()
    settings.EMERGENCY_PHONE = "112"
    assert shut_by(job) == []
    page = page_of(job)
    assert 'href="tel:112"' in page and 'name="emergency_phone"' not in page


# --- hold test under a rating that nobody entered
@pytest.mark.parametrize("test", ["hold_test", "second_hold_test"])
def test_an_unknown_rating_is_asked_for_and_marked(test: str) -> None:
    job = world.noticed(world.job())
    record = world.check if test == "hold_test" else world.step
    assert "rating_not_known" not in codes(record(job, test))
    Exchanger.objects.filter(pk=job.exchanger.pk).update(water_rating_pa_gauge=None)
    told = record(job, test, 5.0 if test == "hold_test" else 250.0)
    told.row.refresh_from_db()
    assert "rating_not_known" in told.row.marks and "does_not_pass" not in told.row.marks
    [asked] = [one for one in told.do_now if one.code == "rating_not_known"]
    assert asked.words.startswith("What is the exchanger's")
    assert "What is the exchanger’s water-side rating?" in page_of(job)


def test_the_vent_and_the_number_arrive_by_the_api() -> None:
    job = world.noticed(world.job())
    phone, path = as_person(job.technician), f"/api/v1/descales/{job.descale.pk}/checks/"
    sent = {"at": job.at(5).isoformat(), "kind": "hoses_connected", "outcome": "passed",
            "vent_at_both_tops": "true"}  # fmt: skip
    answer = phone.post(path, sent, headers={"Idempotency-Key": "hoses"})
    assert answer.status_code == 201 and answer.data["record"]["vent_at_both_tops"] is True
    sent = {"at": job.at(6).isoformat(), "kind": "sheets_at_hand", "outcome": "passed",
            "told": "on the shelf", "emergency_phone": "112"}  # fmt: skip
    answer = phone.post(path, sent, headers={"Idempotency-Key": "sheets"})
    assert answer.status_code == 201 and answer.data["record"]["emergency_phone"] == "112"
