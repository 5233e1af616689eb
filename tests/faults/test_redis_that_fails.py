"""Redis away, frozen, emptied and restarted: every write succeeds, and all the work is done in the end."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection

from contractor.workqueue import embedded
from contractor.workqueue.models import WorkItem
from tests.faults.conftest import SHORT, wait_until
from tests.faults.redis_of_our_own import Redis, running_redis

pytestmark = [pytest.mark.needs_services, pytest.mark.django_db(transaction=True)]
SUBJECTS = [str(number) for number in range(20)]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Redis]:
    with running_redis(tmp_path) as found:
        yield found


def worker(server: Redis) -> object:
    return embedded.worker(environment={**SHORT, **server.environment}, finish_within_s=10)


def all_done() -> bool:
    return WorkItem.objects.exists() and not WorkItem.objects.exclude(state="done").exists()


def test_a_redis_that_is_down_fails_no_write_and_slows_only_the_first(server: Redis) -> None:
    server.kill()
    took = server.ask(*SUBJECTS)
    assert max(took) < 5
    assert sorted(took)[-2] < 0.5
    assert set(WorkItem.objects.values_list("state", "handed_over_at")) == {("waiting", None)}
    server.start()
    with worker(server):
        assert wait_until(all_done, 30)


def test_a_redis_that_hangs_holds_a_write_for_seconds_only(server: Redis) -> None:
    server.signal(signal.SIGSTOP)
    took = server.ask(*SUBJECTS)
    assert max(took) < 15
    assert sorted(took)[-2] < 0.5
    server.signal(signal.SIGCONT)
    with worker(server):
        assert wait_until(all_done, 30)


def test_a_redis_that_forgets_everything_loses_no_work(server: Redis) -> None:
    server.ask(*SUBJECTS)
    server.empty()
    with worker(server):
        assert wait_until(all_done, 60)


def test_a_redis_that_is_killed_under_load_and_restarted_loses_no_work(server: Redis) -> None:
    with worker(server):
        server.ask(*SUBJECTS)
        server.kill()
        server.ask("while-away")
        server.start()
        assert wait_until(all_done, 60)
    assert WorkItem.objects.count() == len(SUBJECTS) + 1


def test_a_worker_whose_database_connection_was_cut_goes_on(server: Redis) -> None:
    with worker(server):
        server.ask("before")
        assert wait_until(all_done, 20)
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        server.ask("after")
        assert wait_until(all_done, 40)
