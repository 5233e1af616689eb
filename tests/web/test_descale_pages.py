"""What the office does about a descale by page: its visit, which cleaner, the proof, what works accept."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from contractor.descales import services
from contractor.descales.models import Discharge
from contractor.workqueue.models import WorkItem
from tests import make
from tests.descales import world

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.4 what the works wrote"


def office(job: world.Job) -> Client:
    client = Client()
    client.force_login(job.office)
    return client


def words_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def of(job: world.Job, what: str = "") -> str:
    return f"/office/descales/{job.descale.pk}/{what}"


def test_a_descale_without_a_visit_gets_one_by_page_and_its_piping() -> None:
    job = world.job()
    visit = job.descale.visit
    services.change_descale(job.office, job.descale, {"visit": None})
    assert "nobody doses without one" in words_of(office(job).get(of(job)))
    elsewhere = make.visit(make.site(), [job.technician])
    sent = {"visit": str(elsewhere.pk), "strainer_inside_valves": "unknown", "vent_at_both_tops": "true"}
    assert "Select a valid choice" in words_of(office(job).post(of(job, "about/"), sent))
    done = office(job).post(of(job, "about/"), {**sent, "visit": str(visit.pk)}, follow=True)  # type: ignore[union-attr]
    assert "It is on record." in words_of(done)
    row = job.fresh()
    assert (row.visit, row.strainer_inside_valves, row.vent_at_both_tops) == (visit, None, True)


def test_the_choice_shows_what_fits_and_tells_once_what_stands_against_all() -> None:
    job = world.job()
    other = world.cleaner(
        "inhibited_hydrochloric", metals_forbidden=["copper"], metals_only_inhibited=["bronze"],
        metals_allowed=["pvc"],
    )  # fmt: skip
    text = words_of(office(job).get(of(job, "cleaners/")))
    fits, refused = text.split("Refused")
    assert job.cleaner.name in fits and "Stands against every cleaner" not in text
    assert other.name in refused and "copper" in refused.lower()
    type(job.exchanger).objects.filter(pk=job.exchanger.pk).update(heats_drinking_water=True)
    text = words_of(office(job).get(of(job, "cleaners/")))
    assert "None fits as things stand." in text
    assert text.count("drinking water") == 1 and f"{job.cleaner.name} : as every cleaner." in text


def test_the_proof_is_asked_for_by_page_once_the_unit_is_back() -> None:
    job = world.checked(world.noticed(world.job()))
    assert "Judge the readings after" not in words_of(office(job).get(of(job)))
    refused = office(job).post(of(job, "proof/"), follow=True)
    assert "readings after are taken when it is back in service" in words_of(refused)
    type(job.descale).objects.filter(pk=job.descale.pk).update(state="in_service")
    make.reading(job.descale.visit, job.exchanger, job.technician, purpose="after_descale")
    assert "Not judged yet" in words_of(office(job).get(of(job)))
    asked = office(job).post(of(job, "proof/"), follow=True)
    assert "A worker judges the readings after" in words_of(asked)
    assert WorkItem.objects.filter(kind="prove_descale", subject=str(job.descale.pk)).count() == 1


def test_an_acceptance_is_attached_by_page_to_a_discharge_and_to_a_site(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    fields = {"at": job.at(300), "water": "bath", "route": "sewer", "ph": 4.2, "acid_document": "letter 12"}
    row = services.record_discharge(job.technician, job.descale, fields, job.at(300)).row
    type(job.exchanger.unit.site).objects.update(discharge_ph_low=None)

    def sent(path: str, content: bytes = PDF) -> str:
        file = SimpleUploadedFile("a.pdf", content, "application/pdf")
        return words_of(office(job).post(path, {"file": file}, follow=True))

    path = f"/office/discharges/{row.pk}/acceptance/"
    assert "none such by its first bytes" in sent(path, b"<html>")
    assert "It is on file" in sent(path)
    assert Discharge.objects.get(pk=row.pk).exceedances == []
    site = f"/office/sites/{job.exchanger.unit.site_id}/"
    assert "Nothing is on file" in words_of(office(job).get(site))
    assert "The acceptance is on file." in sent(f"{site}acceptance/")
    assert "until then it opens nothing" in words_of(office(job).get(site))
