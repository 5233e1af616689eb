"""A client who guesses other people's addresses: nothing is there, and nothing tells that it is."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client, override_settings

from tests.access import descales, diagnostics, register, reporting, visits
from tests.access.web import ROWS as PAGES
from tests.access.world import World, build

pytestmark = pytest.mark.django_db
ROWS = [*PAGES, *register.ROWS, *visits.ROWS, *diagnostics.ROWS, *descales.ROWS, *reporting.ROWS]
# everything of a customer that is read at an address with an id in it
GUESSED = [row for row in ROWS if row.method == "GET" and ("<uuid:" in row.route or "<int:" in row.route)]
# the office's and the crew's pages are refused to clients before anything is looked up
NOT_FOR_CLIENTS = ("office/", "crew/")


@pytest.fixture(scope="module")
def whole_world(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[World]:
    media = tmp_path_factory.mktemp("media")
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=Path(media)), transaction.atomic():
        world = build()
        world.page_session = None
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(whole_world: World, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield whole_world
        transaction.set_rollback(True)


def filled(route: str, pk: object) -> str:
    before, rest = route.split("<", 1)
    return f"/{before}{pk}{rest.split('>', 1)[1]}"


def asked(person: Any, path: str) -> Any:
    client = Client(raise_request_exception=False)
    client.force_login(person)
    return client.get(path)


@pytest.mark.parametrize("row", GUESSED, ids=lambda row: row.name)
def test_what_is_another_customers_is_as_if_it_were_not_there(world: World, row: Any) -> None:
    theirs = getattr(world, row.of)
    pk = getattr(theirs, "pk", theirs)
    nobodys = uuid.uuid4() if "<uuid:" in row.route else 987_654_321
    found = asked(world.other_client, filled(row.route, pk))
    assert found.status_code == (403 if row.route.startswith(NOT_FOR_CLIENTS) else 404)
    nothing = asked(world.other_client, filled(row.route, nobodys))
    assert nothing.status_code == found.status_code
    told = found.content.decode().replace(filled(row.route, pk), "")
    assert told == nothing.content.decode().replace(filled(row.route, nobodys), "")


def test_the_addresses_that_are_guessed_are_of_everything_a_client_may_read() -> None:
    routes = {row.route for row in GUESSED}
    for part in ("documents/<uuid:pk>/file/", "findings/<uuid:pk>/photo/", "cleaners/<uuid:pk>/label/",
                 "cleaners/<uuid:pk>/safety-sheet/", "descale-notices/<uuid:pk>/label/",
                 "descale-notices/<uuid:pk>/safety-sheet/"):  # fmt: skip
        assert f"api/v1/{part}" in routes, part
    assert {"client/sites/<uuid:pk>/", "client/units/<uuid:pk>/"} <= routes


@pytest.mark.parametrize("before", ["/", "/media/", "/files/", "/static/", "/static/../", "/var/files/"])
def test_a_file_has_no_address_of_its_own(world: World, before: str) -> None:
    for name in (world.document.file.name, world.finding.photo.name):
        assert name
        for person in (world.other_client, world.client):
            assert asked(person, f"{before}{name}").status_code == 404
