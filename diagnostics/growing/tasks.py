"""What the queue may ask: to fit the growth of one exchanger; and what beat asks: which of them are stale."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from celery import shared_task

from contractor.register.models import Exchanger
from contractor.workqueue.connections import renew_if_broken
from contractor.workqueue.handlers import WorkRefused, handles
from contractor.workqueue.models import WorkItem
from contractor.workqueue.progress import Progress
from diagnostics.growing import services

GONE = "/api/v1/problems/gone/"


@handles(services.GROW)
def fit_growth(item: WorkItem, progress: Progress, /) -> dict[str, Any]:
    try:
        made = services.fit_exchanger(UUID(item.subject), work_item=item, before_writing=progress.still_ours)
    except Exchanger.DoesNotExist:
        raise WorkRefused(
            GONE, "There is no such exchanger", f"Exchanger {item.subject} is not recorded."
        ) from None
    return {"growth_fit": made.pk, "said": made.said}


@shared_task(name="waterside.growth", ignore_result=True)
def growth() -> None:
    renew_if_broken()
    services.ask_for_stale()
