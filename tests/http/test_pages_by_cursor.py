"""Lists come in pages; nothing is lost or doubled while rows come and go, whatever the order."""

from __future__ import annotations

import base64
import datetime as dt
import json
from typing import Any

import pytest
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.http.pagination import CursorPages
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


def walk(client: Any, address: str, step: str = "next") -> list[list[str]]:
    pages = []
    while address:
        answer = client.get(address)
        assert answer.status_code == 200, answer.content
        pages.append([row["id"] for row in answer.data["results"]])
        address = answer.data[step]
    return pages


def joined(pages: list[list[str]]) -> list[str]:
    return [row for page in pages for row in page]


@pytest.mark.parametrize("order", ["email", "-email", "name", "-name", "created_at", "-created_at"])
def test_every_row_once_in_order_forwards_and_backwards(cast: Cast, order: str) -> None:
    for number in range(13):
        make.person(name=f"Same Name {number % 3}")
    column = order.removeprefix("-")
    pk = "-pk" if order.startswith("-") else "pk"
    expected = [str(pk) for pk in Person.objects.order_by(order, pk).values_list("pk", flat=True)]
    client = as_person(cast.owner)
    pages = walk(client, f"/api/v1/people/?limit=4&ordering={order}")
    assert joined(pages) == expected, column
    last = client.get(f"/api/v1/people/?limit=4&ordering={order}")
    while last.data["next"]:
        last = client.get(last.data["next"])
    back = walk(client, last.data["previous"], "previous")
    assert joined(list(reversed(back))) == expected[: len(joined(back))]
    assert len(joined(back)) == len(expected) - len(last.data["results"])


def test_a_thousand_equal_values_are_walked_through(cast: Cast) -> None:
    now = timezone.now()
    WorkItem.objects.bulk_create(
        WorkItem(kind="noop", subject=str(n), same_as=f"{n}", created_at=now, due_at=now) for n in range(1100)
    )
    rows = joined(walk(as_person(cast.office), "/api/v1/work-items/?limit=200&ordering=due_at"))
    assert len(rows) == len(set(rows)) == 1100


def test_rows_that_come_and_go_meanwhile_disturb_nothing(cast: Cast) -> None:
    old = [make.work_item(created_at=timezone.now() - dt.timedelta(hours=n)) for n in range(6)]
    client = as_person(cast.office)
    first = client.get("/api/v1/work-items/?limit=3").data
    make.work_item(created_at=timezone.now() + dt.timedelta(hours=1))
    old[1].delete()
    second = client.get(first["next"]).data
    assert [row["id"] for row in second["results"]] == [str(item.pk) for item in old[3:6]]


def test_blank_values_are_walked_through_in_both_directions(cast: Cast) -> None:
    for number in range(5):
        make.work_item(finished_at=timezone.now() if number % 2 else None)

    class View:
        pass

    for down in (False, True):
        seen: list[Any] = []
        cursor = ""
        for _ in range(10):
            pages = CursorPages()
            pages.limit = 2
            request = as_person(cast.office).get("/api/v1/work-items/").wsgi_request
            from rest_framework.request import Request

            request.GET = request.GET.copy()
            if cursor:
                request.GET["cursor"] = cursor
            rows = WorkItem.objects.order_by("-finished_at" if down else "finished_at")
            seen += [row.pk for row in pages.paginate_queryset(rows, Request(request), View())]
            if not pages.next_cursor:
                break
            cursor = pages.next_cursor
        assert len(seen) == len(set(seen)) == 5


@pytest.mark.parametrize("limit", ["0", "-1", "201", "many", "1e2", ""])
def test_a_page_size_out_of_range_is_refused_with_the_range(cast: Cast, limit: str) -> None:
    answer = as_person(cast.owner).get("/api/v1/people/", {"limit": limit})
    assert answer.status_code == 400
    assert "1 to 200" in answer.data["detail"]


@pytest.mark.parametrize(
    "cursor", ["rubbish", "e30", "bnVsbA", "eyJvIjpbInBrIl0sImIiOmZhbHNlLCJwIjpbMV19", "é"]
)
def test_a_cursor_that_is_none_is_refused(cast: Cast, cursor: str) -> None:
    answer = as_person(cast.owner).get("/api/v1/people/", {"cursor": cursor})
    assert answer.status_code == 400
    assert answer.data["errors"][0]["parameter"] == "cursor"


@pytest.mark.parametrize("place", [[], [1], ["a", "b", "c"], ["a", "not an id"], [["a"], 1], [{"x": 1}, 2]])
def test_a_forged_cursor_is_refused(cast: Cast, place: list[Any]) -> None:
    text = json.dumps({"o": ["email", "pk"], "b": False, "p": place})
    cursor = base64.urlsafe_b64encode(text.encode()).decode()
    assert as_person(cast.owner).get("/api/v1/people/", {"cursor": cursor}).status_code == 400


@pytest.mark.parametrize("moment", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_a_forged_moment_that_no_calendar_holds_is_refused(cast: Cast, moment: str) -> None:
    text = json.dumps({"o": ["created_at", "pk"], "b": False, "p": [{"t": moment}, 1]})
    cursor = base64.urlsafe_b64encode(text.encode()).decode()
    asked = {"cursor": cursor, "ordering": "created_at"}
    assert as_person(cast.owner).get("/api/v1/tokens/", asked).status_code == 400


def test_a_forged_number_without_end_is_refused(cast: Cast) -> None:
    text = '{"o": ["pk"], "b": false, "p": [Infinity]}'
    cursor = base64.urlsafe_b64encode(text.encode()).decode()
    assert as_person(cast.owner).get("/api/v1/assessments/", {"cursor": cursor}).status_code == 400


def test_a_cursor_of_another_order_is_refused(cast: Cast) -> None:
    from urllib.parse import parse_qs, urlsplit

    client = as_person(cast.owner)
    following = client.get("/api/v1/people/?limit=1&ordering=name").data["next"]
    cursor = parse_qs(urlsplit(following).query)["cursor"][0]
    assert client.get("/api/v1/people/", {"cursor": cursor, "ordering": "email"}).status_code == 400


def test_a_list_costs_the_same_queries_whatever_its_length(
    cast: Cast, django_assert_num_queries: Any
) -> None:
    client = as_person(cast.owner)
    with django_assert_num_queries(1):
        client.get("/api/v1/people/")
    for _ in range(20):
        make.person()
    with django_assert_num_queries(1):
        client.get("/api/v1/people/")
