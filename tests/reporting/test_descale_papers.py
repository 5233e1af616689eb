"""A descale's papers from its records: asked for, prepared, released; refused before their time."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from django.utils import timezone
from pypdf import PdfReader

from contractor.descales import services
from contractor.descales.models import Batch, Descale, Discharge, EndStep, Look, SignOff
from contractor.http.problems import Problem
from reporting import gathering, job_papers
from reporting import services as documents
from reporting.documents import certificate, job_sheet
from reporting.documents.job_facts import Signature
from reporting.models import Document
from tests import make
from tests.cast import as_person
from tests.descales import world
from tests.descales.world import Job

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _files(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


def told(content: bytes) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages)
    return " ".join(text.replace("\u00a0", " ").replace("\u202f", " ").split())


def text_of(document: Document) -> str:
    return told(document.file.open("rb").read())


def whole(of: Descale) -> Descale:
    return Descale.objects.select_related(*gathering.WITH_EVERYTHING).get(pk=of.pk)


def done(job: Job) -> Job:
    """Noticed, checked, one batch in, looked at, drained, put back, let out, signed by both."""
    world.checked(world.noticed(job))
    world.mix(job)
    for minutes in (3, 6, 10, 20):
        world.look(job, minutes, copper_mg_per_l=12.0)
    for kind in services.steps.END_STEPS:
        world.step(job, kind)
    services.record_discharge(
        job.technician, job.descale,
        {"at": job.at(300), "water": "bath", "route": "sewer", "volume_m3": 0.03, "ph": 7.4,
         "batch": services.batches_of(job.descale)[0], "copper_mg_per_l": 3.0}, job.at(300),
    )  # fmt: skip
    for signs_as, name in (("customer", "Maren Oske"), ("technician", "Wilf Arkady")):
        services.sign(
            job.technician, job.descale,
            {"at": job.at(310), "signs_as": signs_as, "name": name,
             "strokes": [[[0.1, 0.5], [0.5, 0.2], [0.9, 0.6]]]}, job.at(310),
        )  # fmt: skip
    for model in (Batch, EndStep, Discharge, SignOff, Look):  # the world's clock runs ahead of ours
        model.objects.filter(descale=job.descale).update(received_at=timezone.now())
    return job


def test_a_certificate_says_which_signature_was_typed() -> None:
    at = datetime(2027, 3, 2, 12, tzinfo=UTC)
    drawn = Signature("customer", "Maren Oske", at, (((0.1, 0.5), (0.9, 0.6)),))
    for signature, typed in ((drawn, False), (Signature("customer", "Maren Oske", at, ()), True)):
        told_there = " ".join(
            part.getPlainText() for part in certificate._signature(signature) if hasattr(part, "getPlainText")
        )
        assert "Maren Oske" in told_there and ("typed and confirmed" in told_there) is typed


def test_a_job_sheet_says_what_the_plan_says() -> None:
    job = world.job()
    plan = world.planned(job)
    assert plan.refusals == []
    descale = whole(job.descale)
    facts = gathering.job_sheet_of(descale, plan)
    text = told(job_sheet.render(facts))
    assert "sulfamic acid" in text.lower()
    assert facts.dose.product_kg == plan.result["bath"]["product_kg"]
    assert len(facts.steps) == len(plan.result["steps"]) and facts.limits.cap_k == plan.cap_k
    assert "65 dB(A) at 1 m" in text and "pH 6.0 to 10" in text
    assert str(descale.pk) in facts.address_of_job


def test_a_job_sheet_of_a_job_under_way_prints_the_clocks_time_out() -> None:
    job = world.checked(world.noticed(world.job()))
    world.mix(job)
    plan = services.current_plan(job.descale)
    assert plan is not None
    facts = gathering.job_sheet_of(whole(job.descale), plan)
    batch = services.batches_of(job.descale)[0]
    assert [out for _, out in facts.mixed] == [batch.out_by]


@pytest.mark.parametrize("kind", ["job_sheet", "notice", "certificate"])
def test_before_its_time_a_paper_is_refused_with_what_it_lacks(kind: str) -> None:
    job = world.job()
    answer = as_person(job.office).post(
        "/api/v1/documents/", {"kind": kind, "descale": str(job.descale.pk)},
        headers={"Idempotency-Key": str(uuid.uuid4())},
    )  # fmt: skip
    assert answer.status_code == 409 and answer.json()["type"].endswith("/nothing-to-print/")


def test_a_paper_is_asked_for_over_the_api_and_prepared_once() -> None:
    job = world.noticed(world.job())
    answer = as_person(job.technician).post(
        "/api/v1/documents/", {"kind": "job_sheet", "descale": str(job.descale.pk), "paper": "letter"},
        headers={"Idempotency-Key": str(uuid.uuid4())},
    )  # fmt: skip
    assert answer.status_code == 202, answer.json()
    first = job_papers.prepare_paper(job.descale.pk, "job_sheet", "letter")
    again = job_papers.prepare_paper(job.descale.pk, "job_sheet", "letter")
    assert first.pk == again.pk and first.descale_id == job.descale.pk
    assert "Every batch is out" in text_of(first)


@pytest.mark.parametrize("sent", [{"kind": "notice"}, {"kind": "visit_report", "descale": True}])
def test_a_paper_wants_its_descale_and_a_report_wants_none(sent: dict[str, Any]) -> None:
    job = world.job()
    body = {**sent, **({"descale": str(job.descale.pk)} if sent.get("descale") else {})}
    answer = as_person(job.office).post(
        "/api/v1/documents/", body, headers={"Idempotency-Key": str(uuid.uuid4())}
    )
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "#/descale"


def test_a_notice_says_when_how_long_and_with_what_and_the_client_reads_it_once_released() -> None:
    job = world.noticed(world.job())
    client = make.client_of(job.exchanger.unit.site.customer)
    paper = job_papers.prepare_paper(job.descale.pk, "notice", "a4")
    address = f"/api/v1/documents/{paper.pk}/"
    assert as_person(client).get(address).status_code == 404
    documents.release(paper, job.office, timezone.now())
    assert as_person(client).get(address).status_code == 200
    text = text_of(paper)
    assert "about 4 hours without this unit" in text and "as loud as talk" in text
    assert "sulfamic acid" in text and "No other unit stands still" in text


def test_a_job_sheet_is_never_released_to_clients() -> None:
    job = world.noticed(world.job())
    paper = job_papers.prepare_paper(job.descale.pk, "job_sheet", "a4")
    with pytest.raises(Problem) as refused:
        documents.release(paper, job.office, timezone.now())
    assert refused.value.kind == "document-for-the-crew"


def test_a_certificate_says_what_went_in_with_its_lot_what_came_out_and_where_to() -> None:
    job = done(world.job())
    facts = gathering.certificate_of(whole(job.descale))
    text = told(certificate.render(facts))
    for words in ("lot L-1", "Bubbles at 4 of 4 looks", "copper in the bath at most 12 mg/L", "30.0 L 7.4",
                  "copper 3.0 sewer", "Maren Oske", "Wilf Arkady", "whether it helped is not known",
                  "Final rinse of 8 min until pH 7.5"):  # fmt: skip
        assert words in text, words


def test_a_certificate_tells_what_titration_says_was_dissolved() -> None:
    job = done(world.job())
    assert gathering.certificate_of(whole(job.descale)).dissolved_kg is None
    Batch.objects.filter(descale=job.descale).update(product_kg=2.0, water_m3=0.038, strength=0.05)
    Look.objects.filter(descale=job.descale).update(strength=0.02, drops=4)
    text = told(certificate.render(gathering.certificate_of(whole(job.descale))))
    # 1.2 kg of sulfamic acid by 100.09 / (2 * 97.09); its interval in tests/descales/test_dissolved.py
    assert "Dissolved, by titration. About 0.62 kg (0.49 to 0.75 kg)" in text


def test_a_certificate_is_released_only_when_the_descale_may_be_certified() -> None:
    job = done(world.job())
    paper = job_papers.prepare_paper(job.descale.pk, "certificate", "a4")
    with pytest.raises(Problem) as refused:
        documents.release(paper, job.office, timezone.now())
    assert refused.value.kind == "descale-state"
    paper.refresh_from_db()
    assert paper.state == "prepared"
    Descale.objects.filter(pk=job.descale.pk).update(state="proved")
    documents.release(paper, job.office, timezone.now())
    assert job.fresh().state == "certified"


def test_a_certificate_is_outdated_by_whatever_is_told_after_it() -> None:
    job = done(world.job())
    paper = job_papers.prepare_paper(job.descale.pk, "certificate", "a4")
    assert not documents.is_outdated(paper)
    services.record_discharge(
        job.technician, job.descale,
        {"at": job.at(301), "water": "first_rinse", "route": "sewer", "volume_m3": 0.01, "ph": 7.0},
        timezone.now(),
    )  # fmt: skip
    paper.refresh_from_db()
    assert documents.is_outdated(paper)


def test_gathering_asks_no_more_for_a_longer_log(django_assert_max_num_queries: Any) -> None:
    job = done(world.job())
    for minutes in range(30, 130, 10):
        world.look(job, minutes)
    descale = whole(job.descale)
    with django_assert_max_num_queries(12):
        gathering.certificate_of(descale)
