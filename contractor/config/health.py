"""Is it alive, is it ready. For proxies and for whoever keeps it running; no secret, no name of a machine."""

from __future__ import annotations

from datetime import timedelta

from celery import current_app
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from kombu.exceptions import OperationalError

from contractor.workqueue.models import Beat, WorkerProcess


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """Where to ask; says nothing of how it is."""
    told = (
        "/healthz/live: this process answers.\n"
        "/healthz/ready: database and broker answer and work is taken; 503 if not.\n"
    )
    return HttpResponse(told, content_type="text/plain; charset=utf-8")


@login_not_required
@never_cache
@require_safe
def live(request: HttpRequest) -> JsonResponse:
    """This process answers."""
    return JsonResponse({"live": True})


@login_not_required
@never_cache
@require_safe
def ready(request: HttpRequest) -> JsonResponse:
    """Its database and broker answer, and somebody does the work.

    Embedded there is one machine, and without its worker nothing is assessed: not ready. Grown, readings are
    taken in and kept whatever becomes of single workers, and a web process that called itself unready for
    them would keep phones from handing theirs over: there the sweeper is asked after, which beat and any one
    worker keep going, and the summary of the work items tells how many processes each lane has.
    """
    found = {"database": database_answers(), "broker": broker_answers()}
    if settings.GROWN:
        found["sweeper"] = found["database"] and sweeper_is_fresh()
    else:
        found["worker"] = found["database"] and a_worker_lives()
    return JsonResponse({"ready": all(found.values()), **found}, status=200 if all(found.values()) else 503)


def database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        return True
    except DatabaseError:
        return False


def broker_answers() -> bool:
    try:
        with current_app.connection_for_write() as broker:
            broker.ensure_connection(max_retries=1, timeout=3)
        return True
    except (OperationalError, OSError):
        return False


def a_worker_lives() -> bool:
    """Some process takes what people wait for."""
    return WorkerProcess.objects.alive_at(timezone.now()).taking("soon").exists()


def sweeper_is_fresh() -> bool:
    """Written by a task that beat starts and a worker carries out: it tells of both."""
    last = timezone.now() - timedelta(seconds=max(3 * settings.WORK_SWEEP_EVERY_S, 30))
    return Beat.objects.filter(name="sweep", at__gte=last).exists()
