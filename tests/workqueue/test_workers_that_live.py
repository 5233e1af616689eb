"""Workers write that they live; the queue's summary counts them by lane; an orderly end is known at once."""

from __future__ import annotations

import datetime as dt

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.utils import timezone

from contractor.accounts.models import PageSession, Role
from contractor.workqueue import heartbeat
from contractor.workqueue.embedded import crews_of
from contractor.workqueue.models import WorkerProcess
from contractor.workqueue.tasks import tidy
from tests import make
from tests.cast import Cast, as_person


def process(name: str, lanes: str, silent_s: float = 0) -> WorkerProcess:
    heard_at = timezone.now() - dt.timedelta(seconds=silent_s)
    return WorkerProcess.objects.create(name=name, lanes=lanes, heard_at=heard_at)


def test_the_summary_counts_living_processes_by_lane(cast: Cast) -> None:
    process("a 1", "house,soon")
    process("a 2", "bulk,house,soon")
    process("b 1", "bulk,house", silent_s=settings.WORK_LOST_AFTER.total_seconds() + 1)
    told = as_person(cast.owner).get("/api/v1/work-items/summary/").data
    assert (told["processes_soon"], told["processes_bulk"]) == (2, 1)


@pytest.mark.django_db
def test_a_process_says_that_it_lives_and_that_it_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(heartbeat.threading.Thread, "start", lambda thread: None)
    monkeypatch.setattr(heartbeat, "_heart", None)
    heartbeat.live_as_worker({"soon", "house"})
    for _ in range(2):
        heartbeat.heart().tell_alive()
    assert list(WorkerProcess.objects.alive_at(timezone.now()).values_list("lanes", flat=True)) == [
        "house,soon"
    ]
    heartbeat.end_as_worker()
    assert not WorkerProcess.objects.exists()


@pytest.mark.django_db
def test_those_long_gone_are_tidied_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("contractor.workqueue.tasks.renew_if_broken", lambda: None)
    process("old 1", "soon", silent_s=90_000)
    process("new 1", "soon")
    tidy()
    assert [row.name for row in WorkerProcess.objects.all()] == ["new 1"]


@pytest.mark.django_db
def test_sessions_that_have_run_out_are_tidied_away_and_no_others(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("contractor.workqueue.tasks.renew_if_broken", lambda: None)
    now, person = timezone.now(), make.person(Role.TECHNICIAN)
    for key, ends_in in (("lapsed", -1), ("living", 3600)):
        Session.objects.create(
            session_key=key, session_data="", expire_date=now + dt.timedelta(seconds=ends_in)
        )
        PageSession.objects.create(person=person, session_key=key, device=key)
    PageSession.objects.update(created_at=now - dt.timedelta(days=20))
    PageSession.objects.create(person=person, session_key="being made", device="being made")
    tidy()
    assert list(Session.objects.values_list("session_key", flat=True)) == ["living"]
    assert set(PageSession.objects.values_list("device", flat=True)) == {"living", "being made"}


@pytest.mark.parametrize(
    ("processes", "crews"),
    [(1, ["1:soon,bulk,house"]), (2, ["1:soon,bulk,house", "1:soon,house"]),
     (4, ["3:soon,bulk,house", "1:soon,house"])],
)  # fmt: skip
def test_of_two_processes_or_more_one_is_kept_for_what_people_wait_for(
    processes: int, crews: list[str]
) -> None:
    assert crews_of(processes, "soon,bulk,house") == crews
