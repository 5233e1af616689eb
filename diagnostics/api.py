"""Assessments over the API: what each reading tells, in the keys of the batch output; asking for it anew."""

from __future__ import annotations

from typing import Any, cast

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import BaseRouter

from contractor.accounts.models import Person
from contractor.http.permissions import CREW, EVERYONE
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.http.serializers import RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet, RoomViewSet
from contractor.register.api.base import SeenField
from contractor.register.models import Exchanger
from contractor.visits.models import Reading
from contractor.workqueue.api import WorkItemSerializer, accepted
from diagnostics import services
from diagnostics.batch.results import KEYS
from diagnostics.models import VERDICTS, Assessment
from diagnostics.ranking.api import register as rankings
from diagnostics.ranking.surveys_api import register as surveys

declare("not-assessed-yet", 404, "This reading is not assessed yet",
        "Its assessment waits in the queue, or was never asked for.")  # fmt: skip
declare("no-longer-counts", 409, "The reading no longer counts",
        "It was corrected, moved or set aside; ask for the one that stands.")  # fmt: skip


class IntervalSerializer(serializers.Serializer[Any]):
    value = serializers.FloatField(help_text="median, in the unit that the key ends with")
    low = serializers.FloatField(help_text="lower end of the 95 % interval")
    high = serializers.FloatField(help_text="upper end of the 95 % interval")


class LimitSerializer(serializers.Serializer[Any]):
    value = serializers.FloatField(help_text="the fouling limit, in `unit`")
    unit = serializers.CharField(help_text="m2K/W where the area is known, else K/W")
    source = serializers.CharField(help_text="where the limit comes from")  # type: ignore[assignment]


class ReferenceSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField(help_text="clean_reference, operating_table, rated_data or geometry")
    taken_at = serializers.CharField(allow_null=True, help_text="when the clean visit was read (ISO 8601)")


class WarningSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="for programs")
    text = serializers.CharField(help_text="for people: the reading, its value, what would be right")


@extend_schema_field(IntervalSerializer(allow_null=True))
class IntervalField(serializers.JSONField):
    """Stored as it is shown; not built anew for every row."""


@extend_schema_field(LimitSerializer(allow_null=True))
class LimitField(serializers.JSONField):
    pass


@extend_schema_field(ReferenceSerializer(many=True))
class ReferencesField(serializers.JSONField):
    pass


@extend_schema_field(WarningSerializer(many=True))
class WarningsField(serializers.JSONField):
    pass


def interval(what: str, key: str) -> IntervalField:
    words = f"{what} with its 95 % interval; null where withheld, the reason is in `warnings`"
    return IntervalField(source=f"result.{key}", read_only=True, help_text=words)


class AssessmentSerializer(RoomModelSerializer):
    id = serializers.IntegerField(read_only=True, help_text="number of the assessment")
    reading = serializers.UUIDField(source="reading_id", read_only=True, help_text="id of the reading")
    exchanger = serializers.UUIDField(
        source="reading.exchanger_id", read_only=True, help_text="id of the exchanger"
    )
    site = serializers.UUIDField(source="reading.visit.site_id", read_only=True, help_text="id of the site")
    purpose = serializers.CharField(source="reading.purpose", read_only=True, help_text="why it was read")
    current = serializers.BooleanField(
        source="is_current", read_only=True, help_text="not superseded, and of a reading that still counts"
    )
    line = serializers.IntegerField(
        source="result.line", read_only=True, allow_null=True, help_text="always null here"
    )
    unit = serializers.CharField(source="result.unit", read_only=True, help_text="the unit's tag")
    taken_at = serializers.CharField(
        source="result.taken_at", read_only=True, help_text="when it was read (ISO 8601)"
    )
    mode = serializers.CharField(source="result.mode", read_only=True, help_text="cooling or heating")
    water_flow_kg_per_s = interval("water flow [kg/s]", "water_flow_kg_per_s")
    heat_w = interval("heat, positive in both modes [W]", "heat_w")
    ua_w_per_k = interval("conductance [W/K]", "ua_w_per_k")
    excess_approach_k = interval("approach above that of the clean unit [K]", "excess_approach_k")
    cleanliness = interval("conductance over clean conductance, 1 is clean [-]", "cleanliness")
    fouling_resistance_m2k_per_w = interval(
        "fouling resistance by area [m2 K/W]", "fouling_resistance_m2k_per_w"
    )
    fouling_resistance_k_per_w = interval("fouling resistance [K/W]", "fouling_resistance_k_per_w")
    limit = LimitField(source="result.limit", read_only=True, help_text="the fouling limit used")
    reference = ReferencesField(
        source="result.reference", read_only=True, help_text="what the clean unit is known from"
    )
    decides_next = serializers.CharField(
        source="result.decides_next",
        read_only=True,
        allow_null=True,
        help_text="the reading that would decide; null where decided",
    )
    warnings = WarningsField(
        source="result.warnings", read_only=True, help_text="what to know about the number"
    )

    class Meta:
        model = Assessment
        fields = [
            "id", "reading", "exchanger", "site", "purpose", "made_at", "current", "superseded_at",
            "superseded_because", *KEYS, "engine_version", "inputs_digest",
        ]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {
            name: {"help_text": words}
            for name, words in {
                "made_at": "when the engine said it",
                "superseded_at": "when a newer answer took its place; null where it stands",
                "superseded_because": "why it was assessed again",
                "probability_over_limit": "probability that the surface is beyond its limit, 0 to 1 [-]",
                "verdict": "fouled, clean or undecided",
                "do_next": "what to do next, in one sentence",
                "engine_version": "version of the engine",
                "inputs_digest": "sha256 of everything that went in",
            }.items()
        }


class WholeAssessmentSerializer(AssessmentSerializer):
    more = serializers.SerializerMethodField(
        help_text="further figures of the engine, each key with its unit"
    )

    class Meta(AssessmentSerializer.Meta):
        fields = [*AssessmentSerializer.Meta.fields, "more"]
        read_only_fields = fields

    def get_more(self, row: Assessment) -> dict[str, Any]:
        told = {*KEYS, "engine_version", "inputs_digest"}
        return {key: value for key, value in row.result.items() if key not in told}


class AssessmentRequestSerializer(RoomSerializer):
    reading = SeenField(queryset=Reading.objects.all(), help_text="id of the reading to assess")


class ReassessmentRequestSerializer(RoomSerializer):
    exchanger = SeenField(
        queryset=Exchanger.objects.all(), help_text="id of the exchanger whose history to assess anew"
    )
    because = serializers.CharField(
        required=False, allow_blank=True, max_length=200, help_text="why, kept with the answers it supersedes"
    )


class AssessmentFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    exchanger = django_filters.UUIDFilter("reading__exchanger", help_text="id of the exchanger")
    unit = django_filters.UUIDFilter("reading__exchanger__unit", help_text="id of the unit")
    site = django_filters.UUIDFilter("reading__visit__site", help_text="id of the site")
    visit = django_filters.UUIDFilter("reading__visit", help_text="id of the visit")
    reading = django_filters.UUIDFilter("reading", help_text="id of the reading")
    verdict = django_filters.ChoiceFilter(
        choices=[(v, v) for v in VERDICTS], help_text="fouled, clean or undecided"
    )
    current = django_filters.BooleanFilter(
        method="only_current", help_text="true: what stands; false: what was superseded"
    )
    taken_from = django_filters.IsoDateTimeFilter(
        "reading__taken_at", "gte", help_text="read at this moment or later (ISO 8601)"
    )
    taken_until = django_filters.IsoDateTimeFilter(
        "reading__taken_at", "lt", help_text="read before this moment (ISO 8601)"
    )

    class Meta:
        model = Assessment
        fields: list[str] = []

    def only_current(self, rows: Any, name: str, value: bool) -> Any:
        return rows.current() if value else rows.exclude(pk__in=rows.current().values("pk"))


@extend_schema_view(list=extend_schema(responses=AssessmentSerializer(many=True)))
class AssessmentViewSet(ReadOnlyRoomViewSet):
    """What each reading tells of the surface, with its uncertainty. Newest first; older answers stay."""

    model = Assessment
    serializer_class = AssessmentSerializer
    filterset_class = AssessmentFilters
    ordering_fields = ("made_at", "reading__taken_at")
    related = ("reading__visit",)
    key_required = frozenset({"create", "reassess"})
    lookup_value_converter = "int"
    may = {"list": EVERYONE, "retrieve": EVERYONE, "create": CREW, "reassess": CREW}

    def get_serializer_class(self) -> Any:
        kinds = {
            "retrieve": WholeAssessmentSerializer,
            "create": AssessmentRequestSerializer,
            "reassess": ReassessmentRequestSerializer,
        }
        return kinds.get(self.action, AssessmentSerializer)

    @extend_schema(request=AssessmentRequestSerializer, responses={202: WorkItemSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for a reading to be assessed anew. Answers with the work item to follow."""
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        reading = serializer.validated_data["reading"]
        if reading.superseded_at is not None:
            raise Problem("no-longer-counts")
        return accepted(services.request_assessment(reading, cast(Person, request.user)))

    @extend_schema(request=ReassessmentRequestSerializer, responses={202: WorkItemSerializer})
    @action(detail=False, methods=["post"])
    def reassess(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for an exchanger's whole history to be assessed anew, as one item of work.

        Each reading is judged with the clean visits known now; older answers stay, superseded, and say why.
        """
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        asked, me = serializer.validated_data, cast(Person, request.user)
        return accepted(services.request_reassessment(asked["exchanger"], me, asked.get("because", "")))


class ReadingAssessmentViewSet(RoomViewSet):
    """The assessment that stands for one reading."""

    model = Reading
    serializer_class = WholeAssessmentSerializer
    may = {"retrieve": EVERYONE}

    @extend_schema(operation_id="readings_assessment_retrieve")
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """What this reading tells; 404 with `not-assessed-yet` while the work waits."""
        reading = self.get_object()
        rows = Assessment.objects.seen_by(cast(Person, request.user)).filter(
            reading=reading, superseded_at__isnull=True
        )
        row = rows.select_related(*AssessmentViewSet.related).first()
        if row is None:
            raise Problem("not-assessed-yet", headers={"Retry-After": "2"})
        return Response(self.get_serializer(row).data)


def register(router: BaseRouter) -> None:
    router.register("assessments", AssessmentViewSet, basename="assessment")
    rankings(router)
    surveys(router)
