from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from contractor.descales.models.deciding import Descale
from contractor.descales.querysets import PlanQuerySet
from contractor.register.models import Cleaner, Rig, si
from contractor.trail.tracked import Tracked
from contractor.workqueue.models import WorkItem


class DescalePlan(Tracked):
    """What the engine made of what was asked. Written once; a newer one takes its place. With `refusals` it
    is no plan to work by: it is kept to show what stands against it."""

    descale = models.ForeignKey(Descale, on_delete=models.PROTECT, related_name="plans")
    work_item = models.ForeignKey(
        WorkItem, null=True, blank=True, on_delete=models.SET_NULL, related_name="descale_plans"
    )
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    made_at = models.DateTimeField()
    engine_version = models.CharField(max_length=20)
    inputs_digest = models.CharField(max_length=64)
    superseded_at = models.DateTimeField(null=True, blank=True)
    cleaner = models.ForeignKey(Cleaner, on_delete=models.PROTECT, related_name="descale_plans")
    rig = models.ForeignKey(Rig, on_delete=models.PROTECT, related_name="descale_plans")
    asked = models.JSONField(blank=True, help_text="what was asked besides cleaner and rig, SI")
    sheet = models.JSONField(blank=True, help_text="the cleaner's sheet as it was")
    refusals = models.JSONField(default=list, blank=True, help_text="what stands against it: code, words")
    strength = models.FloatField(null=True, blank=True, help_text="acid by mass of the fresh bath")
    solution_m3 = si("solution of one batch")
    cap_k = si("highest temperature of the solution")
    batches = models.PositiveIntegerField(null=True, blank=True, help_text="batches it likely takes")
    result = models.JSONField(default=dict, blank=True, help_text="everything else, SI")

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "id"]
        constraints = [
            models.UniqueConstraint(
                "descale", condition=Q(superseded_at__isnull=True), name="descaleplan_one_current"
            )
        ]

    def __str__(self) -> str:
        return f"plan of {self.descale}"

    @property
    def stands(self) -> bool:
        return self.superseded_at is None and not self.refusals
