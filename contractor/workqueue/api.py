"""Work items over the API: how far asked-for work is, and the office's second try."""

from __future__ import annotations

from typing import Any

import django_filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import BaseRouter

from contractor.http.permissions import EVERYONE, OFFICE
from contractor.http.problems import Problem
from contractor.http.serializers import RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet
from contractor.workqueue import services
from contractor.workqueue.models import WorkItem
from contractor.workqueue.sweeping import counts_now

ADDRESS = "/api/v1/work-items/"


class ProgressSerializer(RoomSerializer):
    done = serializers.IntegerField(source="progress_done", help_text="steps done [count]")
    of = serializers.IntegerField(source="progress_of", help_text="steps in all [count]; 0 when not known")
    words = serializers.CharField(source="progress_words", help_text="what is being done")


class WorkItemSerializer(RoomModelSerializer):
    progress = ProgressSerializer(source="*", read_only=True, help_text="how far the work is")
    asked_by = serializers.UUIDField(
        source="asked_by_id", read_only=True, allow_null=True, help_text="id of the person who asked first"
    )
    result = serializers.JSONField(
        read_only=True, allow_null=True, help_text="what the work made, as ids and addresses; null until done"
    )
    problem = serializers.JSONField(
        read_only=True,
        allow_null=True,
        help_text="problem details of the last failure; null when there is none",
    )

    class Meta:
        model = WorkItem
        fields = [
            "id", "kind", "subject", "lane", "state", "progress", "attempts", "result", "problem", "asked_by",
            "created_at", "due_at", "started_at", "finished_at",
        ]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {
            "id": {"help_text": "identifier of the item"},
            "lane": {"help_text": "soon: a person waits for it; bulk: work in bulk"},
            "state": {"help_text": "waiting, running, done or failed"},
            "attempts": {"help_text": "times that a worker took it up [count]"},
            "created_at": {"help_text": "when it was asked for, UTC"},
            "due_at": {"help_text": "not before this, UTC"},
            "started_at": {"help_text": "when a worker last took it up, UTC"},
            "finished_at": {"help_text": "when it was done or failed, UTC"},
        }


class SummarySerializer(RoomSerializer):
    waiting = serializers.IntegerField(help_text="items that wait for a worker [count]")
    running = serializers.IntegerField(help_text="items being carried out [count]")
    failed = serializers.IntegerField(help_text="items that failed and were not tried again [count]")
    oldest_waiting_since = serializers.DateTimeField(
        allow_null=True, help_text="when the oldest waiting item was due, UTC"
    )
    processes_soon = serializers.IntegerField(
        help_text="living processes that take what people wait for [count]"
    )
    processes_bulk = serializers.IntegerField(help_text="living processes that take work in bulk [count]")
    swept_at = serializers.DateTimeField(
        allow_null=True, help_text="when the sweeper ran last, UTC; it should be seconds ago"
    )


class WorkItemFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    class Meta:
        model = WorkItem
        fields = {"kind": ["exact"], "subject": ["exact"], "state": ["exact"], "lane": ["exact"]}


def accepted(item: WorkItem) -> Response:
    """202 for work that was queued: where to look, and when."""
    headers = {"Location": f"{ADDRESS}{item.pk}/", "Retry-After": str(services.retry_after_s(item))}
    return Response(WorkItemSerializer(item).data, status=202, headers=headers)


class WorkItemViewSet(ReadOnlyRoomViewSet):
    """Background work: waiting, running, done or failed, with how far it is."""

    model = WorkItem
    serializer_class = WorkItemSerializer
    filterset_class = WorkItemFilters
    ordering_fields = ("created_at", "due_at")
    takes_nothing = frozenset({"retry"})
    may = {"list": EVERYONE, "retrieve": EVERYONE, "retry": OFFICE, "summary": OFFICE}

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        item = self.get_object()
        response = Response(self.get_serializer(item).data)
        if item.state in (WorkItem.State.WAITING, WorkItem.State.RUNNING):
            response["Retry-After"] = str(services.retry_after_s(item))
        return response

    @extend_schema(request=None, responses={202: WorkItemSerializer})
    @action(detail=True, methods=["post"])
    def retry(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Try a failed item again, with a fresh count of attempts."""
        item = self.get_object()
        if item.state != WorkItem.State.FAILED:
            raise Problem(
                "work-not-failed", f"This work is {item.state}; only failed work can be tried again."
            )
        return accepted(services.retry(item))

    @extend_schema(responses=SummarySerializer, filters=False)
    @action(detail=False, methods=["get"], pagination_class=None)
    def summary(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """How the queue stands."""
        return Response(SummarySerializer(counts_now()).data)


def register(router: BaseRouter) -> None:
    router.register("work-items", WorkItemViewSet, basename="work-item")
