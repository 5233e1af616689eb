"""What clients get to see of an exchanger: nothing that was read after its latest released report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from django.db import transaction

from contractor.register.models import Exchanger
from contractor.visits.models import ShownToClients

LatestReported = Callable[[], datetime | None]


@transaction.atomic
def show_clients(exchanger: Exchanger, latest_reported: LatestReported) -> None:
    """Asked under a lock, so that of two who release or withdraw at once the later one sees both."""
    Exchanger.objects.select_for_update().get(pk=exchanger.pk)
    until = latest_reported()
    shown = ShownToClients.objects.filter(exchanger=exchanger).first() or ShownToClients(exchanger=exchanger)
    if shown.until != until:
        shown.until = until
        shown.save()
