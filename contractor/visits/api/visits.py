from __future__ import annotations

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.accounts.models import Person
from contractor.http.permissions import CREW, EVERYONE, OFFICE
from contractor.http.serializers import RoomSerializer
from contractor.http.viewsets import FullRoomViewSet
from contractor.register import guessing
from contractor.register.api.base import (
    ALWAYS_READ,
    CrewField,
    MomentField,
    RecordSerializer,
    SeenField,
    person_of,
)
from contractor.register.models import Rig
from contractor.visits import services
from contractor.visits.models import Visit

SET_BY_WHAT_HAPPENS = ["urgent", "state", "opened_by_tag", "started_at", "finished_at", "called_off_at",
                       "called_off_because"]  # fmt: skip


class VisitSerializer(RecordSerializer):
    id = serializers.UUIDField(required=False, help_text="made by the sender, or left out")
    crew = CrewField(
        queryset=Person.objects.all(), many=True, required=False, help_text="ids of the people who go"
    )
    crew_names = serializers.SerializerMethodField(help_text="their names, in the same order")
    rigs = SeenField(
        queryset=Rig.objects.all(), many=True, required=False, help_text="ids of the rigs that go along"
    )
    urgent = serializers.BooleanField(required=False, help_text="cannot wait; access hours do not hold it")
    fixed = frozenset({"site", "urgent"})
    hidden_from_clients = frozenset(
        {
            "notes",
            "outside_hours_agreed_with",
            "called_off_because",
            "opened_by_tag",
            "rigs",
            "quiet_hours_agreed_with",
        }
    )

    class Meta:
        model = Visit
        fields = ["id", "site", "reason", "window_start", "window_end", "crew", "crew_names", "rigs",
                  "chemical_work", "noisy", "quiet_hours_agreed_with",
                  *SET_BY_WHAT_HAPPENS, "outside_hours_agreed_with", "notes", *ALWAYS_READ]  # fmt: skip
        read_only_fields = [name for name in SET_BY_WHAT_HAPPENS if name != "urgent"]
        extra_kwargs = {"chemical_work": {"help_text": (
            "acid or another cleaner goes in: wants a second person and a certificate that holds; "
            "a descale says false where nothing goes in, left out it is true")}}  # fmt: skip

    @extend_schema_field({"type": "array", "items": {"type": "string"}})
    def get_crew_names(self, visit: Visit) -> list[str]:
        return [person.name for person in visit.crew.all()]


class UrgentSerializer(RoomSerializer):
    id = serializers.UUIDField(help_text="id of the visit, made on the phone")
    tag = serializers.CharField(max_length=40, help_text="the code exactly as on the unit's tag")
    opened_at = MomentField(required=False, help_text="when, by the phone's clock; now when left out")
    notes = serializers.CharField(
        required=False, allow_blank=True, max_length=4000, help_text="why, in words"
    )


class ReasonSerializer(RoomSerializer):
    reason = serializers.CharField(max_length=300, help_text="why, in a few words")


class MomentSerializer(RoomSerializer):
    at = MomentField(required=False, help_text="when, by the phone's clock; now when left out")


class VisitFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    customer = django_filters.UUIDFilter("site__customer", help_text="id of the customer")
    crew = django_filters.UUIDFilter("crew_places__person", help_text="id of someone who goes")
    open = django_filters.BooleanFilter(method="by_open", help_text="true: booked or under way; false: over")
    until = django_filters.IsoDateTimeFilter(
        "window_start", "lt", help_text="window starts before this moment"
    )
    since = django_filters.IsoDateTimeFilter("window_end", "gt", help_text="window ends after this moment")

    class Meta:
        model = Visit
        fields = {"site": ["exact"], "state": ["exact"], "reason": ["exact"], "urgent": ["exact"]}

    def by_open(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        return rows.open() if value else rows.exclude(pk__in=Visit.objects.open().values("pk"))  # type: ignore[attr-defined]


class VisitViewSet(FullRoomViewSet):
    """Visits: site, window and crew. The office books, the crew starts and finishes."""

    model = Visit
    serializer_class = VisitSerializer
    filterset_class = VisitFilters
    ordering_fields = ("window_start", "window_end", "created_at")
    prefetch = ("crew", "rigs")
    key_required = frozenset({"urgent", "start", "finish"})
    if_match_actions = frozenset({"update", "partial_update", "call_off"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "create": OFFICE,
        "partial_update": OFFICE,
        "call_off": OFFICE,
        "start": CREW,
        "finish": CREW,
        "urgent": CREW,
    }

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if self.action == "urgent" and isinstance(request.data, dict):
            guessing.count_tag(person_of(request), str(request.data.get("tag", ""))[:40], timezone.now())

    def perform_create(self, serializer: Any) -> Visit:
        fields = dict(serializer.validated_data)
        return services.book_visit(fields, fields.pop("crew", ()), fields.pop("rigs", ()))

    def perform_update(self, serializer: Any) -> Visit:
        fields = dict(serializer.validated_data)
        crew = fields.pop("crew", None)
        rigs = fields.pop("rigs", None)
        services.change_visit(serializer.instance, fields, crew, rigs)
        return self.fresh(serializer.instance)

    def fresh(self, visit: Visit) -> Visit:
        return Visit.objects.select_related("site").prefetch_related("crew", "rigs").get(pk=visit.pk)

    @extend_schema(request=ReasonSerializer, responses=VisitSerializer)
    @action(detail=True, methods=["post"], url_path="call-off")
    def call_off(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """The visit does not take place; its crew is free. Needs If-Match."""
        visit = self.get_object()
        sent = ReasonSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        return self.answer(services.call_off(visit, sent.validated_data["reason"], timezone.now()))

    @extend_schema(request=MomentSerializer, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def start(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """The crew is there. Starting twice is harmless."""
        visit = self.get_object()
        return self.answer(services.start_visit(person_of(request), visit, self.moment(request)))

    @extend_schema(request=MomentSerializer, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def finish(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """The crew is done; readings still on a phone may follow. Finishing twice is harmless."""
        visit = self.get_object()
        return self.answer(services.finish_visit(person_of(request), visit, self.moment(request)))

    @extend_schema(request=UrgentSerializer, responses={201: VisitSerializer})
    @action(detail=False, methods=["post"])
    def urgent(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """A call-out nobody has booked, opened by the exact tag of a unit. The office is told."""
        sent = UrgentSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        asked = sent.validated_data
        visit = services.open_urgent_visit(
            person_of(request), asked["tag"], asked.get("opened_at") or timezone.now(),
            visit_id=asked["id"], notes=asked.get("notes", ""),
        )  # fmt: skip
        location = request.path.removesuffix("urgent/") + f"{visit.pk}/"
        return self.answer(self.fresh(visit), status=201, headers={"Location": location})

    def moment(self, request: Request) -> Any:
        sent = MomentSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        return sent.validated_data.get("at") or timezone.now()
