"""Checks before acid: those that the plan asks for, in an order that is told and never forced on records."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from contractor.descales import services
from contractor.descales.models import Check
from contractor.descales.words import CHECKS, COMES_AFTER, PROVES_NOTHING_BEFORE
from contractor.register.models import WaterTest
from tests import make
from tests.descales import world

pytestmark = pytest.mark.django_db
UNASKED = {
    "make_up_watched", "antifreeze_drained", "treatment_flushed", "flush_caught", "forced_ventilation",
}  # fmt: skip
"""By the world's unit: plain water without antifreeze, in a room that is large enough."""


def on_the_phone(job: world.Job) -> list[str]:
    phone = Client()
    phone.force_login(job.technician)
    page = phone.get(f"/crew/descales/{job.descale.pk}/").content.decode()
    return re.findall(r'id="check-(\w+)"', page)


def marks_of(kind: str) -> list[str]:
    return list(Check.objects.get(kind=kind).marks)


def test_what_comes_before_stands_earlier_in_the_list() -> None:
    order = list(CHECKS)
    for kind, before in COMES_AFTER.items():
        assert all(order.index(one) < order.index(kind) for one in before)
    for kind, before in PROVES_NOTHING_BEFORE.items():
        assert all(order.index(one) < order.index(kind) for one in before)


def test_the_phone_lists_the_checks_that_the_plan_asks_for_and_all_where_there_is_none() -> None:
    job = world.job()
    assert on_the_phone(job) == list(CHECKS)
    world.noticed(job)
    assert on_the_phone(job) == [kind for kind in CHECKS if kind not in UNASKED]
    world.check(job, "make_up_watched")
    assert "make_up_watched" in on_the_phone(job)


def test_treated_water_brings_its_flushing_onto_the_phone() -> None:
    job = world.job()
    WaterTest.objects.update(treatments=["nitrite"])
    world.noticed(job)
    assert {"treatment_flushed", "flush_caught"} <= set(on_the_phone(job))


def test_a_check_out_of_order_is_kept_marked_and_told_what_comes_first() -> None:
    job = world.noticed(world.job())
    told = world.check(job, "hoses_connected", 5)
    assert told.new and marks_of("hoses_connected") == ["out_of_order"]
    first = told.do_now[0]
    assert (first.code, first.urgent) == ("out_of_order", True)
    assert CHECKS["pressure_relieved"] in first.words and CHECKS["valves_hold"] in first.words
    assert CHECKS["strainer_out"] not in first.words


def test_an_earlier_check_that_comes_in_late_takes_the_mark_off() -> None:
    job = world.noticed(world.job())
    make.reading(job.descale.visit, job.exchanger, job.technician, purpose="before_descale")
    world.check(job, "proven_dead", 5)
    assert marks_of("proven_dead") == ["out_of_order"]
    world.check(job, "locked_out", 3)
    assert marks_of("proven_dead") == [] and marks_of("locked_out") == ["out_of_order"]
    world.check(job, "before_readings", 1)
    assert marks_of("locked_out") == []


@pytest.mark.parametrize(
    ("kind", "undone_by"), [("hold_test", "hoses_connected"), ("proven_dead", "locked_out")]
)
def test_what_was_proven_before_it_was_undone_keeps_the_dose_screen_shut(kind: str, undone_by: str) -> None:
    job = world.checked(world.noticed(world.job()))
    assert services.may_dose(job.fresh(), job.at(60)).open
    world.check(job, undone_by, 45)
    [shut] = services.may_dose(job.fresh(), job.at(60)).reasons
    assert shut.code == kind and shut.words.startswith("Again, since this was done after it")
    world.check(job, kind, 50)
    assert services.may_dose(job.fresh(), job.at(60)).open


def test_in_their_order_nothing_is_marked() -> None:
    world.checked(world.noticed(world.job()))
    assert not [one.kind for one in Check.objects.all() if one.marks]
