from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone


class WorkItemQuerySet(models.QuerySet["WorkItem"]):
    def seen_by(self, person: Any) -> WorkItemQuerySet:
        """Office and owner see all work; everyone else what they asked for."""
        if person.is_office:
            return self
        also = WorkItem.also_asked_by.through.objects.filter(person=person, workitem=models.OuterRef("pk"))
        return self.filter(Q(asked_by=person) | models.Exists(also))

    def held_by(self, item_id: uuid.UUID, claim: uuid.UUID) -> WorkItemQuerySet:
        return self.filter(pk=item_id, state=WorkItem.State.RUNNING, claim=claim)

    def identical_waiting(self, same_as: str) -> WorkItemQuerySet:
        return self.filter(same_as=same_as, state=WorkItem.State.WAITING, attempts=0)

    def due_at(self, now: datetime) -> WorkItemQuerySet:
        return self.filter(state=WorkItem.State.WAITING, due_at__lte=now)

    def lost_at(self, now: datetime) -> WorkItemQuerySet:
        """Running, and not heard of for longer than a heartbeat may take."""
        last = now - settings.WORK_LOST_AFTER
        return self.filter(state=WorkItem.State.RUNNING, heartbeat_at__lt=last)


class WorkItem(models.Model):
    """A piece of background work. This row is the truth; the broker only carries its id."""

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    class Lane(models.TextChoices):
        SOON = "soon", "answers a person waits for"
        BULK = "bulk", "work in bulk"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=40, help_text="name of the handler that does the work")
    subject = models.CharField(max_length=80, help_text="id of the row the work is about")
    payload = models.JSONField(default=dict)
    lane = models.CharField(max_length=8, choices=Lane, default=Lane.SOON)
    same_as = models.CharField(max_length=64, help_text="digest of kind, subject and payload")
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    due_at = models.DateTimeField(default=timezone.now)
    handed_over_at = models.DateTimeField(
        null=True, blank=True, help_text="last given to the broker; empty when the broker was away"
    )
    started_at = models.DateTimeField(null=True, blank=True)
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now)
    attempts = models.PositiveSmallIntegerField(default=0)
    claim = models.UUIDField(null=True, blank=True, help_text="the worker's claim; a lost worker's is void")
    progress_done = models.PositiveIntegerField(default=0)
    progress_of = models.PositiveIntegerField(default=0)
    progress_words = models.CharField(max_length=200, blank=True)
    result = models.JSONField(null=True, blank=True)
    problem = models.JSONField(null=True, blank=True, help_text="problem details of the failure")
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="work_items"
    )
    also_asked_by = models.ManyToManyField(
        settings.AUTH_USER_MODEL, blank=True, related_name="+", help_text="asked for the same while it waited"
    )

    objects: ClassVar[models.Manager[WorkItem]] = WorkItemQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["same_as"],
                condition=Q(state="waiting", attempts=0),
                name="workitem_identical_waits_once",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["waiting", "running", "done", "failed"]), name="workitem_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(state="running") | Q(claim__isnull=False, heartbeat_at__isnull=False),
                name="workitem_running_has_claim_and_heartbeat",
            ),
            models.CheckConstraint(
                condition=~Q(state="failed") | Q(problem__isnull=False), name="workitem_failed_says_why"
            ),
        ]
        indexes = [
            models.Index(fields=["due_at"], condition=Q(state="waiting"), name="workitem_waiting"),
            models.Index(fields=["heartbeat_at"], condition=Q(state="running"), name="workitem_running"),
            models.Index(fields=["kind", "subject"], name="workitem_of_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject} {self.state}"


class WorkerProcessQuerySet(models.QuerySet["WorkerProcess"]):
    def alive_at(self, now: datetime) -> WorkerProcessQuerySet:
        """Heard of no longer ago than a heartbeat may take."""
        return self.filter(heard_at__gte=now - settings.WORK_LOST_AFTER)

    def taking(self, lane: str) -> WorkerProcessQuerySet:
        return self.filter(lanes__contains=lane)


class WorkerProcess(models.Model):
    """One process that carries out work: it writes here every few seconds for as long as it lives."""

    name = models.CharField(max_length=160, primary_key=True, help_text="its worker, machine and number")
    lanes = models.CharField(max_length=80, help_text="the lanes it takes from, with commas")
    heard_at = models.DateTimeField()

    objects: ClassVar[models.Manager[WorkerProcess]] = WorkerProcessQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.name} ({self.lanes})"


class Beat(models.Model):
    """Last sign of life of each periodic task: beat is watched through this."""

    name = models.CharField(max_length=60, primary_key=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.name} {self.at:%Y-%m-%d %H:%M:%S}"
