"""Throughput of the work queue against bare Celery on the same broker, as a ratio in one run.

    python -m tests.benchmarks.queue [ITEMS]

Bare: Celery's own task that does nothing, sent and carried out, with the same settings. Ours: a work item of
kind "noop": its row written, handed over after the commit, claimed, done. Each is measured from the first
message waiting to the last one finished, with the work queued beforehand; and again for the queueing itself.
DATABASE_URL and REDIS_URL choose the database and the broker. The aim is 0.4 of bare Celery or more.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")

AIM = 0.4


def main(count: int) -> int:
    import django

    django.setup()
    from django.test.utils import setup_databases, teardown_databases

    places = setup_databases(verbosity=0, interactive=False)
    try:
        return measure(count)
    finally:
        teardown_databases(places, verbosity=0)


def measure(count: int) -> int:
    from celery import current_app
    from django.conf import settings

    from contractor.workqueue.models import WorkItem
    from contractor.workqueue.services import queue
    from contractor.workqueue.sweeping import messages_in
    from tests.faults.conftest import clear_broker

    clear_broker()
    numbers = [str(number) for number in range(count)]
    bare_sent = timed(lambda: [current_app.send_task("tests.nothing", (n,), queue="soon") for n in numbers])
    bare_done = carried_out(lambda: not messages_in("soon"))
    ours_sent = timed(lambda: [queue("noop", n) for n in numbers])
    ours_done = carried_out(lambda: not WorkItem.objects.filter(state__in=["waiting", "running"]).exists())
    assert WorkItem.objects.filter(state="done").count() == count
    database = settings.DATABASES["default"]["ENGINE"].rpartition(".")[2]
    print(f"{count} items, {database}, {'redis' if settings.REDIS_URL else 'files'}")
    print(f"queueing      bare {count / bare_sent:7.0f}/s   ours {count / ours_sent:7.0f}/s")
    print(f"carrying out  bare {count / bare_done:7.0f}/s   ours {count / ours_done:7.0f}/s")
    ratio = bare_done / ours_done
    print(f"ratio {ratio:.2f}, aim {AIM}")
    return 0 if ratio >= AIM else 1


def timed(act: Callable[[], object]) -> float:
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def carried_out(finished: Callable[[], bool]) -> float:
    """From the worker's first readiness to the last item [s]."""
    from contractor.workqueue import embedded

    with embedded.worker(processes=2):
        start = time.perf_counter()
        while not finished():
            time.sleep(0.05)
        return time.perf_counter() - start


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000))
