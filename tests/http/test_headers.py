"""Security headers are on every answer."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.test import Client

from contractor.http.headers import csp_text, permissions_text
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db
ADDRESSES = [
    "/api/v1/me/",
    "/api/v1/nothing/",
    "/nothing",
    "/healthz/live",
    "/healthz/ready",
    "/api/v1/schema/",
]


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_answer_carries_them_good_or_bad(address: str) -> None:
    answer = Client().get(address)
    policy = answer["Content-Security-Policy"]
    for directive in ("default-src 'self'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"):
        assert directive in policy
    assert "unsafe" not in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    assert "geolocation=()" in answer["Permissions-Policy"]
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"


def test_files_carry_them_too() -> None:
    (settings.STATIC_ROOT / "a.css").write_text("p{}")
    answer = Client().get("/static/a.css")
    assert "Content-Security-Policy" in answer
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_answers_of_the_api_are_kept_by_no_shared_cache(cast: Cast) -> None:
    assert "private" in as_person(cast.office).get("/api/v1/me/")["Cache-Control"]


def test_policies_are_written_as_their_standards_say() -> None:
    assert csp_text({"default-src": ["'self'"], "sandbox": []}) == "default-src 'self'; sandbox"
    assert permissions_text({"usb": "()", "camera": "(self)"}) == "usb=(), camera=(self)"


def test_https_is_insisted_on_where_it_is_served(settings: pytest.FixtureRequest) -> None:
    settings.SECURE_HSTS_SECONDS = 31_536_000
    settings.SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    answer = Client().get("/healthz/live", secure=True)
    assert answer["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"


def test_a_write_without_its_last_slash_is_not_redirected_without_its_content(cast: Cast) -> None:
    client = as_person(cast.owner)
    assert client.post("/api/v1/people", {}).status_code == 404
    assert client.get("/api/v1/people").status_code == 301
