"""The office plans a descale by its page: refusals in words, the worker's progress, the job sheet."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from contractor.descales.models import DescalePlan
from contractor.workqueue.models import WorkItem
from tests.descales import world

pytestmark = pytest.mark.django_db


def page_of(answer: Any) -> str:
    text = answer.content.decode().replace("&#x27;", "'").replace("\N{NO-BREAK SPACE}", " ")
    return re.sub(r"\s+", " ", text)


def office(job: world.Job) -> tuple[Client, str, dict[str, str]]:
    client = Client()
    client.force_login(job.office)
    sent = {"cleaner": str(job.cleaner.pk), "rig": str(job.rig.pk)}
    return client, f"/office/descales/{job.descale.pk}/", sent


def test_an_unsafe_plan_is_refused_with_every_reason_in_words() -> None:
    job = world.job()
    type(job.exchanger).objects.filter(pk=job.exchanger.pk).update(metal="", heats_drinking_water=True)
    client, path, sent = office(job)
    answer = client.post(f"{path}plan/", sent)
    assert answer.status_code == 409
    text = page_of(answer)
    found = ("The customer's yes is not on record", "drinking water", "metal or seal is not known")
    assert all(words in text for words in found)
    assert not WorkItem.objects.filter(kind="plan_descale").exists()


def test_a_plan_is_queued_with_what_was_asked_and_the_page_follows_its_progress() -> None:
    job = world.agreed(world.job())
    client, path, sent = office(job)
    answer = client.post(f"{path}plan/", {**sent, "strength_percent": "6"})
    assert (answer.status_code, answer.url) == (302, path)
    item = WorkItem.objects.get(kind="plan_descale", subject=str(job.descale.pk))
    assert item.payload["asked"]["strength"] == 0.06
    text = page_of(client.get(path))
    assert f'data-work="{item.pk}"' in text and "web/progress" in text and "A worker makes the plan" in text


def test_a_plan_that_stands_is_shown_and_its_job_sheet_asked_for() -> None:
    job = world.job()
    plan = world.planned(job)
    assert plan.stands
    client, path, _ = office(job)
    text = page_of(client.get(path))
    assert str(job.cleaner) in text and str(job.rig) in text and "Have the job sheet made" in text
    assert client.post(f"{path}paper/", {"kind": "job_sheet"}).url == path
    item = WorkItem.objects.get(kind="descale_paper", subject=str(job.descale.pk))
    assert item.payload["kind"] == "job_sheet"


def test_notice_and_certificate_are_offered_once_there_is_something_to_print() -> None:
    job = world.job()
    client, path, _ = office(job)
    text = page_of(client.get(path))
    assert "Have the notice made" not in text and "Have the certificate made" not in text
    world.noticed(job)
    text = page_of(client.get(path))
    assert "Have the notice made" in text and "Have the certificate made" not in text
    world.mix(job)
    assert "Have the certificate made" in page_of(client.get(path))
    for kind in ("notice", "certificate"):
        assert client.post(f"{path}paper/", {"kind": kind}).url == path
    asked = WorkItem.objects.filter(kind="descale_paper").values_list("payload__kind", flat=True)
    assert set(asked) == {"notice", "certificate"}


def test_what_stands_against_a_kept_plan_is_told() -> None:
    job = world.agreed(world.job())
    DescalePlan.objects.create(
        descale=job.descale, cleaner=job.cleaner, rig=job.rig, made_at=job.now, engine_version="1",
        inputs_digest="0" * 64, asked={}, sheet={}, refusals=[{"code": "x", "words": "The tank leaks."}],
    )  # fmt: skip
    client, path, _ = office(job)
    text = page_of(client.get(path))
    assert "The tank leaks." in text and "Have the job sheet made" not in text


def test_no_job_sheet_is_made_without_a_plan_and_other_papers_are_unknown() -> None:
    client, path, _ = office(world.job())
    assert "no plan that stands" in page_of(client.post(f"{path}paper/", {"kind": "job_sheet"}, follow=True))
    assert "no such paper" in page_of(client.post(f"{path}paper/", {"kind": "poster"}, follow=True))
    assert not WorkItem.objects.filter(kind="descale_paper").exists()
