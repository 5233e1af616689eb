from __future__ import annotations

from datetime import datetime
from typing import Any

import django_filters
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.parsers import MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.permissions import CREW, EVERYONE
from contractor.http.problems import Problem
from contractor.http.serializers import RoomSerializer
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    MomentField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
)
from contractor.visits import services
from contractor.visits.models import Finding
from contractor.visits.photos import EXPECTED, LARGEST_BYTES
from contractor.visits.quantities import FINDING, FINDING_COLUMNS

AROUND_A_FILE = 64 * 1024


class FindingSerializer(RecordSerializer):
    id = serializers.UUIDField(
        required=False, help_text="made on the phone, so that later posts can refer to it"
    )
    found_at = MomentField(required=False, help_text="when; now when left out")
    photo = serializers.SerializerMethodField(help_text="address of its photo; null when it has none")
    as_typed = AsTypedField(FINDING)
    work_item = serializers.SerializerMethodField(
        help_text="address of the work item that ranks causes anew, in the answer to a new finding; else null"
    )
    fixed = frozenset({"visit", "kind"})

    class Meta:
        model = Finding
        fields = ["id", "visit", "unit", "exchanger", "found_by", "found_at", "kind", "value", "brought",
                  "mode", "as_typed", *FINDING_COLUMNS, "note", "photo", "work_item", "retired_at",
                  *ALWAYS_READ]  # fmt: skip
        read_only_fields = ["found_by", *FINDING_COLUMNS]

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_photo(self, finding: Finding) -> str | None:
        return reverse("finding-photo", args=[finding.pk]) if finding.photo else None

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_work_item(self, finding: Finding) -> str | None:
        item = getattr(finding, "ranked_by", None)
        return reverse("work-item-detail", args=[item.pk]) if item else None


class PhotoSerializer(RoomSerializer):
    photo = serializers.FileField(help_text=EXPECTED)


class FindingFilters(RetirableFilters):
    site = django_filters.UUIDFilter("visit__site", help_text="id of the site")
    found_from = django_filters.IsoDateTimeFilter(
        "found_at", "gte", help_text="found at this moment or later"
    )
    found_until = django_filters.IsoDateTimeFilter(
        "found_at", "lte", help_text="found at this moment or earlier"
    )

    class Meta:
        model = Finding
        fields = {"visit": ["exact"], "unit": ["exact"], "exchanger": ["exact"], "kind": ["exact"]}


class JpegRenderer(BaseRenderer):
    media_type, format, charset, render_style = "image/jpeg", "jpg", None, "binary"

    def render(self, data: Any, *args: Any, **kwargs: Any) -> Any:
        return JSONRenderer().render(data)


class FindingViewSet(RecordViewSet):
    """What the crew found: strainer, back-flush, lockout shown, what could not be done, photos."""

    model = Finding
    serializer_class = FindingSerializer
    filterset_class = FindingFilters
    ordering_fields = ("found_at", "created_at")
    key_required = frozenset({"create", "partial_update", "retire", "bring_back", "add_photo"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "photo": EVERYONE,
        "create": CREW,
        "partial_update": CREW,
        "retire": CREW,
        "bring_back": CREW,
        "add_photo": CREW,
    }

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        length = int(request.META.get("CONTENT_LENGTH") or 0)
        if self.action == "add_photo" and length > LARGEST_BYTES + AROUND_A_FILE:
            raise Problem(status=413, detail=f"The photo is too large; expected {EXPECTED}.")

    def perform_create(self, serializer: Any) -> Finding:
        found = services.post_finding(self.person, serializer.validated_data)
        found.finding.ranked_by = found.work_item  # type: ignore[attr-defined]
        return found.finding

    def perform_update(self, serializer: Any) -> Finding:
        return services.change_finding(self.person, serializer.instance, serializer.validated_data)

    def retire_row(self, row: Finding, now: datetime) -> Finding:
        return services.retire_finding(self.person, row, now)

    def bring_back_row(self, row: Finding) -> Finding:
        return services.bring_back_finding(self.person, row)

    @extend_schema(
        responses={(200, "image/jpeg"): OpenApiResponse(bytes, description="the picture")}, request=None
    )
    @action(detail=True, methods=["get"], renderer_classes=[JSONRenderer, JpegRenderer])
    def photo(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """The photo, as a file to keep."""
        finding = self.get_object()
        if not finding.photo:
            raise NotFound("This finding has no photo.")
        picture = FileResponse(
            finding.photo.open("rb"), as_attachment=True, filename=f"finding-{finding.pk}.jpg",
            content_type="image/jpeg",
        )  # fmt: skip
        picture["Cache-Control"] = "private, max-age=3600"
        picture["Content-Security-Policy"] = "default-src 'none'; sandbox"
        picture["X-Content-Type-Options"] = "nosniff"
        return picture

    @extend_schema(request={"multipart/form-data": PhotoSerializer}, responses={201: FindingSerializer})
    @photo.mapping.post
    def add_photo(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a photo with the finding, as a multipart form with the part `photo`."""
        finding = self.get_object()
        sent = PhotoSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        services.add_photo(self.person, finding, sent.validated_data["photo"])
        location = reverse("finding-photo", args=[finding.pk])
        return self.answer(finding, status=201, headers={"Location": location})

    def get_parsers(self) -> list[Any]:
        posting_photo = (
            self.request is not None and getattr(self, "action_map", {}).get("post") == "add_photo"
        )
        return [MultiPartParser()] if posting_photo else super().get_parsers()
