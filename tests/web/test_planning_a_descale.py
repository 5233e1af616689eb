"""The office plans a descale by its page: refusals in words, the worker's progress, the job sheet."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from contractor.descales import services
from contractor.descales.models import DescalePlan
from contractor.descales.planning import Asked
from contractor.workqueue.models import WorkItem
from tests.descales import world

pytestmark = pytest.mark.django_db
DEPOSIT = "calcium_carbonate"


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


def test_everything_that_a_plan_takes_is_asked_with_its_unit_and_reaches_the_worker_in_si() -> None:
    job = world.agreed(world.job())
    client, path, sent = office(job)
    typed = {
        "working_level": "20", "working_level_unit": "L", "return_height": "2", "return_height_unit": "ft",
        "highest_point": "3", "highest_point_unit": "m", "supply": "50", "supply_unit": "degF",
        "elbow_90": "6", "check_valve": "1", "deposit": DEPOSIT, "in_a_pit": "on",
        "confined_space_permit": "P-7", "starts_at": "2027-03-02T10:00",
    }  # fmt: skip
    answer = client.post(f"{path}plan/", {**sent, **typed})
    assert answer.status_code == 302, page_of(answer)
    asked = WorkItem.objects.get(kind="plan_descale").payload["asked"]
    # by hand: 2 ft = 0.6096 m; 50 degF = 10 degC
    assert asked["working_level_m3"] == pytest.approx(0.02)
    assert asked["return_height_m"] == pytest.approx(0.6096) and asked["highest_point_m"] == 3.0
    assert asked["supply_k"] == pytest.approx(283.15)
    assert sorted(asked["fittings"]) == ["check_valve", *["elbow_90"] * 6]
    assert asked["deposit"] == DEPOSIT and asked["in_a_pit"] and asked["confined_space_permit"] == "P-7"


def test_what_is_left_empty_is_left_to_the_label_and_to_common_practice() -> None:
    job = world.agreed(world.job())
    client, path, sent = office(job)
    client.post(f"{path}plan/", sent)
    asked = WorkItem.objects.get(kind="plan_descale").payload["asked"]
    assert Asked.of_json(asked) == Asked()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"supply": "80", "supply_unit": "degC"}, "Expected water between 0 and 60"),
        ({"working_level": "-3", "working_level_unit": "L"}, "Below zero; expected zero or above."),
        ({"working_level": "full", "working_level_unit": "L"}, "is not a number; expected a number"),
        ({"strength_percent": "six"}, "Not a number; expected one such as 6.5."),
        ({"elbow_90": "30", "tee_branch": "30"}, "More than 40 fittings"),
        ({"elbow_90": "-1"}, "greater than or equal to 0"),
    ],
)
def test_a_plan_form_says_what_is_wrong_and_what_would_be_right(typed: dict[str, str], words: str) -> None:
    job = world.agreed(world.job())
    client, path, sent = office(job)
    answer = client.post(f"{path}plan/", {**sent, **typed})
    assert answer.status_code == 400 and words in page_of(answer)
    assert not WorkItem.objects.filter(kind="plan_descale").exists()


def test_planning_anew_starts_from_what_was_asked_before() -> None:
    job = world.agreed(world.job())
    client, path, _ = office(job)
    before = Asked(strength=0.055, working_level_m3=0.03, fittings=("exit", "exit"), in_a_pit=True,
                   confined_space_permit="P-9")  # fmt: skip
    services.make_plan(job.descale.pk, job.cleaner.pk, job.rig.pk, before, timezone.now())
    text = page_of(client.get(f"{path}plan/"))
    assert 'name="strength_percent" value="5.5"' in text and 'name="exit" value="2"' in text
    assert 'name="working_level" value="30"' in text and 'value="P-9"' in text


def test_who_writes_a_comma_may_type_one() -> None:
    job = world.agreed(world.job())
    type(job.office).objects.filter(pk=job.office.pk).update(decimal_mark="comma")
    client, path, sent = office(job)
    client.post(f"{path}plan/", {**sent, "strength_percent": "5,5"})
    assert WorkItem.objects.get(kind="plan_descale").payload["asked"]["strength"] == pytest.approx(0.055)


def test_a_price_may_be_typed_with_a_comma_too() -> None:
    job = world.job()
    type(job.office).objects.filter(pk=job.office.pk).update(decimal_mark="comma")
    client, path, _ = office(job)
    assert client.post(f"{path}price/", {"amount": "1.480,50", "currency": "EUR"}).status_code == 302
    assert str(job.fresh().prices.get().amount) == "1480.50"
