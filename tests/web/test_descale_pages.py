"""What the office does about a descale by page: its visit, which cleaner, the proof, what works accept."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

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
    assert "not among the choices" in words_of(office(job).post(of(job, "about/"), sent))
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


def book(job: world.Job, **given: Any) -> Any:
    day = timezone.localdate() + dt.timedelta(days=9)
    sent = {"site": str(job.exchanger.unit.site_id), "day": day.isoformat(), "starts": "09:00",
            "ends": "13:00",
            "crew": [str(one.pk) for one in job.crew], "reason": "descale", "chemical_work": "on",
            **given}  # fmt: skip
    return office(job).post("/office/visits/new/", sent, follow=True)


def waiting_for_a_visit() -> Any:
    job: Any = world.agreed(world.job())
    job.crew = list(job.descale.visit.crew.all())
    type(job.descale).objects.filter(pk=job.descale.pk).update(visit=None)
    return job


@pytest.mark.parametrize("named", [True, False])
def test_booking_a_visit_for_an_agreed_descale_links_the_two(named: bool) -> None:
    job = waiting_for_a_visit()
    form = office(job).get(f"/office/visits/new/?descale={job.descale.pk}").content.decode()
    assert f'<option value="{job.descale.pk}" selected>' in form
    assert f"descale={job.descale.pk}" in office(job).get(of(job)).content.decode()
    booked = book(job, **({"descale": str(job.descale.pk)} if named else {}))
    assert "The visit is booked." in words_of(booked)
    visit = job.fresh().visit
    assert visit is not None and visit.reason == "descale"
    assert f"/office/visits/{visit.pk}/" in booked.redirect_chain[-1][0]


def test_a_visit_for_something_else_or_elsewhere_links_nothing() -> None:
    job = waiting_for_a_visit()
    book(job, reason="routine")
    assert job.fresh().visit is None
    refused = book(job, site=str(make.site().pk), descale=str(job.descale.pk))
    assert "expected one at" in words_of(refused) and job.fresh().visit is None


def test_the_office_reads_checks_baths_and_looks() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    world.look(job, 10.0, colour="faint_blue", ph=1.37)
    text = words_of(office(job).get(of(job)))
    for words in ("Checks before acid", "J. Helper", "Batch 1", "lot L-1", "1.37", "faint blue"):
        assert words in text, words
