"""Rankings and surveys over the API: what is wrong, how sure, what to check next, why not acid yet."""

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
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.http.serializers import RoomModelSerializer, RoomSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet, RoomViewSet
from contractor.register.api.base import SeenField
from contractor.visits.models import Reading
from contractor.workqueue.api import WorkItemSerializer, accepted
from diagnostics.models import Ranking
from diagnostics.ranking import services

declare("not-ranked-yet", 404, "This reading is not ranked yet",
        "Its ranking waits in the queue, or was never asked for.")  # fmt: skip


class CauseSerializer(serializers.Serializer[Any]):
    cause = serializers.CharField(help_text="name of the cause")
    probability = serializers.FloatField(help_text="probability of the cause, 0 to 1 [-]")
    reasons = serializers.ListField(
        child=serializers.CharField(),
        help_text="the strongest reasons for and against, in the reading's numbers",
    )


class ThenSerializer(serializers.Serializer[Any]):
    cause = serializers.CharField(help_text="name of the cause")
    probability = serializers.FloatField(help_text="its probability after this outcome, 0 to 1 [-]")


class OutcomeSerializer(serializers.Serializer[Any]):
    outcome = serializers.CharField(help_text="what the check may show")
    probability = serializers.FloatField(help_text="how likely that is, 0 to 1 [-]")
    then = ThenSerializer(many=True, help_text="the likeliest causes after it")


class NextCheckSerializer(serializers.Serializer[Any]):
    check = serializers.CharField(help_text="name of the check")
    words = serializers.CharField(help_text="what to do")
    minutes = serializers.FloatField(help_text="about how long it takes [min]")
    intrusiveness = serializers.IntegerField(help_text="1 looks, 2 opens water, 3 opens refrigerant")
    cautions = serializers.ListField(child=serializers.CharField(), help_text="what to mind")
    expected_information_nat = serializers.FloatField(help_text="expected information [nat]")
    outcomes = OutcomeSerializer(many=True, help_text="what each outcome would do to the ranking")


class AlikeSerializer(serializers.Serializer[Any]):
    causes = serializers.ListField(child=serializers.CharField(), help_text="two causes that look alike")
    check = serializers.CharField(help_text="name of the check that would tell them apart")
    words = serializers.CharField(help_text="the same as a sentence")


@extend_schema_field(CauseSerializer(many=True))
class CausesField(serializers.JSONField):
    """Stored as it is shown; not built anew for every row."""


@extend_schema_field(NextCheckSerializer(allow_null=True))
class NextCheckField(serializers.JSONField):
    pass


@extend_schema_field(AlikeSerializer(many=True))
class AlikeField(serializers.JSONField):
    pass


class RankingSerializer(RoomModelSerializer):
    id = serializers.IntegerField(read_only=True, help_text="number of the ranking")
    reading = serializers.UUIDField(source="reading_id", read_only=True, help_text="id of the reading")
    visit = serializers.UUIDField(source="reading.visit_id", read_only=True, help_text="id of the visit")
    exchanger = serializers.UUIDField(
        source="reading.exchanger_id", read_only=True, help_text="id of the exchanger"
    )
    site = serializers.UUIDField(source="reading.visit.site_id", read_only=True, help_text="id of the site")
    mode = serializers.CharField(source="reading.mode", read_only=True, help_text="cooling or heating")
    taken_at = serializers.DateTimeField(
        source="reading.taken_at", read_only=True, help_text="when it was read"
    )
    current = serializers.BooleanField(
        source="is_current", read_only=True, help_text="not superseded, and of a reading that still counts"
    )
    why_not_chemical = serializers.SerializerMethodField(
        help_text="why nothing chemical yet; null where chemical work is reasonable"
    )
    reopened = serializers.SerializerMethodField(
        help_text="after a descale in vain: that the question is open again; else null"
    )
    causes = CausesField(source="result.causes", read_only=True, help_text="every cause, likeliest first")
    next_check = NextCheckField(
        source="result.next_check",
        read_only=True,
        help_text="the check that do_next asks for; null where it asks for none",
    )
    cannot_tell_apart = AlikeField(
        source="result.cannot_tell_apart",
        read_only=True,
        help_text="causes that these readings leave alike, and the check that would tell",
    )

    class Meta:
        model = Ranking
        fields = [
            "id", "reading", "visit", "exchanger", "site", "mode", "taken_at", "made_at", "current",
            "superseded_at", "superseded_because", "do_next", "why_not_chemical", "reopened",
            "leading_cause", "leading_probability", "fouled_probability", "causes", "next_check",
            "cannot_tell_apart", "engine_version", "inputs_digest",
        ]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {
            name: {"help_text": words}
            for name, words in {
                "made_at": "when the engine said it",
                "superseded_at": "when a newer answer took its place; null where it stands",
                "superseded_because": "why it was ranked again",
                "do_next": "what to do next, in one sentence",
                "leading_cause": "name of the likeliest cause",
                "leading_probability": "its probability, 0 to 1 [-]",
                "fouled_probability": "probability that the exchanger is fouled, 0 to 1 [-]",
                "engine_version": "version of the engine",
                "inputs_digest": "sha256 of everything that went in",
            }.items()
        }

    @extend_schema_field({"type": ["string", "null"]})
    def get_why_not_chemical(self, row: Ranking) -> str | None:
        return row.why_not_chemical or None

    @extend_schema_field({"type": ["string", "null"]})
    def get_reopened(self, row: Ranking) -> str | None:
        return row.reopened or None


class RankingRequestSerializer(RoomSerializer):
    reading = SeenField(queryset=Reading.objects.all(), help_text="id of the reading to rank")


class RankingFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    exchanger = django_filters.UUIDFilter("reading__exchanger", help_text="id of the exchanger")
    unit = django_filters.UUIDFilter("reading__exchanger__unit", help_text="id of the unit")
    site = django_filters.UUIDFilter("reading__visit__site", help_text="id of the site")
    visit = django_filters.UUIDFilter("reading__visit", help_text="id of the visit")
    reading = django_filters.UUIDFilter("reading", help_text="id of the reading")
    leading_cause = django_filters.CharFilter("leading_cause", help_text="name of the likeliest cause")
    chemical = django_filters.BooleanFilter(
        method="by_chemical", help_text="true: where chemical work is reasonable; false: where it is not"
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
        model = Ranking
        fields: list[str] = []

    def only_current(self, rows: Any, name: str, value: bool) -> Any:
        return rows.current() if value else rows.exclude(pk__in=rows.current().values("pk"))

    def by_chemical(self, rows: Any, name: str, value: bool) -> Any:
        return rows.filter(why_not_chemical="") if value else rows.exclude(why_not_chemical="")


@extend_schema_view(list=extend_schema(responses=RankingSerializer(many=True)))
class RankingViewSet(ReadOnlyRoomViewSet):
    """What is wrong, how sure, and what to check next. Newest first; older answers stay with the visit."""

    model = Ranking
    serializer_class = RankingSerializer
    filterset_class = RankingFilters
    ordering_fields = ("made_at", "reading__taken_at")
    related = ("reading__visit",)
    lookup_value_converter = "int"
    may = {"list": EVERYONE, "retrieve": EVERYONE, "create": CREW}

    def get_serializer_class(self) -> Any:
        return RankingRequestSerializer if self.action == "create" else RankingSerializer

    @extend_schema(request=RankingRequestSerializer, responses={202: WorkItemSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask for a reading to be ranked anew. Answers with the work item to follow."""
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        reading = serializer.validated_data["reading"]
        if reading.superseded_at is not None:
            raise Problem("no-longer-counts")
        return accepted(services.request_ranking(reading, cast(Person, request.user)))


class ReadingRankingViewSet(RoomViewSet):
    """The ranking that stands for one reading."""

    model = Reading
    serializer_class = RankingSerializer
    may = {"retrieve": EVERYONE}

    @extend_schema(operation_id="readings_ranking_retrieve")
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """What this reading shows; 404 with `not-ranked-yet` while the work waits."""
        rows = Ranking.objects.seen_by(cast(Person, request.user))
        row = rows.filter(reading=self.get_object(), superseded_at__isnull=True)
        found = row.select_related(*RankingViewSet.related).first()
        if found is None:
            raise Problem("not-ranked-yet", headers={"Retry-After": "2"})
        return Response(self.get_serializer(found).data)


def register(router: BaseRouter) -> None:
    router.register("rankings", RankingViewSet, basename="ranking")
