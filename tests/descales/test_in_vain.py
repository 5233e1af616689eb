"""What could not be done is recommended anew; what changed nothing asks again what is wrong. By the API."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from contractor.descales.models import Descale
from contractor.register.models import GaugeSet
from contractor.workqueue.handlers import HANDLERS
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person
from tests.descales import world
from tests.diagnostics import world as machine

pytestmark = pytest.mark.django_db


def work_through(*kinds: str) -> None:
    for item in WorkItem.objects.filter(state="waiting", kind__in=kinds).order_by("created_at"):
        item.result = HANDLERS[item.kind](item, machine.Silent())  # type: ignore[arg-type]
        item.state = "done"
        item.save()


def post(by: Any, path: str, body: Any = None) -> Any:
    return as_person(by).post(path, body or {}, headers={"Idempotency-Key": str(uuid.uuid4())})


def test_what_could_not_be_done_stands_as_a_recommendation_in_its_place() -> None:
    job = world.agreed(world.job())
    path = f"/api/v1/descales/{job.descale.pk}/could-not-do/"
    answer = post(job.technician, path, {"why": "no_hose_ports", "words": "no ports on either side"})
    assert answer.status_code == 201, answer.data
    assert (answer.data["state"], answer.data["instead_of"]) == ("recommended", job.descale.pk)
    assert "no ports on either side" in answer.data["because"]
    old = as_person(job.office).get(f"/api/v1/descales/{job.descale.pk}/").data
    assert (old["state"], old["could_not_because"]) == ("could_not_do", "no_hose_ports")
    listed = as_person(job.office).get("/api/v1/descales/", {"state": "recommended"}).data
    assert [one["id"] for one in listed["results"]] == [answer.data["id"]]
    assert WorkItem.objects.filter(kind="descale_alarm", subject=str(job.descale.pk)).count() == 1
    again = post(job.technician, path, {"why": "no_hose_ports", "words": "no ports on either side"})
    assert again.data["id"] == answer.data["id"] and Descale.objects.count() == 2


def test_a_descale_without_improvement_asks_again_what_is_wrong(cast: Cast) -> None:
    machine.know(cast.exchanger)
    machine.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    gauges = GaugeSet.objects.create(name="Set 1")
    read = {"fouling_m2k_per_w": machine.HEAVY, "gauge_set": gauges}
    before = machine.reading(
        cast.visit, cast.exchanger, cast.assigned, day=399, purpose="before_descale", **read
    )
    later = make.visit(cast.site, [cast.assigned])
    after = machine.reading(later, cast.exchanger, cast.assigned, day=401, purpose="after_descale", **read)
    descale = Descale.objects.create(
        exchanger=cast.exchanger,
        because="fouled",
        recommended_by=cast.office,
        state="in_service",
        visit=later,
    )

    def ranked() -> Any:
        return as_person(cast.office).get(f"/api/v1/readings/{after.pk}/ranking/").data

    for reading in (before, after):
        WorkItem.objects.create(kind="rank", subject=str(reading.pk), payload={}, same_as=str(uuid.uuid4()))
    work_through("rank")
    first = ranked()
    asked = post(cast.office, f"/api/v1/descales/{descale.pk}/proof/")
    assert asked.status_code == 202, asked.data
    work_through("prove_descale")
    kept = as_person(cast.office).get(f"/api/v1/descales/{descale.pk}/record/").data
    assert kept["descale"]["state"] == "proved"
    [proof] = kept["verifications"]
    assert proof["result"]["improved"] == "no_improvement_shown" and proof["reference"] == "best_since"
    assert WorkItem.objects.filter(kind="heed_finding", state="waiting").exists()
    work_through("heed_finding", "rank")
    anew = ranked()
    assert anew["id"] != first["id"]
    assert anew["fouled_probability"] < first["fouled_probability"]
