from __future__ import annotations

from typing import Any, cast

import django_filters
from django.db.models import F, QuerySet
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.accounts.models import Person
from contractor.http.permissions import CREW, EVERYONE
from contractor.http.serializers import RoomSerializer
from contractor.http.viewsets import Creating, ReadOnlyRoomViewSet
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    CrewField,
    FiniteFloatField,
    RecordSerializer,
    SeenField,
    person_of,
)
from contractor.register.models import Exchanger
from contractor.visits import services
from contractor.visits.api.visits import ReasonSerializer
from contractor.visits.models import Reading, Visit
from contractor.visits.plausibility import questions_about
from contractor.visits.quantities import COLUMNS, READING
from diagnostics.engine import records

CHANGEABLE = [
    "taken_at", "purpose", "stage", "minutes_running", "gauge_set", "probe_moved", "as_typed", "phases",
    "drop_read_by", "power_includes_fan", "strainer", "back_flush", "fault_lockout", "note",
]  # fmt: skip
OWN_COLUMNS = [column.name for column in Reading._meta.concrete_fields]
BESIDE = [
    "visit__state", "visit__window_start", "visit__window_end",
    "visit__site__name", "visit__site__elevation_m",
    "exchanger__name", "exchanger__modes", "exchanger__retired_at", "exchanger__unit__tag",
    "exchanger__unit__kind", "exchanger__unit__fan_power_w", "taken_by__name",
]  # fmt: skip
TRACE = ["supersedes", "superseded_by", "superseded_at", "correction_reason", "set_aside_because"]


class QuestionSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="short name of what is asked")
    text = serializers.CharField(help_text="the question, with the value and what would be usual")
    pointer = serializers.CharField(help_text="JSON pointer to the field it is about")


class ReadingSerializer(RecordSerializer):
    """SI by column, pressures absolute; `as_typed` as on the gauge."""

    id = serializers.UUIDField(required=False, help_text="made on the phone, for later posts to refer to")
    as_typed = AsTypedField(READING)
    minutes_running = FiniteFloatField(
        required=False, allow_null=True, help_text="since the compressor started [min]"
    )
    taken_by = CrewField(
        queryset=Person.objects.all(), required=False, help_text="id of who read; oneself when left out"
    )
    taken_by_name = serializers.CharField(source="taken_by.name", read_only=True, help_text="who read")
    superseded_by = serializers.SerializerMethodField(
        help_text="id of the reading in its place; null if none"
    )
    warnings = serializers.SerializerMethodField(
        help_text="questions about what looks wrong; nothing is refused for them"
    )
    work_item = serializers.SerializerMethodField(
        help_text="address of the work item that assesses it, in the answer to a write; else null"
    )
    ranking_item = serializers.SerializerMethodField(
        help_text="address of the work item that ranks its causes, in the answer to a write; else null"
    )
    hidden_from_clients = frozenset({"gauge_set", "note", "correction_reason", "set_aside_because"})

    class Meta:
        model = Reading
        fields = ["id", "visit", "exchanger", "taken_by", "taken_by_name", "received_at", "mode", *CHANGEABLE,
                  *COLUMNS, *TRACE, "warnings", "work_item", "ranking_item", *ALWAYS_READ]  # fmt: skip
        read_only_fields = ["received_at", *COLUMNS, *TRACE]

    @extend_schema_field({"type": ["string", "null"], "format": "uuid"})
    def get_superseded_by(self, reading: Reading) -> str | None:
        later = getattr(reading, "later", None)
        return str(later) if later else None

    @extend_schema_field(QuestionSerializer(many=True))
    def get_warnings(self, reading: Reading) -> list[dict[str, str]]:
        if self.reader_is_client():
            return []
        asked = self.context.get("questions")
        found = questions_about(reading) if asked is None else asked
        return [{"code": each.code, "text": each.text, "pointer": each.pointer} for each in found]

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_work_item(self, reading: Reading) -> str | None:
        return cast("str | None", self.context.get("work_item"))

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_ranking_item(self, reading: Reading) -> str | None:
        return cast("str | None", self.context.get("ranking_item"))


class CorrectionSerializer(ReadingSerializer):
    """Only what differs is sent."""

    reason = serializers.CharField(max_length=300, help_text="why, in a few words")

    class Meta(ReadingSerializer.Meta):
        fields = ["id", "taken_by", *CHANGEABLE, "reason"]
        read_only_fields: list[str] = []

    superseded_by = warnings = work_item = ranking_item = taken_by_name = None  # type: ignore[assignment]


class MoveSerializer(RoomSerializer):
    exchanger = SeenField(queryset=Exchanger.objects.all(), help_text="id of the exchanger that was read")
    mode = serializers.ChoiceField(choices=records.MODES, help_text="the mode it ran in")
    visit = SeenField(
        queryset=Visit.objects.all(), required=False, help_text="id of the visit, if it was another"
    )
    reason = serializers.CharField(max_length=300, help_text="why, in a few words")


class ReadingFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    unit = django_filters.UUIDFilter("exchanger__unit", help_text="id of the unit")
    site = django_filters.UUIDFilter("visit__site", help_text="id of the site")
    customer = django_filters.UUIDFilter("visit__site__customer", help_text="id of the customer")
    taken_from = django_filters.IsoDateTimeFilter(
        "taken_at", "gte", help_text="taken at this moment or later"
    )
    taken_until = django_filters.IsoDateTimeFilter(
        "taken_at", "lte", help_text="taken at this moment or earlier"
    )
    superseded = django_filters.ChoiceFilter(
        choices=[("no", "standing"), ("yes", "superseded"), ("all", "both")],
        method="by_superseded",
        help_text="no: those that count (as when left out); yes: corrected, moved or set aside; all: both",
    )

    class Meta:
        model = Reading
        fields = {"visit": ["exact"], "exchanger": ["exact"], "mode": ["exact"], "purpose": ["exact"],
                  "taken_by": ["exact"]}  # fmt: skip

    def by_superseded(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows if value == "all" else rows.filter(superseded_at__isnull=value != "yes")

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows: QuerySet[Any] = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("superseded") else rows.filter(superseded_at__isnull=True)


class ReadingViewSet(Creating, ReadOnlyRoomViewSet):
    """What was read. Never changed in place: a correction, a move or setting aside supersedes."""

    model = Reading
    serializer_class = ReadingSerializer
    filterset_class = ReadingFilters
    ordering_fields = ("taken_at", "received_at")
    key_required = frozenset({"create", "correct", "move", "set_aside"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "create": CREW,
        "correct": CREW,
        "move": CREW,
        "set_aside": CREW,
    }

    def get_queryset(self) -> QuerySet[Any]:
        """With what is shown beside each reading and no more: whole rows would cost as much again."""
        rows: QuerySet[Any] = super().get_queryset().annotate(later=F("superseded_by__id"))
        return rows.select_related("visit__site", "exchanger__unit", "taken_by").only(*OWN_COLUMNS, *BESIDE)

    @extend_schema(responses={201: ReadingSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Stored whatever parses, with questions about what looks wrong; its assessment is queued."""
        sent = self.get_serializer(data=request.data)
        sent.is_valid(raise_exception=True)
        return self.posted(services.post_readings(person_of(request), sent.validated_data, timezone.now()))

    @extend_schema(request=CorrectionSerializer, responses={201: ReadingSerializer})
    @action(detail=True, methods=["post"])
    def correct(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """A corrected reading takes this one's place. Only what differs is sent; null takes a value out."""
        reading = self.get_object()
        sent = CorrectionSerializer(data=request.data, partial=True, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        fields = dict(sent.validated_data)
        reason = fields.pop("reason", "")
        return self.posted(
            services.correct_reading(person_of(request), reading, fields, reason, timezone.now())
        )

    @extend_schema(request=MoveSerializer, responses={201: ReadingSerializer})
    @action(detail=True, methods=["post"])
    def move(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Put it to the exchanger or mode it was really read of. Both are assessed again."""
        reading = self.get_object()
        sent = MoveSerializer(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        asked = sent.validated_data
        moved = services.move_reading(
            person_of(request), reading, asked["exchanger"], asked["mode"], asked["reason"], timezone.now(),
            visit=asked.get("visit"),
        )  # fmt: skip
        return self.posted(moved)

    @extend_schema(request=ReasonSerializer, responses=ReadingSerializer)
    @action(detail=True, methods=["post"], url_path="set-aside")
    def set_aside(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Take it out without another in its place. It stays on record."""
        reading = self.get_object()
        sent = ReasonSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        aside = services.set_aside_reading(
            person_of(request), reading, sent.validated_data["reason"], timezone.now()
        )
        return self.answer(aside)

    def posted(self, posted: services.Posted) -> Response:
        address = reverse("work-item-detail", args=[posted.work_item.pk])
        item = posted.ranking_item
        ranking = reverse("work-item-detail", args=[item.pk]) if item else None
        context = {
            **self.get_serializer_context(),
            "questions": posted.questions,
            "work_item": address,
            "ranking_item": ranking,
        }
        data = ReadingSerializer(posted.reading, context=context).data
        headers = {
            "Location": reverse("reading-detail", args=[posted.reading.pk]),
            "Link": f'<{address}>; rel="monitor"',
            "ETag": f'"{posted.reading.pk}-{posted.reading.version}"',
        }
        return Response(data, status=201, headers=headers)
