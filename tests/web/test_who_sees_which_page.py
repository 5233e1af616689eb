"""Every page and button, asked by everyone. The rows stand in tests/access/web.py."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import Client, override_settings
from django.urls import URLPattern, URLResolver, get_resolver

from contractor.accounts.services import note_page_session, password_link_secret
from contractor.trail.models import Change
from tests import make
from tests.access.rows import ACTORS
from tests.access.web import ROWS, PageRow
from tests.access.world import World, build

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def whole_world(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[World]:
    media = tmp_path_factory.mktemp("media")
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=Path(media)), transaction.atomic():
        world = build()
        world.password_secret = password_link_secret(world.other)
        world.page_session = note_page_session(world.assigned, "k" * 32, "a browser")
        world.their_free_exchanger = make.exchanger(world.their_unit, name="free")
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(whole_world: World, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield whole_world
        transaction.set_rollback(True)


def pages(resolver: URLResolver, before: str = "", inside: bool = False) -> Iterator[tuple[str, str]]:
    """Every (method, route) in the namespace web."""
    for entry in resolver.url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from pages(entry, route, inside or entry.namespace == "web")
        elif inside:
            yield from ((method, route) for method in methods_of(entry))


def methods_of(entry: URLPattern) -> list[str]:
    view: Any = entry.callback
    kind = view.view_class
    known = [name for name in kind.http_method_names if hasattr(kind, name)]
    return [name.upper() for name in known if name in ("get", "post", "put", "patch", "delete")]


def address(world: World, row: PageRow) -> str:
    route = row.route
    things = [getattr(world, name) for name in row.of.split()]
    for thing in things:
        before, rest = route.split("<", 1)
        route = f"{before}{getattr(thing, 'pk', thing)}{rest.split('>', 1)[1]}"
    return f"/{route}"


def ask(world: World, row: PageRow, actor: str) -> Any:
    client = Client(raise_request_exception=False)
    if actor != "anonymous":
        client.force_login(getattr(world, actor))
    sent = row.form(world) if row.form else {}
    return getattr(client, row.method.lower())(address(world, row), sent)


def test_every_page_has_a_row() -> None:
    there = set(pages(get_resolver()))
    # signing in and the forms answer PUT as POST, by Django; nothing of ours sends it
    there = {(method, route) for method, route in there if method != "PUT"}
    listed = {(row.method, row.route) for row in ROWS}
    assert there - listed == set(), "add a row to tests/access/web.py for each of these"
    assert listed - there == set(), "these rows are of pages that are no more"


def test_no_row_is_there_twice() -> None:
    names = [row.name for row in ROWS]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_each_actor_gets_the_status_of_the_table(world: World, row: PageRow) -> None:
    got: dict[str, int] = {}
    for actor in ACTORS:
        with transaction.atomic():
            answer = ask(world, row, actor)
            got[actor] = answer.status_code
            transaction.set_rollback(True)
    assert got == row.statuses


@pytest.mark.parametrize("row", [row for row in ROWS if row.method == "GET"], ids=lambda row: row.name)
def test_opening_a_page_writes_nothing(world: World, row: PageRow) -> None:
    for actor in ACTORS:
        with transaction.atomic():
            client = Client(raise_request_exception=False)
            if actor != "anonymous":
                client.force_login(getattr(world, actor))
            last = Change.objects.latest("id").pk
            client.get(address(world, row))
            assert not Change.objects.filter(pk__gt=last).exists()
            transaction.set_rollback(True)


@pytest.mark.parametrize("row", [row for row in ROWS if row.method == "GET"], ids=lambda row: row.name)
def test_every_page_is_whole_html_without_script_or_style_in_it(world: World, row: PageRow) -> None:
    for actor in ACTORS:
        answer = ask(world, row, actor)
        if answer.status_code == 302 or not answer["Content-Type"].startswith("text/html"):
            continue
        text = answer.content.decode()
        assert "<h1" in text and "</html>" in text
        assert "style=" not in text and "<style" not in text
        assert "onclick=" not in text and "<script>" not in text
        assert "{{" not in text and "{%" not in text and "{#" not in text
