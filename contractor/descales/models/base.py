"""What every record of something that happened shares."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import models
from django.utils import timezone

from contractor.trail.tracked import Tracked


def marks() -> models.JSONField[Any, Any]:
    return models.JSONField(
        default=list, blank=True, editable=False, help_text="what stood against it when it was recorded"
    )


class Happening(Tracked):
    """Something that happened at a descale, by the clock of the phone that tells it. Never refused."""

    descale = models.ForeignKey("descales.Descale", on_delete=models.PROTECT, help_text="the descale")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(help_text="when, by the phone's clock")
    received_at = models.DateTimeField(default=timezone.now, editable=False)
    marks = marks()
    note = models.TextField(blank=True)

    class Meta:
        abstract = True
        ordering = ["at", "received_at", "id"]

    def __str__(self) -> str:
        return f"{self._meta.verbose_name} {self.at:%Y-%m-%d %H:%M}"
