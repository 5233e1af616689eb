"""How far asked-for work is, told to whoever asked; and the office's second try."""

from __future__ import annotations

import uuid

import pytest
from django.utils import timezone

from contractor.workqueue import handover
from contractor.workqueue.api import accepted
from contractor.workqueue.models import WorkItem
from tests import make
from tests.cast import Cast, as_person

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_broker(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handover, "send", lambda item: True)


def address(item: WorkItem) -> str:
    return f"/api/v1/work-items/{item.pk}/"


def test_queued_work_is_answered_with_where_and_when_to_look(cast: Cast) -> None:
    item = make.work_item(asked_by=cast.assigned)
    answer = accepted(item)
    assert (answer.status_code, answer["Location"]) == (202, address(item))
    assert int(answer["Retry-After"]) >= 1
    assert as_person(cast.assigned).get(answer["Location"]).data["id"] == str(item.pk)


def test_unfinished_work_says_when_to_ask_again_and_finished_work_does_not(cast: Cast) -> None:
    waiting = make.work_item()
    running = make.work_item(state="running", claim=uuid.uuid4(), heartbeat_at=timezone.now())
    done = make.work_item(state="done", result={"assessment": 7})
    client = as_person(cast.office)
    assert "Retry-After" in client.get(address(waiting))
    assert "Retry-After" in client.get(address(running))
    answer = client.get(address(done))
    assert "Retry-After" not in answer
    assert answer.data["result"] == {"assessment": 7}


def test_progress_is_told(cast: Cast) -> None:
    item = make.work_item(progress_done=2, progress_of=5, progress_words="reading 2")
    assert as_person(cast.office).get(address(item)).data["progress"] == {
        "done": 2,
        "of": 5,
        "words": "reading 2",
    }


def test_everyone_sees_the_work_they_asked_for_and_the_office_all(cast: Cast) -> None:
    item = make.work_item(asked_by=cast.client)
    found = {name: as_person(person).get(address(item)).status_code for name, person in cast.people().items()}
    assert found == {
        "owner": 200,
        "office": 200,
        "assigned technician": 404,
        "other technician": 404,
        "client": 200,
        "other client": 404,
        "anonymous": 401,
    }


def test_failed_work_is_tried_again_with_a_fresh_count(cast: Cast) -> None:
    item = make.work_item(state="failed", problem={"title": "x"}, attempts=4, finished_at=timezone.now())
    answer = as_person(cast.office).post(f"{address(item)}retry/")
    assert (answer.status_code, answer["Location"]) == (202, address(item))
    item.refresh_from_db()
    assert (item.state, item.attempts, item.finished_at) == ("waiting", 0, None)


def test_trying_again_what_waits_anyway_gives_that_one(cast: Cast) -> None:
    failed = make.work_item(state="failed", problem={"title": "x"}, subject="1")
    waiting = make.work_item(subject="1")
    answer = as_person(cast.office).post(f"{address(failed)}retry/")
    assert answer["Location"] == address(waiting)


@pytest.mark.parametrize("state", ["waiting", "done"])
def test_only_failed_work_is_tried_again(cast: Cast, state: str) -> None:
    answer = as_person(cast.office).post(f"{address(make.work_item(state=state))}retry/")
    assert (answer.status_code, answer.data["type"]) == (409, "/api/v1/problems/work-not-failed/")


def test_how_the_queue_stands(cast: Cast) -> None:
    first = make.work_item()
    make.work_item()
    make.work_item(state="failed", problem={"title": "x"})
    answer = as_person(cast.owner).get("/api/v1/work-items/summary/").data
    assert (answer["waiting"], answer["running"], answer["failed"]) == (2, 0, 1)
    assert answer["oldest_waiting_since"].startswith(first.due_at.strftime("%Y-%m-%dT%H:%M:%S"))


def test_work_is_filtered_by_kind_subject_state_and_lane(cast: Cast) -> None:
    item = make.work_item(lane="bulk", subject="s-1")
    make.work_item()
    client = as_person(cast.office)
    for query in ("lane=bulk", "subject=s-1", "kind=noop&subject=s-1", "state=waiting&lane=bulk"):
        rows = client.get(f"/api/v1/work-items/?{query}").data["results"]
        assert [row["id"] for row in rows] == [str(item.pk)], query
