"""Surveys over the API: the loop itself, these units, or nearly all; which few are worth gauges."""

from __future__ import annotations

from typing import Any, cast

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.routers import BaseRouter

from contractor.accounts.models import Person
from contractor.http.permissions import CREW, EVERYONE
from contractor.http.serializers import RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet
from contractor.register.api.base import SeenField
from contractor.visits.models import Visit
from contractor.workqueue.api import WorkItemSerializer, accepted
from diagnostics.models import SURVEY_ANSWERS, LoopSurvey
from diagnostics.ranking import surveys


class LeftOutSerializer(serializers.Serializer[Any]):
    unit = serializers.CharField(help_text="the unit's tag")
    because = serializers.CharField(help_text="why its row is no evidence")


@extend_schema_field(LeftOutSerializer(many=True))
class LeftOutField(serializers.JSONField):
    pass


@extend_schema_field({"type": "object", "additionalProperties": {"type": "number"}})
class ChancesField(serializers.JSONField):
    pass


class LoopSurveySerializer(RoomModelSerializer):
    id = serializers.IntegerField(read_only=True, help_text="number of the survey")
    visit = serializers.UUIDField(source="visit_id", read_only=True, help_text="id of the visit")
    site = serializers.UUIDField(source="visit.site_id", read_only=True, help_text="id of the site")
    current = serializers.BooleanField(source="is_current", read_only=True, help_text="not superseded")
    probabilities = ChancesField(
        source="result.probabilities", read_only=True, help_text="of every answer, 0 to 1 [-]"
    )
    cause = serializers.CharField(
        source="result.cause",
        read_only=True,
        allow_null=True,
        help_text="of the loop: weak_flow or entering_water; null where it is not the loop",
    )
    units_worth_gauges = serializers.ListField(
        source="result.units_worth_gauges",
        child=serializers.CharField(),
        read_only=True,
        help_text="tags of the few units on which gauges are worth their while",
    )
    fouled_by_unit = ChancesField(
        source="result.fouled_by_unit",
        read_only=True,
        help_text="probability that each unit is fouled, by tag, 0 to 1 [-]",
    )
    left_out = LeftOutField(
        source="result.left_out", read_only=True, help_text="units whose rows are no evidence, and why"
    )

    class Meta:
        model = LoopSurvey
        fields = [
            "id", "visit", "site", "loop", "made_at", "current", "superseded_at", "answer", "probability",
            "words", "probabilities", "cause", "units_worth_gauges", "fouled_by_unit", "left_out",
            "engine_version", "inputs_digest",
        ]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {
            name: {"help_text": words}
            for name, words in {
                "made_at": "when the engine said it",
                "superseded_at": "when a newer answer took its place; null where it stands",
                "answer": "the_loop, these_units or nearly_all_fouled",
                "probability": "probability of the answer, 0 to 1 [-]",
                "words": "the answer as a sentence",
                "engine_version": "version of the engine",
                "inputs_digest": "sha256 of everything that went in",
            }.items()
        }


class SurveyRequestSerializer(RoomSerializer):
    visit = SeenField(queryset=Visit.objects.all(), help_text="id of the survey visit to read")


class LoopSurveyFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    visit = django_filters.UUIDFilter("visit", help_text="id of the visit")
    site = django_filters.UUIDFilter("visit__site", help_text="id of the site")
    answer = django_filters.ChoiceFilter(
        choices=[(a, a) for a in SURVEY_ANSWERS], help_text="the_loop, these_units or nearly_all_fouled"
    )
    current = django_filters.BooleanFilter(
        "superseded_at", "isnull", help_text="true: what stands; false: what was superseded"
    )

    class Meta:
        model = LoopSurvey
        fields: list[str] = []


@extend_schema_view(list=extend_schema(responses=LoopSurveySerializer(many=True)))
class LoopSurveyViewSet(ReadOnlyRoomViewSet):
    """The short rows of a survey visit read together, one answer a loop. Newest first."""

    model = LoopSurvey
    serializer_class = LoopSurveySerializer
    filterset_class = LoopSurveyFilters
    ordering_fields = ("made_at",)
    related = ("visit",)
    lookup_value_converter = "int"
    may = {"list": EVERYONE, "retrieve": EVERYONE, "create": CREW}

    def get_serializer_class(self) -> Any:
        return SurveyRequestSerializer if self.action == "create" else LoopSurveySerializer

    @extend_schema(request=SurveyRequestSerializer, responses={202: WorkItemSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for the rows of a visit to be read together. Answers with the work item to follow."""
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        visit = serializer.validated_data["visit"]
        return accepted(surveys.request_survey(visit, cast(Person, request.user)))


def register(router: BaseRouter) -> None:
    router.register("surveys", LoopSurveyViewSet, basename="survey")
