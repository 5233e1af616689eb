"""What Celery runs. Each is a few lines around a plain function; the rows say what is to be done."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from celery import current_app, shared_task
from celery.signals import worker_process_init, worker_process_shutdown, worker_ready
from django.utils import timezone

from contractor.workqueue.connections import renew_if_broken, use_as_worker
from contractor.workqueue.heartbeat import end_as_worker, live_as_worker
from contractor.workqueue.models import Beat, WorkerProcess


@shared_task(name="waterside.work", ignore_result=True, max_retries=3, default_retry_delay=10)
def work(item_id: str) -> None:
    from contractor.workqueue import running

    renew_if_broken()
    running.run(UUID(item_id))


@shared_task(name="waterside.sweep", ignore_result=True)
def sweep() -> None:
    from contractor.workqueue import sweeping

    renew_if_broken()
    sweeping.sweep(timezone.now())


@shared_task(name="waterside.tidy", ignore_result=True)
def tidy() -> None:
    """Old rows that nobody asks for any more."""
    from contractor.accounts import guard, services
    from contractor.http import idempotency

    renew_if_broken()
    now = timezone.now()
    idempotency.purge(now)
    guard.purge(now)
    services.forget_lapsed_sessions(now)
    WorkerProcess.objects.filter(heard_at__lt=now - timedelta(days=1)).delete()
    Beat.objects.update_or_create(name="tidy", defaults={"at": now})


@worker_process_init.connect
def child_started(**kwargs: Any) -> None:
    use_as_worker()
    live_as_worker(current_app.amqp.queues.consume_from)


@worker_process_shutdown.connect
def child_ended(**kwargs: Any) -> None:
    end_as_worker()


@worker_ready.connect
def sweep_at_start(**kwargs: Any) -> None:
    """Whatever waited while no worker ran."""
    sweep.apply_async(queue="house")
