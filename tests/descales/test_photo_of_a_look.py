"""The photo of a look: named by its finding, before or after, and never in the look's way."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from contractor.descales import services
from contractor.descales.models import Look
from contractor.visits.models import Finding
from tests import make
from tests.cast import as_person
from tests.descales import world

pytestmark = pytest.mark.django_db


def photographed(job: world.Job, **given: Any) -> Finding:
    fields = {"visit": job.descale.visit, "unit": job.exchanger.unit, "exchanger": job.exchanger,
              "kind": "photo", "found_by": job.technician, "found_at": job.at(70)}  # fmt: skip
    return Finding.objects.create(**{**fields, **given})


def post(job: world.Job, path: str, body: Any, by: Any = None) -> Any:
    address = f"/api/v1/descales/{job.descale.pk}/{path}/"
    key = {"Idempotency-Key": str(uuid.uuid4())}
    return as_person(by or job.technician).post(address, body, headers=key)


def with_acid() -> world.Job:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    return job


def test_a_look_that_is_there_is_given_its_photo_and_twice_is_harmless() -> None:
    job = with_acid()
    look, finding = world.look(job, 10.0).row, photographed(job)
    for _ in range(2):
        answer = post(job, "look-photo", {"look": str(look.pk), "photo": str(finding.pk)})
        assert answer.status_code == 200 and answer.data["photo"] == str(finding.pk), answer.data
    assert Look.objects.get(pk=look.pk).photo == finding


def test_a_look_whose_photo_is_not_there_is_kept_marked_and_takes_it_when_it_comes() -> None:
    job, late = with_acid(), uuid.uuid4()
    sent = {"id": str(uuid.uuid4()), "at": job.now.isoformat(), "ph": 1.3, "photo": str(late)}
    answer = post(job, "looks", sent)
    assert answer.status_code == 201, answer.data
    assert answer.data["record"]["photo"] is None
    assert "photo_not_there" in answer.data["record"]["marks"]
    photographed(job, id=late)
    named = post(job, "look-photo", {"look": sent["id"], "photo": str(late)})
    assert named.data["photo"] == str(late) and "photo_not_there" not in named.data["marks"]


def test_a_photo_of_another_site_is_not_this_looks_and_the_look_stays() -> None:
    job = with_acid()
    look = world.look(job, 10.0).row
    elsewhere = photographed(job, visit=make.visit(make.site(), [job.technician]), unit=None, exchanger=None)
    answer = post(job, "look-photo", {"look": str(look.pk), "photo": str(elsewhere.pk)})
    assert answer.status_code == 400 and "no such finding" in answer.data["detail"]
    assert Look.objects.get(pk=look.pk).photo is None
    told = world.look(job, 20.0, photo_id=elsewhere.pk)
    assert told.new and told.row.photo is None and "photo_not_there" in told.row.marks


def test_a_look_of_another_descale_is_not_there() -> None:
    job, other = with_acid(), world.noticed(world.job_beside("copper"))
    look = world.look(other, 10.0).row
    answer = post(job, "look-photo", {"look": str(look.pk), "photo": str(photographed(job).pk)})
    assert answer.status_code == 404


def test_the_record_shows_the_photo_with_its_look() -> None:
    job = with_acid()
    look, finding = world.look(job, 10.0).row, photographed(job)
    services.photo_of_look(job.technician, job.descale, look, finding.pk)
    record = as_person(job.office).get(f"/api/v1/descales/{job.descale.pk}/record/").data
    assert [one["photo"] for one in record["looks"]] == [str(finding.pk)]
