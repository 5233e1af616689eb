"""The customer's yes whenever it is recorded, and the notice with its papers by e-mail."""

from __future__ import annotations

import hashlib
from io import BytesIO
from typing import Any

import pytest
from django.core import mail
from django.test import Client
from pypdf import PdfReader

from contractor.accounts.models import Person
from contractor.descales import services
from contractor.descales.models import Consent, Notice
from contractor.http.problems import Problem
from contractor.workqueue.models import WorkItem
from reporting.models import Document
from reporting.tasks import send_notice
from tests import make
from tests.cast import as_person
from tests.descales import world
from tests.diagnostics import world as machine

pytestmark = pytest.mark.django_db
PDF = world.PDF


def yes(of: world.Job) -> dict[str, Any]:
    return {"said_by": "M. Facility", "said_at": of.now, "order_number": "4711"}


def sent(of: world.Job) -> dict[str, int]:
    item = WorkItem.objects.get(kind="descale_notice", subject=str(Notice.objects.get().pk))
    return send_notice(item, machine.Silent())  # type: ignore[arg-type, no-any-return]


def test_a_yes_recorded_after_acid_went_in_is_kept_and_marked_and_opens_nothing() -> None:
    job = world.job()
    world.mix(job)
    shut = {one.code for one in services.may_dose(job.fresh(), job.at(60)).reasons}
    consent = services.record_consent(job.office, job.fresh(), yes(job))
    assert Consent.objects.get().marks == consent.marks == ["after_acid"]
    assert job.fresh().state == "acid_in"
    assert "no_consent" in shut
    answer = as_person(job.office).get(f"/api/v1/descales/{job.descale.pk}/record/").data
    assert answer["consents"][0]["marks"] == ["after_acid"]


def test_a_yes_out_of_turn_before_acid_is_refused_as_before() -> None:
    job = world.job()
    with pytest.raises(Problem) as refused:
        services.record_consent(job.office, job.descale, yes(job))
    assert refused.value.kind == "descale-state"


def test_a_notice_goes_by_e_mail_with_label_and_safety_sheet_to_those_who_see_the_site_and_once() -> None:
    job = world.job()
    site = job.exchanger.unit.site
    told = make.client_of(site.customer)
    make.client_of(make.customer())
    gone = make.client_of(site.customer)
    gone.is_active = False
    gone.save()
    world.noticed(job)
    assert sent(job) == {"told": 1} and sent(job) == {"told": 0}
    [letter] = mail.outbox
    assert letter.bcc == [told.email]
    (name, paper, media), *sheets = letter.attachments
    assert [(name, content) for name, content, _ in sheets] == [("label.pdf", PDF), ("safety-sheet.pdf", PDF)]
    assert name.startswith("notice-of-work-unit-") and media == "application/pdf" and name in str(letter.body)
    text = " ".join(PdfReader(BytesIO(paper)).pages[0].extract_text().split())
    assert "Notice of work" in text and job.exchanger.unit.tag in text
    document = Document.objects.get(kind="notice")
    assert hashlib.sha256(paper).hexdigest() == document.sha256
    assert (document.state, document.released_by) == ("released", job.office)
    assert as_person(told).get(f"/api/v1/documents/{document.pk}/").status_code == 200
    for words in (job.exchanger.unit.tag, job.cleaner.name, "a pump, as loud as talk", "4"):
        assert words in str(letter.body)
    notice = Notice.objects.get()
    assert notice.sent_to == f"facility@example.org; by e-mail: {told.email}" and notice.emailed_at
    shown = as_person(told).get(f"/api/v1/descale-notices/{notice.pk}/").data
    assert b"".join(as_person(told).get(shown["safety_sheet"]).streaming_content) == PDF  # type: ignore[attr-defined]


def test_only_the_last_notice_of_work_that_is_still_to_come_is_coming() -> None:
    job = world.noticed(world.job())
    told = {"work_starts_at": job.at(90), "hours_without_cooling": 3.0, "chemical": "x", "noise": "x",
            "others_affected": "none"}  # fmt: skip
    last = services.give_notice(job.office, job.fresh(), told, job.at(1))
    assert list(Notice.objects.to_come(job.now)) == [last]
    assert not Notice.objects.to_come(job.at(91)).exists()
    services.call_off(job.office, job.fresh(), "sold", job.now)
    assert not Notice.objects.to_come(job.now).exists()


@pytest.mark.parametrize(("units", "paper", "width_pt"), [("inch_pound", "letter", 612), ("si", "a4", 595)])
def test_the_notice_comes_on_the_paper_of_who_gives_it(units: str, paper: str, width_pt: int) -> None:
    """Letter is 8.5 inch of 72 points wide, A4 210 mm (ISO 216): 595 points."""
    job = world.job()
    Person.objects.filter(pk=job.office.pk).update(units=units)
    make.client_of(job.exchanger.unit.site.customer)
    world.noticed(job)
    assert sent(job) == {"told": 1}
    page = PdfReader(BytesIO(mail.outbox[0].attachments[0][1])).pages[0]
    assert int(page.mediabox.width) == width_pt and Document.objects.get(kind="notice").paper == paper


def test_where_nobody_of_the_client_signs_in_the_office_is_told_to_do_it_itself() -> None:
    job = world.noticed(world.job())
    assert sent(job) == {"told": 0} and mail.outbox == []
    notice = Notice.objects.get()
    assert (notice.sent_to, notice.emailed_at) == ("facility@example.org", None)
    browser = Client()
    browser.force_login(job.office)
    assert services.NOBODY in browser.get(f"/office/descales/{job.descale.pk}/").content.decode()
