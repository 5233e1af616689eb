"""Sheets that are in force, and what is due when: looks, titrations, the strainer after a day."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from django.test import Client

from contractor.descales import services
from contractor.descales.services.due import strainer_of, strainers_due
from contractor.descales.words import AFTER_SERVICE, END_STEPS
from contractor.register.models import Cleaner
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db
FIVE_YEARS_AND_A_WEEK = dt.timedelta(days=5 * 365 + 9)


def minutes_of(job: world.Job, at: dt.datetime) -> float:
    """After acid, which goes in at minute 60 of the job."""
    return (at - job.at(60)).total_seconds() / 60


# --- sheets
@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("label", "", "not on file: label"),
        ("safety_sheet", "", "not on file: safety sheet"),
        ("safety_sheet_on", None, "not on file: safety sheet's date"),
        ("safety_sheet_on", dt.date(2001, 1, 1), "lapsed: safety sheet of 2001-01-01"),
        ("label_on", dt.date(2199, 1, 1), "lapsed: label of 2199-01-01"),
    ],
)
def test_the_dose_screen_stays_shut_and_names_the_sheet_that_is_missing_or_lapsed(
    column: str, value: object, words: str
) -> None:
    job = world.checked(world.noticed(world.job()))
    assert services.may_dose(job.fresh(), job.at(60)).open
    Cleaner.objects.filter(pk=job.cleaner.pk).update(**{column: value})
    gate = services.may_dose(job.fresh(), job.at(60))
    assert not gate.open and [one.code for one in gate.reasons] == ["sheets_at_hand"]
    assert words in gate.reasons[0].words


def test_a_lapsed_sheet_refuses_the_plan_and_one_in_force_does_not() -> None:
    job = world.agreed(world.job())
    day = job.now.date()
    Cleaner.objects.update(safety_sheet_on=day - FIVE_YEARS_AND_A_WEEK)
    plan = world.planned_again(job)
    assert [one["code"] for one in plan.refusals] == ["sheet_lapsed"]
    assert "safety sheet of" in plan.refusals[0]["words"]
    Cleaner.objects.update(safety_sheet_on=day - dt.timedelta(days=4 * 365))
    assert world.planned_again(job).refusals == []


# --- looks
def test_looks_are_due_at_0_3_6_10_minutes_and_then_every_ten_and_titration_at_10_then_every_20_to_30() -> (
    None
):
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    due = []
    for minutes in (None, 0.0, 3.0, 6.0, 10.0, 21.0):
        if minutes is not None:
            world.look(job, minutes, drops=20 if minutes == 10.0 else None)
        [one] = services.next_looks(job.fresh(), services.batches_of(job.descale))
        due.append(tuple(minutes_of(job, at) for at in (one.look_at, one.titrate_from, one.titrate_by)))
    assert [one[0] for one in due] == [0, 3, 6, 10, 20, 31]
    assert due[0][1:] == (10, 10) and due[-1][1:] == (30, 40)
    shown = as_person(job.technician).get(f"/api/v1/descales/{job.descale.pk}/now/").data["next_looks"]
    assert len(shown) == 1 and shown[0]["due"] is False


def test_no_look_is_due_after_the_bath_must_be_out_nor_once_it_is() -> None:
    job = world.checked(world.noticed(world.job()))
    batch = world.mix(job).row
    label_minutes = job.cleaner.longest_time_s / 60  # type: ignore[operator]
    world.look(job, label_minutes - 2)
    [one] = services.next_looks(job.fresh(), services.batches_of(job.descale))
    assert one.look_at == batch.out_by
    world.step(job, "drained", 60.0 + label_minutes)
    assert services.next_looks(job.fresh(), services.batches_of(job.descale)) == []


# --- strainer
def test_the_strainer_is_due_a_day_after_the_unit_runs_and_is_listed_until_somebody_looked() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    for place, kind in enumerate(kind for kind in END_STEPS if kind not in AFTER_SERVICE):
        world.step(job, kind, 200.0 + place)
    ran = job.at(200.0 + list(END_STEPS).index("run"))
    assert job.fresh().state == "in_service"
    due = strainer_of(job.fresh())
    assert due is not None and due.due_at == ran + dt.timedelta(days=1)
    assert strainers_due(job.office, ran + dt.timedelta(hours=23)) == []
    late = ran + dt.timedelta(hours=25)
    assert [one.descale for one in strainers_due(job.technician, late)] == [job.descale]
    assert strainers_due(make.person(), late) == []
    shown = as_person(job.technician).get(f"/api/v1/descales/{job.descale.pk}/now/").data
    assert shown["strainer_due"]["descale"] == str(job.descale.pk)
    world.step(job, "strainer_after_a_day", 200.0 + 25 * 60, strainer_state="clean")
    assert strainers_due(job.office, late) == [] and strainer_of(job.fresh()) is None


# --- in the plan
def test_the_plan_tells_the_pump_at_a_distance_and_the_wastes_ph_before_it_is_neutralised() -> None:
    job = world.job()
    result = world.planned(job).result
    # ISO 9613-2, inverse squares: 65 dB(A) at 1 m is 20 dB less at 10 m
    assert result["noise"]["at_10_m_db"] == pytest.approx(45.0)
    waste = result["waste"]
    # by hand, concentrations for activities: C = w rho / 97.1 g/mol, [H]2 / (C - [H]) = 10^-1.0
    concentration = result["bath"]["strength"] * result["bath"]["density_kg_per_m3"] / 97.1
    protons = -0.05 + math.sqrt(0.05**2 + 0.1 * concentration)
    fresh, spent = waste["ph_as_it_comes"]["fresh"], waste["ph_as_it_comes"]["spent"]
    assert fresh == pytest.approx(-math.log10(protons), abs=0.25)
    assert fresh < spent < 5.0
    assert waste["dissolved_mg_per_l"] == {}  # no assessment tells how much deposit there is


def test_a_strainer_that_is_due_stands_in_the_api_and_on_the_phone() -> None:
    job = world.job()
    job.now -= dt.timedelta(days=3)
    world.mix(world.checked(world.noticed(job)))
    for place, kind in enumerate(kind for kind in END_STEPS if kind not in AFTER_SERVICE):
        world.step(job, kind, 200.0 + place)
    phone = Client()
    phone.force_login(job.technician)
    [listed] = as_person(job.technician).get("/api/v1/descale-strainers/").data
    assert (listed["descale"], listed["tag"]) == (str(job.descale.pk), job.exchanger.unit.tag)
    assert as_person(make.person()).get("/api/v1/descale-strainers/").data == []
    address = f"/crew/descales/{job.descale.pk}/"
    assert f"{address}#end/strainer_after_a_day" in phone.get("/crew/").content.decode()
    assert "Look at the strainer now:" in phone.get(address).content.decode()
    world.step(job, "strainer_after_a_day", 200.0 + 25 * 60, strainer_state="clean")
    assert as_person(job.technician).get("/api/v1/descale-strainers/").data == []
    assert "Strainers to look at" not in phone.get("/crew/").content.decode()
