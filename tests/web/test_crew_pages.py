"""The crew's pages cost the same however much there is, and bring along what the day needs."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from contractor.descales.models import Descale
from contractor.visits.models import Finding
from contractor.web.technician import selectors, worker
from tests import make
from tests.cast import Cast

pytestmark = pytest.mark.django_db


def signed_in(cast: Cast) -> Client:
    client = Client()
    client.force_login(cast.assigned)
    return client


def queries(client: Client, path: str) -> int:
    client.get(path)
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(path).status_code == 200
    return len(caught)


def grow(cast: Cast) -> None:
    """More of everything."""
    for n in range(6):
        unit = make.unit(cast.site, tag=f"MORE-{n}")
        Descale.objects.create(exchanger=make.exchanger(unit), because="fouled", recommended_by=cast.assigned)
        make.visit(cast.site, [cast.assigned], window_start=timezone.now() + dt.timedelta(days=n))
        make.exchanger(cast.unit, name=f"circuit {n}")
        make.reading(cast.visit, cast.exchanger, cast.assigned)
        Finding.objects.create(
            visit=cast.visit, unit=cast.unit, found_by=cast.assigned, kind="note", note="x"
        )


def test_every_page_asks_the_database_as_often_however_much_there_is(cast: Cast) -> None:
    client = signed_in(cast)
    descale = Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.assigned)
    paths = [
        "/crew/", f"/crew/visits/{cast.visit.pk}/", f"/crew/visits/{cast.visit.pk}/survey/",
        f"/crew/units/{cast.unit.pk}/", f"/crew/exchangers/{cast.exchanger.pk}/reading/",
        f"/crew/descales/{descale.pk}/", "/crew/unsent/", "/crew/tag/",
    ]  # fmt: skip
    few = {path: queries(client, path) for path in paths}
    grow(cast)
    many = {path: queries(client, path) for path in paths}
    assert many == few
    assert max(few.values()) <= 30, few


def test_the_day_brings_along_every_page_of_its_visits(cast: Cast) -> None:
    descale = Descale.objects.create(exchanger=cast.exchanger, because="fouled", recommended_by=cast.assigned)
    far = make.site()
    make.visit(far, [cast.assigned], window_start=timezone.now() + dt.timedelta(days=9))
    later = make.unit(far)
    brought = selectors.rounds(cast.assigned, timezone.now()).bring
    for path in (f"/crew/visits/{cast.visit.pk}/", f"/crew/visits/{cast.visit.pk}/survey/",
                 f"/crew/units/{cast.unit.pk}/", f"/crew/exchangers/{cast.exchanger.pk}/reading/",
                 f"/crew/descales/{descale.pk}/", "/crew/unsent/", "/crew/tag/"):  # fmt: skip
        assert path in brought
    assert f"/crew/units/{later.pk}/" not in brought, "a visit in nine days is not of today"
    client = signed_in(cast)
    assert all(client.get(path).status_code == 200 for path in brought)


def test_who_says_whose_pages_these_are_and_gives_a_token_that_posts(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.assigned)
    said: dict[str, Any] = client.get("/crew/who/").json()
    assert said["person"] == str(cast.assigned.pk)
    path = f"/api/v1/visits/{cast.visit.pk}/start/"
    keyed = {"Idempotency-Key": "made-on-the-phone"}
    assert client.post(path, {}, "application/json", headers=keyed).status_code == 403
    sent = client.post(path, {}, "application/json", headers={**keyed, "X-CSRFToken": said["csrf"]})
    assert sent.status_code == 200


def test_a_page_says_whose_it_is_so_that_no_other_is_shown_it(cast: Cast) -> None:
    answer = signed_in(cast).get("/crew/")
    assert answer["Waterside-Person"] == str(cast.assigned.pk)
    assert answer["Cache-Control"] == "private, no-store"


def test_the_service_worker_is_short_and_names_what_is_there(cast: Cast) -> None:
    answer = Client().get("/worker.js")
    text = answer.content.decode()
    assert answer["Content-Type"].startswith("text/javascript")
    assert len(text.splitlines()) < 150
    assert worker.version() in text
    assert all(f"/static/{name}" in text for name in worker.shell_files())


def test_a_technician_learns_from_a_strange_tag_only_what_may_hurt(cast: Cast) -> None:
    site = make.site(name="Elsewhere", safety_notes="Stair without a rail.", access_notes="key under the mat")
    unit = make.unit(site, tag="EL-1")
    answer = signed_in(cast).get("/t/el-1/")
    text = answer.content.decode()
    assert "Stair without a rail." in text and "Elsewhere" in text
    assert "key under the mat" not in text and str(site.customer) not in text and str(unit.pk) not in text
