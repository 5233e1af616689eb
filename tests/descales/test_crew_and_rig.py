"""Plan and notice look at the visit: two people, certificates that hold that day, the rig on board."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from contractor.accounts.models import Certificate
from contractor.descales import services
from contractor.descales.planning import Asked
from contractor.http.problems import Problem
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db


def refused(of: world.Job, **asked: Any) -> dict[str, str]:
    """What the plan is refused with, code by words; empty where it is queued."""
    try:
        services.request_plan(of.technician, of.descale, of.cleaner, of.rig, Asked(**asked), of.now)
    except Problem as problem:
        return {str(error["code"]): str(error["detail"]) for error in problem.errors}
    return {}


def notice(of: world.Job, **more: Any) -> dict[str, Any]:
    return {"work_starts_at": of.at(60), "hours_without_cooling": 4.0, "chemical": "sulfamic",
            "noise": "a pump", "others_affected": "none", **more}  # fmt: skip


def test_a_plan_for_one_person_alone_is_refused_by_name() -> None:
    job = world.agreed(world.job())
    assert refused(job) == {}
    assert job.descale.visit is not None
    job.descale.visit.crew.set([job.technician])
    found = refused(job)
    assert list(found) == ["crew_not_fit"]
    assert f"The crew is {job.technician}; nobody works with acid alone." in found["crew_not_fit"]


def test_a_certificate_holds_on_the_day_of_the_work_itself() -> None:
    job = world.agreed(world.job())
    zone = job.exchanger.unit.site.zone
    day = job.now.astimezone(zone).date() + dt.timedelta(days=30)
    Certificate.objects.update(expires_on=day)
    noon = dt.datetime.combine(day, dt.time(12), tzinfo=zone)
    assert refused(job, starts_at=noon) == {}
    found = refused(job, starts_at=noon + dt.timedelta(days=1))
    assert f"holds until {day:%d %b %Y}" in found["crew_not_fit"]
    Certificate.objects.all().delete()
    assert "certificate for chemical work on record" in refused(job)["crew_not_fit"]


def test_a_plan_without_a_visit_or_with_its_rig_elsewhere_stands_and_says_what_lacks() -> None:
    job = world.job()
    assert world.planned(job, starts_at=job.at(60)).result["visit_lacks"] == []
    visit = job.descale.visit
    assert visit is not None
    visit.rigs.clear()
    visit.chemical_work = False
    visit.save()
    plan = world.planned_again(job, starts_at=job.at(60 * 24 * 3))
    assert plan.stands
    rig, chemical, day = plan.result["visit_lacks"]
    assert rig.startswith(f"{job.rig} is not booked") and "not booked as chemical work" in chemical
    assert day.startswith("The work starts")
    services.change_descale(job.office, job.fresh(), {"visit": None})
    [none] = world.planned_again(job).result["visit_lacks"]
    assert none.startswith("No visit is booked")


def test_a_notice_is_refused_for_a_crew_unfit_that_day_and_else_says_what_the_visit_lacks() -> None:
    job = world.job()
    assert world.planned(job).stands
    path = f"/api/v1/descales/{job.descale.pk}/notice/"
    expires = Certificate.objects.get().expires_on
    late = dt.datetime.combine(expires + dt.timedelta(days=2), dt.time(9), tzinfo=dt.UTC)
    sent = {name: str(value) for name, value in notice(job, work_starts_at=late.isoformat()).items()}
    answer = as_person(job.office).post(path, sent)
    assert answer.status_code == 409
    assert answer.data["type"].endswith("/crew-not-fit-for-chemical-work/")
    assert job.fresh().state == "planned"
    assert job.descale.visit is not None
    job.descale.visit.rigs.clear()
    given = as_person(job.office).post(path, {**sent, "work_starts_at": job.at(60).isoformat()})
    assert given.status_code == 201, given.data
    [lacks] = given.data["lacks"]
    assert lacks.startswith(f"{job.rig} is not booked")


def shut(of: world.Job, minutes: float = 60.0) -> dict[str, str]:
    """What keeps the dose screen shut, code by words."""
    return {one.code: one.words for one in services.may_dose(of.fresh(), of.at(minutes)).reasons}


def test_the_dose_screen_shuts_where_the_second_person_is_off_the_visit_by_then() -> None:
    job = world.checked(world.noticed(world.job()))
    assert shut(job) == {}
    assert job.descale.visit is not None
    job.descale.visit.crew.set([job.technician])
    assert list(shut(job)) == ["crew_not_fit"]
    told = world.mix(job)
    assert "before_its_time" in told.row.marks and "crew_not_fit" in [one.code for one in told.do_now]


def test_the_dose_screen_looks_at_certificates_on_the_day_itself() -> None:
    job = world.checked(world.noticed(world.job()))
    today = job.at(60).astimezone(job.exchanger.unit.site.zone).date()
    Certificate.objects.update(expires_on=today)
    assert shut(job) == {}
    Certificate.objects.update(expires_on=today - dt.timedelta(days=1))
    assert f"holds until {today - dt.timedelta(days=1):%d %b %Y}" in shut(job)["crew_not_fit"]


def test_a_second_person_of_another_shift_is_asked_for_again() -> None:
    job = world.checked(world.noticed(world.job()))
    assert shut(job, 11 * 60) == {}
    assert list(shut(job, 13 * 60)) == ["second_person_long_ago"]
    world.check(job, "second_person", 13 * 60 - 5)
    assert "second_person_long_ago" not in shut(job, 13 * 60)


def test_without_an_open_visit_nobody_doses() -> None:
    job = world.checked(world.noticed(world.job()))
    visit = job.descale.visit
    assert visit is not None
    type(visit).objects.filter(pk=visit.pk).update(state="done")
    assert list(shut(job)) == ["no_visit"]


def test_what_happened_is_kept_whoever_came() -> None:
    job = world.job()
    assert job.descale.visit is not None
    job.descale.visit.crew.set([job.technician])
    Certificate.objects.all().delete()
    told = world.mix(job)
    assert told.new and job.fresh().state == "acid_in"
