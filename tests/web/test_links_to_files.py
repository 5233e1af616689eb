"""A page's link to a file of the API, when it leads nowhere any more: whoever follows it gets a page."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client

from tests.cast import Cast

pytestmark = pytest.mark.django_db
BROWSER = {
    "Accept": "text/html,application/xhtml+xml,*/*;q=0.8"
}  # what browsers send where they go to an address
GONE = f"/api/v1/documents/{uuid.uuid4()}/file/"


def test_a_report_that_was_withdrawn_is_told_by_a_page_that_helps(cast: Cast) -> None:
    client = Client(headers=BROWSER)
    client.force_login(cast.client)
    answer = client.get(GONE)
    assert answer.status_code == 404 and answer["Content-Type"].startswith("text/html")
    assert (
        "may have been withdrawn" in answer.content.decode() and 'href="/client/"' in answer.content.decode()
    )


def test_whose_sign_in_ended_signs_in_and_goes_on_to_the_file(cast: Cast) -> None:
    answer = Client(headers=BROWSER).get(GONE)
    assert (answer.status_code, answer.url) == (302, f"/sign-in/?next={GONE}")


def test_programs_and_scripts_are_told_as_before(cast: Cast) -> None:
    for accept in ("*/*", "application/json"):
        client = Client(headers={"Accept": accept})
        assert client.get(GONE).status_code == 401
        client.force_login(cast.client)
        answer = client.get(GONE)
        assert answer.status_code == 404 and answer["Content-Type"] == "application/problem+json"
