"""Files that come by a page: bounded before they are read, told by their first bytes, refused in words."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from contractor.register import papers, services
from contractor.register.models import Cleaner
from tests.cast import Cast

pytestmark = pytest.mark.django_db
MB = 1024 * 1024
PDF = b"%PDF-1.4 a sheet"


@pytest.fixture
def cleaner(settings: Any, tmp_path: Any) -> Cleaner:
    settings.MEDIA_ROOT = tmp_path
    return services.add_cleaner({"name": "Citric powder"})


def office(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.office)
    return client


def sent(client: Client, cleaner: Cleaner, content: bytes, paper: str = "label", **more: Any) -> Any:
    file = SimpleUploadedFile("a.pdf", content, "application/pdf")
    return client.post(f"/office/cleaners/{cleaner.pk}/papers/", {"paper": paper, "file": file}, **more)


def words_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", answer.content.decode())


def test_a_sheet_is_kept_and_its_page_leads_to_it(cast: Cast, cleaner: Cleaner) -> None:
    client = office(cast)
    answer = sent(client, cleaner, PDF, follow=True)
    assert "The paper is on file." in words_of(answer)
    assert f"/api/v1/cleaners/{cleaner.pk}/label/" in words_of(answer)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (PDF + bytes(papers.LARGEST_BYTES), "the file has 10.0 MB; expected a PDF"),
        (b"<html>", "none such by its first bytes; expected a PDF, or a JPEG or PNG picture"),
        (b"", "Choose which paper it is, and its file."),
    ],
)
def test_what_is_no_sheet_or_too_large_is_refused_in_words(
    cast: Cast, cleaner: Cleaner, content: bytes, words: str
) -> None:
    answer = sent(office(cast), cleaner, content, follow=True)
    text = words_of(answer)
    assert words in text or (not content and "the file is empty" in text)
    cleaner.refresh_from_db()
    assert not cleaner.label


def test_an_unknown_paper_is_refused(cast: Cast, cleaner: Cleaner) -> None:
    assert "Choose which paper it is" in words_of(sent(office(cast), cleaner, PDF, "note", follow=True))


@pytest.mark.parametrize("who", ["office", "client", "nobody"])
def test_thirty_megabytes_are_refused_before_they_are_read_whoever_sends_them(
    cast: Cast, cleaner: Cleaner, who: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(*args: Any) -> None:
        raise AssertionError("something of the file was read")

    monkeypatch.setattr("django.http.multipartparser.MultiPartParser.parse", read)
    client = Client()
    if who != "nobody":
        client.force_login(getattr(cast, who))
    answer = sent(client, cleaner, PDF + bytes(30 * MB))
    assert answer.status_code == 413
    text = words_of(answer)
    assert "larger than 25 MB" in text and "Go back" in text and "</html>" in text


def test_a_form_without_files_is_bounded_too(cast: Cast) -> None:
    body = "name=" + "x" * (3 * MB)
    answer = office(cast).post("/account/", body, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 413 and "larger than 2 MB" in words_of(answer)


def test_a_length_that_is_no_number_is_refused(cast: Cast) -> None:
    answer = office(cast).post("/account/", {"name": "Someone"}, CONTENT_LENGTH="-1")
    assert answer.status_code == 413


def test_a_name_with_a_path_in_it_stays_inside_the_store(
    cast: Cast, cleaner: Cleaner, settings: Any, tmp_path: Any
) -> None:
    file = SimpleUploadedFile("../../elsewhere.pdf", PDF, "application/pdf")
    office(cast).post(f"/office/cleaners/{cleaner.pk}/papers/", {"paper": "label", "file": file})
    cleaner.refresh_from_db()
    assert tmp_path in (tmp_path / cleaner.label.name).resolve().parents
    assert "elsewhere" not in cleaner.label.name
