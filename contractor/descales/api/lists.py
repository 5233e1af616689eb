from __future__ import annotations

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import FileResponse
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.descales import services
from contractor.descales.api import answers, asking
from contractor.descales.api.descales import uuid_of
from contractor.descales.models import Batch, Descale, DescalePlan, Discharge, HeldWaste, Notice
from contractor.http.permissions import CREW, EVERYONE, OFFICE
from contractor.http.problems import Problem
from contractor.http.viewsets import ReadOnlyRoomViewSet, RoomViewSet
from contractor.register.api.base import person_of
from contractor.register.api.papers import (
    PAPER_ANSWERS,
    PAPER_RENDERERS,
    PAPER_SENT,
    TakesPapers,
    as_file,
    sent_file,
)
from contractor.visits.models import Visit

WITH_UNIT = ("descale__exchanger__unit",)


class OfDescaleFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    unit = django_filters.UUIDFilter("descale__exchanger__unit", help_text="id of the unit")
    site = django_filters.UUIDFilter("descale__exchanger__unit__site", help_text="id of the site")
    descale = django_filters.UUIDFilter("descale", help_text="id of the descale")


class PlanFilters(OfDescaleFilters):
    class Meta:
        model = DescalePlan
        fields: dict[str, list[str]] = {}


class PlanViewSet(ReadOnlyRoomViewSet):
    """Plans as they were worked out; a newer one takes the place of an older."""

    model = DescalePlan
    serializer_class = answers.PlanSerializer
    filterset_class = PlanFilters
    ordering_fields = ("made_at",)
    related = ("cleaner",)
    may = {"list": CREW, "retrieve": CREW}


class NoticeFilters(OfDescaleFilters):
    to_come = django_filters.BooleanFilter(method="by_to_come", help_text="true: work that is still to come")

    class Meta:
        model = Notice
        fields: dict[str, list[str]] = {}

    def by_to_come(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        now = timezone.now()
        coming = Notice.objects.to_come(now)
        return rows.filter(pk__in=coming) if value else rows.exclude(pk__in=coming)


class NoticeViewSet(ReadOnlyRoomViewSet):
    """What clients were told of coming work."""

    model = Notice
    serializer_class = answers.NoticeSerializer
    filterset_class = NoticeFilters
    ordering_fields = ("work_starts_at", "at")
    related = (*WITH_UNIT, "cleaner")
    may = dict.fromkeys(("list", "retrieve", "label", "safety_sheet"), EVERYONE)

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], renderer_classes=PAPER_RENDERERS)
    def label(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """The label of the chemical, as a file to keep."""
        return as_file(getattr(self.get_object().cleaner, "label", None), "label")

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], url_path="safety-sheet", renderer_classes=PAPER_RENDERERS)
    def safety_sheet(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """The safety data sheet of the chemical, as a file to keep."""
        return as_file(getattr(self.get_object().cleaner, "safety_sheet", None), "safety-sheet")


class DischargeFilters(OfDescaleFilters):
    exceeding = django_filters.BooleanFilter(method="by_exceeding", help_text="true: beyond the limits")

    class Meta:
        model = Discharge
        fields = {"route": ["exact"], "water": ["exact"]}

    def by_exceeding(self, rows: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:
        return rows.exceeding() if value else rows.filter(exceedances=[])  # type: ignore[attr-defined]


class DischargeViewSet(TakesPapers, ReadOnlyRoomViewSet):
    """What was let out, where, and what stood against it."""

    model = Discharge
    serializer_class = answers.DischargeListSerializer
    filterset_class = DischargeFilters
    ordering_fields = ("at",)
    related = WITH_UNIT
    key_required = frozenset({"put_acceptance"})
    may = {**dict.fromkeys(("list", "retrieve", "acceptance"), EVERYONE), "put_acceptance": CREW}

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], renderer_classes=PAPER_RENDERERS)
    def acceptance(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """What works or authority wrote for this discharge, as a file to keep."""
        return as_file(self.get_object().acceptance, "acceptance")

    @extend_schema(request=PAPER_SENT, responses={201: answers.DischargeListSerializer})
    @acceptance.mapping.post
    def put_acceptance(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep it, as a multipart form with the part `file`; the discharge is judged anew with it."""
        row = services.attach_acceptance(person_of(request), self.get_object(), sent_file(request))
        location = reverse("discharge-acceptance", args=[row.pk])
        return self.answer(row, status=201, headers={"Location": location})


class HeldWasteFilters(OfDescaleFilters):
    there = django_filters.BooleanFilter(
        "collected_at", lookup_expr="isnull", help_text="true: still there; false: collected"
    )

    class Meta:
        model = HeldWaste
        fields = {"water": ["exact"]}


class HeldWasteViewSet(ReadOnlyRoomViewSet):
    """Baths that are held: where, whose, since when."""

    model = HeldWaste
    serializer_class = answers.HeldWasteListSerializer
    filterset_class = HeldWasteFilters
    ordering_fields = ("at",)
    related = WITH_UNIT
    may = {"list": CREW, "retrieve": CREW, "collected": OFFICE}
    if_match_actions = frozenset({"collected"})

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "now": timezone.now()}

    @extend_schema(request=asking.CollectedSerializer, responses=answers.HeldWasteListSerializer)
    @action(detail=True, methods=["post"])
    def collected(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Somebody fetched it. Needs If-Match."""
        waste = self.get_object()
        sent = asking.CollectedSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given = sent.validated_data
        at = given.get("at") or timezone.now()
        return self.answer(services.waste_collected(person_of(request), waste, given["who"], at))


class BatchClockViewSet(RoomViewSet):
    """Clocks of the batches that are in, several units side by side."""

    model = Batch
    serializer_class = answers.ClockSerializer
    pagination_class = None
    filter_backends = ()
    more_parameters = ("visit",)
    may = {"list": CREW}

    @extend_schema(
        parameters=[OpenApiParameter("visit", OpenApiTypes.UUID, description="at this visit's site only")],
        responses=answers.ClockSerializer(many=True), filters=False,
    )  # fmt: skip
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Most pressing first. `left_s` below zero: it must be out by now."""
        person, now = person_of(request), timezone.now()
        visit = self.visit_of(request)
        found = services.clocks_running(person, visit)
        return Response(answers.ClockSerializer(found, many=True, context={"now": now}).data)

    def visit_of(self, request: Request) -> Visit | None:
        asked = request.query_params.get("visit")
        if not asked:
            return None
        visit = Visit.objects.seen_by(person_of(request)).filter(pk=uuid_of(asked)).first()
        if visit is None:
            raise Problem(
                "invalid", "There is no such visit; expected the id of one in the parameter `visit`."
            )
        return visit


class StrainerLookViewSet(RoomViewSet):
    """Strainers of units that run again since a day or longer, and that nobody has looked at since."""

    model = Descale
    serializer_class = answers.StrainerListSerializer
    pagination_class = None
    filter_backends = ()
    may = {"list": CREW}

    @extend_schema(responses=answers.StrainerListSerializer(many=True), filters=False)
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Due by now, the oldest first."""
        found = services.strainers_due(person_of(request), timezone.now())
        return Response(answers.StrainerListSerializer(found, many=True).data)
