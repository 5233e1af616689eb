"""Documents: prepared once, named by their digest, released or withdrawn by the office, read by few."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pypdf import PdfReader
from rest_framework.response import Response

from contractor.accounts.models import Person
from contractor.register.models import UnitEvent
from contractor.trail.models import Change
from contractor.visits.models import Finding
from contractor.workqueue.models import WorkItem
from diagnostics.models import Assessment
from diagnostics.services import assess_reading
from reporting import files, selectors, services
from reporting.documents import visit_report
from reporting.models import Document
from tests import make
from tests.cast import Cast, as_person, as_phone
from tests.diagnostics import world

pytestmark = pytest.mark.django_db
LIST = "/api/v1/documents/"


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def assessed(cast: Cast) -> Assessment:
    world.know(cast.exchanger)
    world.clean_visits(cast.visit, cast.exchanger, cast.assigned)
    earlier = make.visit(cast.site, [cast.assigned])
    routine = world.reading(earlier, cast.exchanger, cast.assigned, day=150, fouling_m2k_per_w=2e-4)
    visit = make.visit(cast.site, [cast.assigned])
    reading = world.reading(visit, cast.exchanger, cast.assigned, day=300, fouling_m2k_per_w=world.HEAVY)
    assess_reading(routine.pk)
    made = assess_reading(reading.pk)
    assert made is not None
    return made


@pytest.fixture
def document(assessed: Assessment) -> Document:
    return services.prepare_visit_report(str(assessed.pk), "a4")


def release(person: Person | None, document: Document, **headers: str) -> Response:
    tag = headers.get("if_match", f'"{document.pk}-{document.version}"')
    return as_person(person).post(f"{LIST}{document.pk}/release/", headers={"If-Match": tag})


def released(cast: Cast, document: Document) -> Document:
    return services.release(document, cast.office, timezone.now())


def test_the_file_is_named_by_its_digest_and_holds_the_report(cast: Cast, document: Document) -> None:
    content = Path(default_storage.path(document.file.name)).read_bytes()
    assert hashlib.sha256(content).hexdigest() == document.sha256
    assert document.file.name == f"documents/{document.sha256[:2]}/{document.sha256}.pdf"
    text = PdfReader(BytesIO(content)).pages[0].extract_text()
    for fact in ("What to do next", "Fouled.", cast.unit.tag, "Harbour Reach Offices", cast.site.name):
        assert fact in text.replace("\n", " "), fact
    assert (document.site, document.exchanger, document.state) == (cast.site, cast.exchanger, "prepared")


def test_preparing_again_gives_the_same_document_and_the_same_bytes(
    assessed: Assessment, document: Document
) -> None:
    again = services.prepare_visit_report(str(assessed.pk), "a4")
    assert again.pk == document.pk and Document.objects.count() == 1


def test_a_file_says_when_it_was_prepared_and_is_the_same_document_on_another_day(
    assessed: Assessment, document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = PdfReader(document.file.path).metadata
    assert told is not None
    prepared = document.prepared_at.replace(microsecond=0)
    assert told.creation_date == told.modification_date == prepared
    monkeypatch.setattr(services.timezone, "now", lambda: document.prepared_at + timedelta(days=40))
    assert services.prepare_visit_report(str(assessed.pk), "a4").pk == document.pk
    letter = services.prepare_visit_report(str(assessed.pk), "letter")
    later = PdfReader(letter.file.path).metadata
    assert later is not None and later.creation_date == prepared + timedelta(days=40)


def test_another_paper_is_another_document(assessed: Assessment, document: Document) -> None:
    letter = services.prepare_visit_report(str(assessed.pk), "letter")
    assert letter.pk != document.pk and letter.sha256 != document.sha256


def test_an_exchanger_is_reported_by_its_latest_reading(cast: Cast, assessed: Assessment) -> None:
    made = services.prepare_visit_report(str(cast.exchanger.pk), "a4")
    assert made.assessment == assessed


def test_without_an_assessment_there_is_nothing_to_report(cast: Cast) -> None:
    with pytest.raises(services.NothingAssessed):
        services.prepare_visit_report(str(cast.exchanger.pk), "a4")


def test_no_half_written_file_is_left_when_writing_fails(
    assessed: Assessment, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full_disk(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full_disk)
    with pytest.raises(OSError, match="No space"):
        services.prepare_visit_report(str(assessed.pk), "a4")
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []
    assert not Document.objects.exists()


def test_the_report_tells_what_was_typed_found_and_done(cast: Cast, assessed: Assessment) -> None:
    reading = assessed.reading
    Finding.objects.create(
        visit=reading.visit,
        unit=cast.unit,
        found_by=cast.assigned,
        kind="strainer",
        value="dirty",
        note="black flakes",
    )
    UnitEvent.objects.create(unit=cast.unit, at=world.FIRST_DAY.replace(month=9), what="descaled")
    loaded = Assessment.objects.select_related(*selectors.WITH_EVERYTHING).get(pk=assessed.pk)
    report = selectors.visit_report_of(loaded)
    lines = {line.column: line for line in report.readings}
    assert lines["entering_water"].typed_unit == "degF" and lines["entering_water"].si == "30.0\u00a0°C"
    assert lines["head_pressure"].typed_unit == "psig" and lines["head_pressure"].si.endswith("kPa absolute")
    assert ("Strainer", "dirty, black flakes") in report.looked_at
    assert [done.what for done in report.done] == ["descaled"]
    assert [one.taken_at.isoformat() for one in report.earlier] == ["2023-08-31T09:30:00+00:00"]
    assert report.crew == (cast.assigned.name,)
    assert report.answer.verdict == "fouled"


def test_what_is_meant_for_the_crew_only_is_not_in_the_report(cast: Cast, assessed: Assessment) -> None:
    for row in (cast.customer, cast.site, cast.unit, cast.exchanger, assessed.reading.visit):
        row.notes = "for our eyes only"
        row.save()
    document = services.prepare_visit_report(str(assessed.pk), "a4")
    text = " ".join(page.extract_text() for page in PdfReader(default_storage.path(document.file.name)).pages)
    assert "our eyes" not in text.replace("\n", " ")


def test_gathering_a_report_takes_the_same_number_of_queries_however_long_the_history(
    cast: Cast, assessed: Assessment
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            selectors.visit_report_of(services.assessment_meant(str(assessed.pk)))
        return len(seen)

    few = queries()
    for day in range(160, 172):
        reading = world.reading(assessed.reading.visit, cast.exchanger, cast.assigned, day=day)
        Assessment.objects.create(
            reading=reading, engine_version="0", inputs_digest="0", verdict="undecided", do_next="x",
            result=assessed.result,
        )  # fmt: skip
        UnitEvent.objects.create(unit=cast.unit, at=reading.taken_at, what="descaled")
    assert queries() == few <= 6


SEEN_PREPARED = {"owner", "office", "assigned technician"}
SEEN_RELEASED = {*SEEN_PREPARED, "client"}


@pytest.mark.parametrize(
    "who", ["owner", "office", "assigned technician", "other technician", "client", "other client"]
)
def test_a_prepared_document_is_the_crews_and_a_released_one_the_clients_too(
    cast: Cast, document: Document, who: str
) -> None:
    client = as_person(cast.people()[who])
    addresses = [f"{LIST}{document.pk}/", f"{LIST}{document.pk}/file/"]
    for seen in (SEEN_PREPARED, SEEN_RELEASED):
        status = 200 if who in seen else 404
        assert [client.get(address).status_code for address in addresses] == [status, status]
        assert len(client.get(LIST).data["results"]) == (1 if who in seen else 0)
        if document.state == "prepared":
            released(cast, document)


def test_a_withdrawn_document_is_gone_from_the_clients_sight(cast: Cast, document: Document) -> None:
    services.withdraw(released(cast, document), cast.office, "wrong unit", timezone.now())
    assert as_person(cast.client).get(f"{LIST}{document.pk}/file/").status_code == 404
    assert as_person(cast.office).get(f"{LIST}{document.pk}/").data["withdrawn_because"] == "wrong unit"


def test_a_stranger_gets_nothing(document: Document) -> None:
    for address in (LIST, f"{LIST}{document.pk}/", f"{LIST}{document.pk}/file/"):
        assert as_person(None).get(address).status_code == 401


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 200), ("office", 200), ("assigned technician", 403), ("other technician", 404),
     ("client", 404), ("other client", 404), ("anonymous", 401)],
)  # fmt: skip
def test_the_office_releases(cast: Cast, document: Document, who: str, status: int) -> None:
    assert release(cast.people()[who], document).status_code == status
    document.refresh_from_db()
    assert document.state == ("released" if status == 200 else "prepared")


def test_a_release_says_who_and_when_and_leaves_its_trace(cast: Cast, document: Document) -> None:
    answer = release(cast.office, document)
    assert answer.data["released_by"] == str(cast.office.pk) and answer.data["released_at"]
    assert answer["ETag"] == f'"{document.pk}-{document.version + 1}"'
    change = Change.objects.filter(row_id=str(document.pk)).latest("id")
    assert change.person == cast.office and change.fields["state"] == ["prepared", "released"]


def test_a_release_on_an_old_sight_of_the_document_is_refused(cast: Cast, document: Document) -> None:
    assert release(cast.office, document, if_match="").status_code == 428
    assert release(cast.office, document, if_match=f'"{document.pk}-99"').status_code == 412


def test_nothing_is_released_twice_nor_after_it_was_withdrawn(cast: Cast, document: Document) -> None:
    services.withdraw(document, cast.office, "typing error", timezone.now())
    answer = release(cast.office, document)
    assert answer.status_code == 409 and answer.data["type"].endswith("/document-not-prepared/")


def test_a_report_whose_reading_was_assessed_again_is_not_released(cast: Cast, document: Document) -> None:
    cast.exchanger.fouling_limit_m2k_per_w = 1e-5
    cast.exchanger.save()
    assert document.assessment is not None
    assess_reading(document.assessment.reading_id)
    answer = release(cast.office, document)
    assert answer.status_code == 409 and answer.data["type"].endswith("/document-outdated/")
    assert as_person(cast.office).get(f"{LIST}{document.pk}/").data["outdated"] is True


@pytest.mark.parametrize("because", ["", "   ", None])
def test_a_withdrawal_says_why(cast: Cast, document: Document, because: str | None) -> None:
    body = {} if because is None else {"because": because}
    tag = f'"{document.pk}-{document.version}"'
    answer = as_person(cast.office).post(f"{LIST}{document.pk}/withdraw/", body, headers={"If-Match": tag})
    assert answer.status_code == 400 and answer.data["errors"][0]["pointer"] == "#/because"


def test_a_withdrawn_document_cannot_be_withdrawn_again(cast: Cast, document: Document) -> None:
    services.withdraw(document, cast.office, "wrong unit", timezone.now())
    tag = f'"{document.pk}-{document.version}"'
    answer = as_person(cast.office).post(
        f"{LIST}{document.pk}/withdraw/", {"because": "again"}, headers={"If-Match": tag}
    )
    assert answer.status_code == 409


def test_the_database_itself_refuses_a_release_by_nobody(document: Document) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Document.objects.filter(pk=document.pk).update(state="released")
    with pytest.raises(IntegrityError), transaction.atomic():
        Document.objects.filter(pk=document.pk).update(state="withdrawn")


def test_the_download_is_an_attachment_with_a_plain_name(cast: Cast, document: Document) -> None:
    answer = as_person(cast.office).get(f"{LIST}{document.pk}/file/")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith('attachment; filename="visit-report-unit-hr-a-001-')
    assert answer["Content-Disposition"].endswith(f'-{document.sha256[:8]}.pdf"')
    assert answer["X-Content-Type-Options"] == "nosniff" and "private" in answer["Cache-Control"]
    assert hashlib.sha256(answer.content).hexdigest() == document.sha256
    assert answer["ETag"] == f'"{document.sha256}"'


def test_a_reader_that_asks_for_pdf_gets_pdf(cast: Cast, document: Document) -> None:
    answer = as_person(cast.office).get(f"{LIST}{document.pk}/file/", headers={"Accept": "application/pdf"})
    assert answer.status_code == 200 and answer.content.startswith(b"%PDF-")


def test_a_file_that_has_not_changed_is_not_sent_again(cast: Cast, document: Document) -> None:
    office = as_person(cast.office)
    answer = office.get(f"{LIST}{document.pk}/file/", headers={"If-None-Match": f'"{document.sha256}"'})
    assert answer.status_code == 304 and answer.content == b""


@pytest.mark.parametrize("harm", ["gone", "changed"])
def test_a_file_that_is_gone_or_changed_on_the_disk_is_not_given_out(
    cast: Cast, document: Document, harm: str
) -> None:
    path = Path(default_storage.path(document.file.name))
    if harm == "gone":
        path.unlink()
    else:
        path.write_bytes(path.read_bytes() + b" ")
    answer = as_person(cast.office).get(f"{LIST}{document.pk}/file/", headers={"Accept": "application/pdf"})
    assert answer.status_code == 503 and answer.json()["type"].endswith("/file-missing/")
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("about", ["exchanger", "assessment"])
def test_asking_for_a_report_is_answered_with_the_work_to_follow(
    cast: Cast, assessed: Assessment, about: str
) -> None:
    subject = str(cast.exchanger.pk if about == "exchanger" else assessed.pk)
    answer = as_phone(cast.assigned).post(LIST, {about: subject, "paper": "letter"})
    item = WorkItem.objects.get(kind="visit_report")
    assert answer.status_code == 202 and answer["Location"] == f"/api/v1/work-items/{item.pk}/"
    asked = {"paper": "letter", "units": "inch_pound", "mark": "point"}  # as who asks has them set
    assert (item.subject, item.payload, item.asked_by) == (subject, asked, cast.assigned)


def test_preparing_again_mends_a_file_that_was_harmed(
    cast: Cast, assessed: Assessment, document: Document
) -> None:
    path = Path(default_storage.path(document.file.name))
    sound = path.read_bytes()
    path.write_bytes(bytes(len(sound)))
    assert services.prepare_visit_report(str(assessed.pk), "a4").pk == document.pk
    assert path.read_bytes() == sound


def test_the_same_content_stands_once_even_if_two_workers_write_it(document: Document) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Document.objects.create(
            site=document.site, assessment=document.assessment, title="x", sha256=document.sha256, file="x"
        )


def test_a_withdrawn_report_can_be_prepared_anew(
    cast: Cast, assessed: Assessment, document: Document
) -> None:
    services.withdraw(document, cast.office, "too early", timezone.now())
    again = services.prepare_visit_report(str(assessed.pk), "a4")
    assert again.pk != document.pk and again.state == "prepared"


def test_asking_for_a_report_on_both_or_neither_is_refused(cast: Cast, assessed: Assessment) -> None:
    office = as_phone(cast.office)
    assert office.post(LIST, {}).status_code == 400
    both = {"exchanger": str(cast.exchanger.pk), "assessment": assessed.pk}
    assert office.post(LIST, both).status_code == 400
    assert office.post(LIST, {"exchanger": str(cast.exchanger.pk), "paper": "a5"}).status_code == 400


def test_asking_for_a_report_where_nothing_was_assessed_is_told_at_once(cast: Cast) -> None:
    answer = as_phone(cast.office).post(LIST, {"exchanger": str(cast.exchanger.pk)})
    assert answer.status_code == 409 and answer.data["type"].endswith("/nothing-assessed/")


@pytest.mark.parametrize(("who", "status"), [("client", 403), ("other technician", 400), ("anonymous", 401)])
def test_who_may_not_ask_for_a_report(cast: Cast, assessed: Assessment, who: str, status: int) -> None:
    answer = as_phone(cast.people()[who]).post(LIST, {"exchanger": str(cast.exchanger.pk)})
    assert answer.status_code == status and not WorkItem.objects.exists()


@pytest.mark.parametrize("name", ["customer", "site", "exchanger", "visit", "assessment"])
def test_the_list_can_be_narrowed(cast: Cast, document: Document, name: str) -> None:
    value = {"customer": cast.customer.pk, "site": cast.site.pk, "exchanger": cast.exchanger.pk,
             "visit": document.visit_id, "assessment": document.assessment_id}[name]  # fmt: skip
    office = as_person(cast.office)
    assert len(office.get(LIST, {name: str(value)}).data["results"]) == 1
    other = "0" if name == "assessment" else str(make.exchanger().pk)
    assert office.get(LIST, {name: other}).data["results"] == []
    assert office.get(LIST, {"state": "released"}).data["results"] == []


def test_the_list_takes_as_many_queries_for_one_row_as_for_many(cast: Cast, document: Document) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert as_person(cast.assigned).get(LIST).status_code == 200
        return len(seen)

    one = queries()
    for number in range(12):
        Document.objects.create(
            site=cast.site, exchanger=cast.exchanger, assessment=document.assessment, title="x",
            sha256=f"{number:064}", file=document.file.name,
        )  # fmt: skip
    assert queries() == one <= 2


def test_a_file_name_survives_names_in_any_script() -> None:
    document = Document(title="Visit report: unit Ω/株..\\x, 1 May 2025", sha256="ab" * 32)
    assert services.file_name_of(document) == "visit-report-unit-x-1-may-2025-abababab.pdf"
    assert services.file_name_of(Document(title="株式会社", sha256="ab" * 32)) == "document-abababab.pdf"


def test_the_title_of_a_report_names_unit_and_day(assessed: Assessment) -> None:
    loaded = services.assessment_meant(str(assessed.pk))
    assert visit_report.title_of(selectors.visit_report_of(loaded)).startswith(
        "Visit report: unit HR-A-001, "
    )


def test_a_report_of_one_of_a_units_exchangers_says_of_which(assessed: Assessment) -> None:
    told = selectors.visit_report_of(services.assessment_meant(str(assessed.pk)))
    named = visit_report.title_of(replace(told, exchanger="evaporator"))
    assert named.startswith("Visit report: unit HR-A-001 evaporator, ")
