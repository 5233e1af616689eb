"""Checks before acid, batches and their clocks, looks and the stop rules, each by its own clock time."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext

from contractor.accounts.models import Role
from contractor.descales import services
from contractor.descales.models import Batch, Look
from contractor.descales.tasks import tell_office
from contractor.register import services as register
from contractor.visits.models import Finding
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db


def with_acid(sheet: str = "sulfamic") -> world.Job:
    job = world.checked(world.noticed(world.job(sheet)))
    world.mix(job)
    return job


def alarms(code: str) -> list[WorkItem]:
    return [item for item in WorkItem.objects.filter(kind="descale_alarm") if item.payload["code"] == code]


def codes(told: services.Told) -> list[str]:
    return [one.code for one in told.do_now]


# --- before acid
def test_the_dose_screen_opens_when_every_check_has_passed_and_not_before() -> None:
    job = world.noticed(world.job())
    wanted = services.checking.kinds_needed(services.current_plan(job.descale))
    make.reading(job.descale.visit, job.exchanger, job.technician, purpose="before_descale")
    for place, kind in enumerate(wanted):
        gate = services.may_dose(job.fresh(), job.at(60))
        assert not gate.open
        assert [one.code for one in gate.reasons] == list(wanted[place:])
        world.check(job, kind, float(place))
    assert services.may_dose(job.fresh(), job.at(60)).open
    assert job.fresh().state == "checking"


@pytest.mark.parametrize(
    ("minutes", "after", "words"),
    [
        ("14", "3.98", "14 minutes"),
        ("15", "3.5", "does not hold"),
        ("15", "4", "above the exchanger's rating"),
    ],
)
def test_a_hold_test_holds_for_15_minutes_under_the_rating_or_does_not_pass(
    minutes: str, after: str, words: str
) -> None:
    job = world.noticed(world.job())
    if "rating" in words:
        type(job.exchanger).objects.filter(pk=job.exchanger.pk).update(water_rating_pa_gauge=3.0e5)
    typed = {"duration": {"value": minutes, "unit": "minute"},
             "pressure_before": {"value": "4", "unit": "bar_gauge"},
             "pressure_after": {"value": after, "unit": "bar_gauge"}}  # fmt: skip
    told = world.check(job, "hold_test", as_typed=typed)
    assert "does_not_pass" in told.row.marks and words in told.row.note
    assert "hold_test" in codes(told)


def test_a_check_of_before_that_comes_late_does_not_undo_the_one_of_after() -> None:
    job = world.checked(world.noticed(world.job()))
    world.check(job, "valves_hold", 1.0, outcome="failed")
    assert services.may_dose(job.fresh(), job.at(60)).open
    world.check(job, "valves_hold", 50.0, outcome="failed")
    assert not services.may_dose(job.fresh(), job.at(60)).open


def test_the_same_id_sent_again_is_the_same_record() -> None:
    job = world.noticed(world.job())
    made = uuid.uuid4()
    first = world.check(job, "locked_out", id=made)
    again = world.check(job, "locked_out", id=made)
    assert (first.new, again.new) == (True, False) and first.row == again.row


# --- batches
def test_a_batch_in_order_starts_its_clock_and_takes_from_its_lot() -> None:
    job = world.checked(world.noticed(world.job()))
    told = world.mix(job)
    assert told.row.marks == []
    assert told.row.strength == pytest.approx(0.10, rel=0.01)
    assert told.row.out_by - told.row.at == dt.timedelta(hours=6)  # the generic sheet's longest time
    assert job.fresh().state == "acid_in" and not alarms("acid_is_in")
    job.lot.refresh_from_db()
    assert job.lot.quantity_kg == pytest.approx(25.0 - told.row.product_kg)


def test_acid_in_before_the_checks_is_kept_marked_answered_and_told_to_the_office() -> None:
    job = world.noticed(world.job())
    told = world.mix(job)
    assert told.row.marks == ["before_its_time"]
    assert {"locked_out", "hold_test"} <= set(codes(told))
    assert job.fresh().state == "acid_in"
    [item] = alarms("acid_is_in")
    assert "before its time" in item.payload["words"]
    make.person(Role.OWNER)
    tell_office(item, None)  # type: ignore[arg-type]
    assert "acid is in" in mail.outbox[0].subject


@pytest.mark.parametrize(
    ("change", "mark"),
    [
        ({"metal": "stainless_316"}, "forbidden_material"),
        ({"metal": ""}, "unknown_material"),
        ({"heats_drinking_water": True}, "drinking_water_coil"),
    ],
)
def test_acid_on_what_it_must_not_touch_is_kept_and_has_to_be_out_at_once(
    change: dict[str, Any], mark: str
) -> None:
    job = world.job("inhibited_hydrochloric")
    type(job.exchanger).objects.filter(pk=job.exchanger.pk).update(**change)
    told = world.mix(job)
    assert mark in told.row.marks and told.row.out_by == told.row.at
    assert told.do_now[0].urgent and "drain and rinse now" in told.do_now[0].words
    assert services.verdict_of(job.fresh(), told.row.at).action == "stop"


def test_acid_that_nobody_can_name_is_kept_and_has_to_be_out_at_once() -> None:
    job = world.checked(world.noticed(world.job()))
    told = world.mix(job, lot=None)
    assert "cleaner_not_known" in told.row.marks and told.row.out_by == told.row.at


def test_another_cleaner_on_a_bath_that_is_in_is_mixing_cleaners() -> None:
    job = with_acid()
    other = world.cleaner("phosphoric")
    told = world.mix(job, 90.0, lot=None, cleaner=other)
    assert {"mixed_cleaners", "other_cleaner"} <= set(told.row.marks)
    assert "never mix" in told.do_now[0].words


def test_a_bath_off_the_plan_or_above_the_label_or_of_a_lapsed_lot_is_marked() -> None:
    job = world.checked(world.noticed(world.job()))
    job.lot.expires_on = job.now.date() - dt.timedelta(days=2)
    job.lot.save()
    typed = {"product_mass": {"value": "12", "unit": "kg"}, "water": {"value": "30", "unit": "L"}}
    told = world.mix(job, as_typed=typed)
    assert {"off_the_plan", "stronger_than_label", "lot_lapsed"} <= set(told.row.marks)


def test_a_fresh_batch_stops_the_clock_of_the_one_before_whatever_order_they_come_in() -> None:
    job = world.checked(world.noticed(world.job()))
    late = world.mix(job, 200.0).row
    early = world.mix(job, 60.0).row
    assert early.out_at == late.at and Batch.objects.get(pk=late.pk).out_at is None
    [clock] = services.clocks_running(job.office)
    assert (clock.batch, clock.number) == (late, 2)


def test_clocks_of_several_units_stand_side_by_side_at_a_constant_number_of_queries(
    django_assert_num_queries: Any,
) -> None:
    jobs = [with_acid("sulfamic")]
    with django_assert_num_queries(2):
        assert len(services.clocks_running(jobs[0].office)) == 1
    register.change_cleaner(jobs[0].cleaner, {"name": "another"})
    jobs.append(with_acid("sulfamic"))
    with django_assert_num_queries(2):
        clocks = services.clocks_running(jobs[0].office)
    assert {clock.descale for clock in clocks} == {job.descale for job in jobs}
    assert [c.descale for c in services.clocks_running(jobs[0].technician)] == [jobs[0].descale]


def test_a_bath_never_moves_on_to_a_unit_of_other_metals() -> None:
    first, second = with_acid(), world.job_beside("cupronickel")
    there = Batch.objects.get(descale=first.descale)
    told = world.mix(second, 200.0, moved_from=there, cleaner=first.cleaner, lot=None)
    assert "other_metals" in told.row.marks and told.row.out_by == told.row.at
    assert "drain and rinse now" in told.do_now[0].words
    assert Batch.objects.get(descale=first.descale).out_at == told.row.at
    same = world.job_beside("cupronickel")
    again = world.mix(same, 260.0, moved_from=told.row, cleaner=first.cleaner, lot=None)
    assert "other_metals" not in again.row.marks


def test_after_a_stop_the_dose_screen_is_shut_until_a_look_says_otherwise() -> None:
    job = with_acid()
    world.look(job, 10.0, copper_mg_per_l=400.0)
    gate = services.may_dose(job.fresh(), job.at(60))
    assert [one.code for one in gate.reasons] == ["stopped"]
    world.look(job, 25.0, copper_mg_per_l=10.0)
    assert services.may_dose(job.fresh(), job.at(60)).open


def test_the_whole_record_and_what_is_now_cost_the_same_queries_however_long_the_log() -> None:
    job = with_acid()
    client, counts = as_person(job.technician), []
    for minutes in (5.0, 10.0, 20.0):
        world.look(job, minutes, drops=18.0)
        with CaptureQueriesContext(connection) as asked:
            for what in ("record", "now"):
                assert client.get(f"/api/v1/descales/{job.descale.pk}/{what}/").status_code == 200
        counts.append(len(asked))
    assert len(set(counts)) == 1, counts


# --- the stop rules
STOPS: list[tuple[dict[str, Any], str, str]] = [
    ({"copper_mg_per_l": 400.0}, "copper", "copper is above the sheet's figure"),
    ({"iron_mg_per_l": 4000.0}, "iron", "iron is above the sheet's figure"),
    ({"oil": True}, "oil", "certified person"),
    ({"leak": True}, "leak", "pump off"),
    ({"fumes": "brown"}, "fumes", "everybody out"),
    ({"fumes": "rotten_egg"}, "fumes", "everybody out"),
    ({"gas_alarm": True}, "gas_alarm", "forced ventilation"),
    ({"as_typed": {"temperature": {"value": "75", "unit": "degC"}}}, "too_warm", "above its cap"),
]


@pytest.mark.parametrize(("seen", "code", "words"), STOPS, ids=[str(one[0]) for one in STOPS])
def test_stop_at_once_and_plainly(seen: dict[str, Any], code: str, words: str) -> None:
    job = with_acid()
    told = world.look(job, 10.0, **seen)
    assert told.do_now[0].code == "stop" and told.do_now[0].urgent
    assert told.do_now[0].words == "Stop: drain and rinse now."
    [reason] = [one for one in told.do_now if one.code == code]
    assert words.casefold() in reason.words.casefold()
    assert "stop" in told.row.marks and alarms("stop")


def test_another_cleaner_than_the_plans_is_never_warmer_than_its_own_label() -> None:
    job = world.checked(world.noticed(world.job()))
    cool = world.cleaner("citric", name="citric, cool only", highest_temperature_k=303.15)
    world.mix(job, cleaner=cool, lot=None)
    seen = {"as_typed": {"temperature": {"value": "31", "unit": "degC"}}}
    assert "too_warm" in codes(world.look(job, 10.0, **seen))


def test_blue_that_deepens_between_two_looks_stops_and_faint_colour_asks_for_a_strip() -> None:
    job = with_acid()
    first = world.look(job, 10.0, colour="faint_blue")
    assert "copper" in codes(first) and first.do_now[0].code == "go_on"
    assert world.look(job, 20.0, colour="blue").do_now[0].code == "stop"


@pytest.mark.parametrize(("step", "code"), [(2.0, "level_rising"), (-2.0, "level_falling")])
def test_a_level_that_rises_or_falls_stops_with_what_to_do(step: float, code: str) -> None:
    job = with_acid()
    for place in range(4):
        level = {"level": {"value": str(30 + step * place), "unit": "cm"}}
        told = world.look(job, 10.0 * place, as_typed=level)
    assert told.do_now[0].code == "stop"
    [reason] = [one for one in told.do_now if one.code == code]
    assert "pump off" in reason.words.casefold()


def test_the_clock_on_the_wall_stops_a_batch_without_any_look() -> None:
    job = with_acid()
    assert services.verdict_of(job.fresh(), job.at(60 + 359)).action != "stop"
    over = services.verdict_of(job.fresh(), job.at(60 + 361))
    assert over.action == "stop" and over.reasons[0].code == "clock_over"


# --- the series
def test_no_bubbles_no_solids_no_acid_used_in_ten_minutes_says_that_nothing_dissolves() -> None:
    job = with_acid()
    for minutes in (0.0, 3.0, 6.0, 10.0):
        told = world.look(job, minutes, bubbles="none", solids="none", drops=20.0)
    assert told.row.strength == pytest.approx(0.10)  # 20 drops of 0.5 %
    assert told.do_now[0].code == "nothing_dissolving"
    assert services.verdict_of(job.fresh(), job.at(71)).see.endswith("/ranking/")
    world.look(job, 11.0, bubbles="none", solids="none", drops=20.0)
    [finding] = Finding.objects.filter(kind="descale")
    assert (finding.brought, finding.exchanger) == ("nothing", job.exchanger)


def test_a_weak_acid_is_given_thirty_minutes() -> None:
    job = with_acid("phosphoric")
    for minutes in (0.0, 3.0, 6.0, 10.0, 20.0):
        told = world.look(job, minutes, bubbles="none", solids="none", drops=10.0, ph=1.6)
        assert told.do_now[0].code == "go_on"
    told = world.look(job, 30.0, bubbles="none", solids="none", drops=10.0, ph=1.6)
    assert told.do_now[0].code == "nothing_dissolving"


def test_a_spent_bath_asks_for_a_fresh_one_and_two_without_solids_ask_what_it_is() -> None:
    job = with_acid()
    for minutes, drops in ((0.0, 20.0), (10.0, 12.0), (20.0, 7.0)):
        told = world.look(job, minutes, solids="none", drops=drops)
    assert told.do_now[0].code == "fresh_batch"
    world.mix(job, 100.0)
    told = world.look(job, 50.0, solids="none", drops=20.0)
    assert "what_the_deposit_is" in codes(told)


def test_flow_is_reversed_only_with_the_vent_at_the_top_of_both_paths() -> None:
    job = with_acid()
    for minutes in (0.0, 10.0, 20.0, 31.0):
        told = world.look(job, minutes, drops=20.0 - minutes / 5)
    assert told.do_now[0].code == "go_on"
    services.change_descale(job.technician, job.fresh(), {"vent_at_both_tops": True})
    assert services.verdict_of(job.fresh(), job.at(92)).action == "reverse"


def test_looks_that_come_late_twice_and_out_of_order_end_in_the_same_verdict() -> None:
    """Finished: half an hour of no change while the strength is above its limit."""
    told: dict[str, Any] = {}
    job = with_acid()
    for order in ((0, 10, 20, 30, 40, 50), (50, 10, 30, 0, 40, 20)):
        Look.objects.all().delete()
        for minutes in order:
            quiet = {"bubbles": "none", "solids": "none"} if minutes >= 20 else {}
            typed = {"conductivity": {"value": "40", "unit": "mS/cm"}}
            world.look(job, float(minutes), drops=14.0 if minutes else 20.0, ph=1.4, as_typed=typed, **quiet)
        verdict = services.verdict_of(job.fresh(), job.at(60 + 51))
        told[str(order)] = (verdict.action, [one.code for one in verdict.reasons], verdict.used_share)
    first, second = told.values()
    assert first == second and first[0] == "finished"


def test_a_look_over_the_api_answers_with_what_to_do_and_once_under_its_key() -> None:
    job = with_acid()
    client = as_person(job.technician)
    sent = {"id": str(uuid.uuid4()), "at": job.at(70).isoformat(), "ph": 1.3, "bubbles": "many",
            "as_typed": {"temperature": {"value": "72", "unit": "degF"},
                         "conductivity": {"value": "38", "unit": "mS/cm"}}}  # fmt: skip
    address, key = f"/api/v1/descales/{job.descale.pk}/looks/", {"Idempotency-Key": "k1"}
    first = client.post(address, sent, headers=key)
    assert first.status_code == 201, first.data
    assert first.data["record"]["temperature_k"] == pytest.approx((72 + 459.67) / 1.8)
    assert first.data["record"]["conductivity_s_per_m"] == pytest.approx(3.8)
    assert first.data["do_now"][0]["code"] == "go_on"
    again = client.post(address, sent, headers=key)
    assert (again.status_code, again.data["record"]["id"]) == (201, sent["id"])
    assert again["Idempotent-Replay"] == "true"
    assert client.post(address, sent, headers={"Idempotency-Key": "k2"}).status_code == 200
    assert Look.objects.count() == 1


def portion(of: world.Job, minutes: float, kg: float) -> services.Told:
    fields = {"at": of.at(minutes), "as_typed": {"product_mass": {"value": str(kg), "unit": "kg"}}}
    return services.add_portion(of.technician, of.descale, fields, of.at(minutes))


def test_portions_within_the_dose_leave_its_strength_and_more_than_it_raises_it() -> None:
    """By hand: 1.5 times the product in the same water, strength = product x share / (product + water)."""
    job = world.checked(world.noticed(world.job()))
    batch = world.mix(job).row
    planned, dose, water_kg = batch.strength, batch.product_kg, batch.water_m3 * 998.2
    for n in range(4):
        assert portion(job, 61 + n, dose / 4).do_now == ()
    batch.refresh_from_db()
    assert batch.strength == planned and batch.marks == []
    told = portion(job, 70, dose / 2)
    assert "off_the_plan" in codes(told) and "large_portion" in codes(told)
    batch.refresh_from_db()
    share = planned * (dose + water_kg) / dose
    assert batch.strength == pytest.approx(1.5 * dose * share / (1.5 * dose + water_kg), rel=1e-9)
