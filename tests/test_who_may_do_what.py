"""Who may do what: every route and method of the API, asked by everyone, on ours, theirs and the retired.

The rows are in tests/access/, one file a room. A route or method without a row fails here.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone
from rest_framework.test import APIClient

from contractor.accounts.services import make_token
from contractor.trail.models import Change
from tests import make
from tests.access import accounts, descales, diagnostics, register, reporting, service, visits, workqueue
from tests.access.rows import ACTORS, BY_PHONE, Row
from tests.access.seen import LISTS, OTHER_OBJECTS, List
from tests.access.world import World, build

ROWS: list[Row] = [
    *service.ROWS,
    *accounts.ROWS,
    *workqueue.ROWS,
    *register.ROWS,
    *visits.ROWS,
    *diagnostics.ROWS,
    *descales.ROWS,
    *reporting.ROWS,
]
# what belongs to no customer: the person's own, the office's, or everybody's
WITHOUT_THEIRS = (
    "api/v1/problems/<slug:kind>/",
    "api/v1/people/<uuid:pk>/",
    "api/v1/people-certificates/<uuid:pk>/",
    "api/v1/tokens/<int:pk>/",
    "api/v1/changes/<int:pk>/",
)
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
DONE = range(200, 300)


@pytest.fixture(scope="module")
def whole_world(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[World]:
    """Built once, in a transaction that is rolled back when this file is done."""
    media = tmp_path_factory.mktemp("media")
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=Path(media)), transaction.atomic():
        world = build()
        world.problem = "invalid"
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(whole_world: World, db: None) -> World:
    return whole_world


def routes(resolver: URLResolver, before: str = "") -> Iterator[tuple[str, str]]:
    """Every (method, route) under api/v1/ that a view answers."""
    for entry in resolver.url_patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from routes(entry, route)
        elif route.startswith("api/"):
            for method in methods_of(entry):
                yield method, route


def methods_of(entry: URLPattern) -> list[str]:
    view = entry.callback
    actions = getattr(view, "actions", None)
    if actions is not None:
        return [name.upper() for name in actions if name.upper() in METHODS]
    kind = getattr(view, "cls", None) or getattr(view, "view_class", None)
    assert kind is not None, f"{entry} is no view of a class: say in this test what it answers"
    return [name for name in METHODS if hasattr(kind, name.lower())]


def client_of(world: World, actor: str) -> APIClient:
    client = APIClient(raise_request_exception=False)
    if actor != "anonymous":
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {getattr(world, actor + '_token')}")
    return client


def address(world: World, route: str, of: str) -> str:
    if "<" not in route:
        return f"/{route}"
    thing = getattr(world, of)
    before, rest = route.split("<", 1)
    return f"/{before}{getattr(thing, 'pk', thing)}{rest.split('>', 1)[1]}"


def ask(
    world: World,
    row: Row,
    actor: str,
    of: str = "",
    *,
    key: bool = True,
    besides: dict[str, Any] | None = None,
) -> Any:
    headers = {}
    if row.method != "GET":
        headers = {"If-Match": "*", **({"Idempotency-Key": str(uuid.uuid4())} if key else {})}
    send = getattr(client_of(world, actor), row.method.lower())
    body = {**(row.body(world) if row.body else {}), **(besides or {})}
    sent = {"data": body, "format": row.format} if row.method != "GET" else {}
    return send(address(world, row.route, of or row.of), headers=headers, **sent)


@pytest.mark.django_db
def test_one_whose_account_has_ended_is_a_stranger() -> None:
    left = make.person("owner")
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {make_token(left, 'a phone', timezone.now())[1]}")
    assert client.get("/api/v1/customers/").status_code == 200
    left.is_active = False
    left.save()
    assert client.get("/api/v1/customers/").status_code == 401


def test_every_route_and_method_has_a_row() -> None:
    there = set(routes(get_resolver()))
    listed = {(row.method, row.route) for row in ROWS}
    assert there - listed == set(), "add a row to tests/access/ for each of these"
    assert listed - there == set(), "these rows are of routes that are no more"


def test_no_row_is_there_twice() -> None:
    names = [row.name for row in ROWS]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_each_actor_gets_the_status_of_the_table(world: World, row: Row) -> None:
    got: dict[str, int] = {}
    for actor in ACTORS:
        with transaction.atomic():
            answer = ask(world, row, actor)
            got[actor] = answer.status_code
            assert answer.status_code != 500
            if answer.status_code >= 400:
                assert answer["Content-Type"] == "application/problem+json"
            transaction.set_rollback(True)
    assert got == row.statuses


@pytest.mark.parametrize("row", [row for row in ROWS if row.method != "GET"], ids=lambda row: row.name)
def test_every_write_leaves_who_and_what_or_says_why_not(world: World, row: Row) -> None:
    """A success leaves a Change with the actor's name; a refusal leaves none."""
    for actor in ACTORS:
        with transaction.atomic():
            last = Change.objects.latest("id").pk
            answer = ask(world, row, actor)
            changes = list(Change.objects.filter(pk__gt=last))
            if answer.status_code in DONE and row.trace:
                assert changes, f"{actor} wrote and left no trace"
                assert {c.person_id for c in changes} <= {
                    getattr(getattr(world, actor, None), "pk", None)
                } | {world.other.pk if row.route in ("api/v1/sign-in/", "api/v1/set-password/") else None} - {
                    None
                }
            else:
                assert changes == []
                assert row.trace or row.because
            transaction.set_rollback(True)


@pytest.mark.parametrize("name", sorted(BY_PHONE))
def test_every_write_of_a_phone_wants_a_key(world: World, name: str) -> None:
    rows = [row for row in ROWS if f"{row.method} {row.route}" == name]
    assert rows
    for row in rows:
        answer = ask(world, row, "owner", key=False)
        assert (answer.status_code, answer.data["type"]) == (
            400,
            "/api/v1/problems/idempotency-key-missing/",
        )


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row.body and row.format == "json"], ids=lambda row: row.name
)
def test_a_field_that_is_not_written_is_refused_by_name(world: World, row: Row) -> None:
    """Nothing is dropped in silence: neither what is unknown nor what is only shown."""
    actor = next(actor for actor in ACTORS if row.statuses[actor] in DONE)
    shown = {"version": 7} if row.method == "PATCH" or row.statuses[actor] == 201 else {}
    for name in ("nonsense", *shown):
        with transaction.atomic():
            last = Change.objects.latest("id").pk
            answer = ask(world, row, actor, besides={name: 7})
            assert answer.status_code == 400, name
            assert [error["pointer"] for error in answer.data["errors"]] == [f"#/{name}"]
            assert "expected" in answer.data["errors"][0]["detail"]
            assert not Change.objects.filter(pk__gt=last).exists()
            transaction.set_rollback(True)


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row.method == "GET" and row.of], ids=lambda row: row.name
)
def test_theirs_and_the_retired_are_seen_by_those_who_may(world: World, row: Row) -> None:
    """The object axis: the same route on the other customer's row and on a retired one of ours."""
    axes = OTHER_OBJECTS.get(row.route, {})
    assert axes or row.route in WITHOUT_THEIRS
    for of, statuses in axes.items():
        got = {actor: ask(world, row, actor, of).status_code for actor in ACTORS}
        assert got == dict(zip(ACTORS, statuses, strict=True)), of


@pytest.mark.parametrize("each", LISTS, ids=lambda each: each.route)
@pytest.mark.parametrize("actor", [actor for actor in ACTORS if actor != "anonymous"])
def test_a_list_shows_each_actor_their_rows_and_no_other(world: World, each: List, actor: str) -> None:
    answer = client_of(world, actor).get(f"/api/v1/{each.route}", {"limit": 200, **each.asked})
    if answer.status_code == 403:
        assert each.shown[actor] is None
        return
    shown = {str(row["id"]) for row in answer.data["results"]}
    expected = each.shown[actor]
    assert expected is not None
    assert shown == {str(getattr(world, name).pk) for name in expected} | each.others(world, actor)


@pytest.mark.parametrize("each", LISTS, ids=lambda each: each.route)
def test_no_filter_widens_what_a_client_sees(world: World, each: List) -> None:
    """Asking by the other customer's ids, or for the retired, brings nothing of theirs."""
    client = client_of(world, "client")
    ours = client.get(f"/api/v1/{each.route}", {"limit": 200, **each.widest})
    if ours.status_code == 403:
        return
    allowed = {str(row["id"]) for row in ours.data["results"]}
    for name, thing in each.theirs(world).items():
        asked = {**each.widest, name: str(getattr(thing, "pk", thing))}
        answer = client.get(f"/api/v1/{each.route}", asked)
        assert answer.status_code in (200, 400)
        if answer.status_code == 200:
            assert answer.data["results"] == []
    theirs = getattr(world, f"their_{each.of}", None)
    assert each.common or theirs is None or str(theirs.pk) not in allowed


@pytest.mark.parametrize("route", sorted({row.route for row in ROWS}))
def test_methods_without_a_row_are_refused_to_everyone(world: World, route: str) -> None:
    answered = {row.method for row in ROWS if row.route == route}
    of = next((row.of for row in ROWS if row.route == route and row.of), "")
    for method in set(METHODS) - answered:
        send = getattr(client_of(world, "owner"), method.lower())
        answer = send(
            address(world, route, of), headers={"If-Match": "*", "Idempotency-Key": str(uuid.uuid4())}
        )
        assert answer.status_code in (403, 405), method


@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if row.method == "POST" and row.body is None and row.format == "json"],
    ids=lambda row: row.name,
)
def test_a_write_that_takes_no_content_refuses_what_is_sent_all_the_same(world: World, row: Row) -> None:
    answer = ask(world, row, "owner", besides={"not_known": 1})
    assert answer.status_code == 400, answer.content
    assert "not_known" in answer.content.decode()
