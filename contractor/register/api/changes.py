"""The trail over the API: who changed what and when."""

from __future__ import annotations

from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from contractor.http.permissions import OFFICE
from contractor.http.serializers import RoomModelSerializer
from contractor.http.viewsets import ReadOnlyRoomViewSet
from contractor.register.api.base import person_of
from contractor.trail.models import Change


@extend_schema_field(
    {"type": "object", "additionalProperties": {"type": "array", "minItems": 2, "maxItems": 2, "items": {}}}
)
class FieldsField(serializers.JSONField):
    pass


class ChangeSerializer(RoomModelSerializer):
    person = serializers.UUIDField(
        source="person_id", read_only=True, allow_null=True, help_text="id of who wrote; null for a program"
    )
    row = serializers.CharField(source="row_id", read_only=True, help_text="id of the row that was written")
    fields_changed = FieldsField(source="fields", read_only=True, help_text="column: [before, after]")

    class Meta:
        model = Change
        fields = ["id", "at", "person", "by", "action", "table", "row", "fields_changed"]
        read_only_fields = fields
        extra_kwargs = {
            "id": {"help_text": "number of the change"},
            "at": {"help_text": "when it was written, UTC"},
            "action": {"help_text": "created, changed or deleted"},
            "table": {"help_text": "what kind of row, such as register.site"},
        }


class ChangeFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    row = django_filters.CharFilter("row_id", help_text="id of the row")
    at_from = django_filters.IsoDateTimeFilter("at", "gte", help_text="written at this moment or later")
    at_until = django_filters.IsoDateTimeFilter("at", "lte", help_text="written at this moment or earlier")

    class Meta:
        model = Change
        fields = {"table": ["exact"], "person": ["exact"], "action": ["exact"]}


class ChangeViewSet(ReadOnlyRoomViewSet):
    """Who changed what and when; for the office and the owner. Latest first."""

    model = Change
    serializer_class = ChangeSerializer
    filterset_class = ChangeFilters
    ordering_fields = ("at", "id")
    lookup_value_converter = "int"
    may = {"list": OFFICE, "retrieve": OFFICE}

    def scope(self) -> QuerySet[Any]:
        return Change.objects.all() if person_of(self.request).is_office else Change.objects.none()
