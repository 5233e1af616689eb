"""A descale's log and proof tell the ranking of causes what came out and what changed."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from contractor.accounts.models import Role
from contractor.descales.models import Descale
from contractor.descales.services.proving import prove
from contractor.descales.services.telling import brought_out
from contractor.visits.models import Finding, Reading
from contractor.workqueue.models import WorkItem
from tests import make
from tests.descales import world
from tests.diagnostics import world as readings

pytestmark = pytest.mark.django_db


def looked_at(*seen: dict[str, Any]) -> Descale:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    for place, look in enumerate(seen):
        world.look(job, 10.0 + 10.0 * place, **{"bubbles": "none", "solids": "none", **look})
    return job.fresh()


@pytest.mark.parametrize(
    ("seen", "brought"),
    [
        ([{"bubbles": "none"}] * 3, "nothing"),
        ([{"bubbles": "none"}] * 2, ""),
        ([{}, {}, {"solids": "few"}], "solids"),
        ([{"bubbles": "many"}], "solids"),
        ([{"bubbles": "none", "colour": "green"}] * 3, "colour"),
    ],
)
def test_what_came_out_is_read_off_the_looks(seen: list[dict[str, Any]], brought: str) -> None:
    assert brought_out(looked_at(*seen)) == brought


def pair(descale: Descale, after_m2k_per_w: float) -> tuple[Reading, Reading]:
    technician = make.person(Role.TECHNICIAN)
    visit = make.visit(descale.exchanger.unit.site, [technician])
    heavy = readings.HEAVY
    before = readings.reading(
        visit, descale.exchanger, technician, fouling_m2k_per_w=heavy, purpose="before_descale"
    )
    after = readings.reading(
        visit,
        descale.exchanger,
        technician,
        day=1,
        fouling_m2k_per_w=after_m2k_per_w,
        purpose="after_descale",
    )
    return before, after


def test_a_descale_that_changed_nothing_is_found_so_and_the_causes_are_ranked_again() -> None:
    descale = looked_at(*[{"bubbles": "none"}] * 3)
    before, after = pair(descale, readings.HEAVY)
    now = after.taken_at + dt.timedelta(hours=1)
    prove(descale.pk, before.pk, after.pk, now)
    (told,) = Finding.objects.filter(kind="descale")
    assert (told.value, told.brought, told.exchanger) == ("no_change", "nothing", descale.exchanger)
    assert WorkItem.objects.filter(kind="heed_finding", subject=str(told.pk)).exists()
    prove(descale.pk, before.pk, after.pk, now)
    assert Finding.objects.filter(kind="descale").count() == 1


def test_a_descale_that_helped_is_found_so() -> None:
    descale = looked_at({"bubbles": "many"})
    before, after = pair(descale, 0.0)
    prove(descale.pk, before.pk, after.pk, after.taken_at)
    told = Finding.objects.get(kind="descale")
    assert (told.value, told.brought) == ("better", "solids")
