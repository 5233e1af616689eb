"""A technician types the code on a machine's tag: that unit, its site's name and safety notes, no more."""

from __future__ import annotations

from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.permissions import EVERYONE
from contractor.http.serializers import RoomModelSerializer
from contractor.http.viewsets import Retrieving, RoomViewSet
from contractor.register import guessing
from contractor.register.api.base import person_of
from contractor.register.models import Exchanger, Site, Unit


class TagExchangerSerializer(RoomModelSerializer):
    class Meta:
        model = Exchanger
        fields = ["id", "name", "kind", "modes"]
        read_only_fields = fields
        extra_kwargs = {
            "id": {"help_text": "id of the exchanger"},
            "kind": {"help_text": "coaxial, brazed_plate, shell_and_tube or plate_and_frame"},
        }


class TagSiteSerializer(RoomModelSerializer):
    class Meta:
        model = Site
        fields = ["name", "safety_notes", "emergency_phone"]
        read_only_fields = fields
        extra_kwargs = {
            "name": {"help_text": "name of the site"},
            "safety_notes": {"help_text": "what may hurt someone there"},
            "emergency_phone": {"help_text": "whom to ring"},
        }


class TagSerializer(RoomModelSerializer):
    unit = serializers.UUIDField(source="id", read_only=True, help_text="id of the unit")
    exchangers = TagExchangerSerializer(many=True, read_only=True, help_text="its exchangers in use")
    site = TagSiteSerializer(read_only=True, help_text="where it stands")

    class Meta:
        model = Unit
        fields = ["unit", "tag", "place", "model", "serial", "kind", "refrigerant", "stages", "safety_notes",
                  "exchangers", "site", "retired_at"]  # fmt: skip
        read_only_fields = fields
        extra_kwargs = {name: {"help_text": name.replace("_", " ")} for name in fields}


class TagViewSet(Retrieving, RoomViewSet):
    """Only the exact code finds a unit; there is no list. Codes of units not seen otherwise are counted."""

    model = Unit
    serializer_class = TagSerializer
    lookup_field = "tag__iexact"
    lookup_url_kwarg = "code"
    lookup_value_converter = "path"
    related = ("site",)
    prefetch = (Prefetch("exchangers", Exchanger.objects.in_use()),)
    may = {"retrieve": EVERYONE}

    def scope(self) -> QuerySet[Any]:
        person = person_of(self.request)
        return Unit.objects.seen_by(person) if person.is_client else Unit.objects.all()

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        guessing.count_tag(person_of(request), kwargs["code"], timezone.now())
        answer: Response = super().retrieve(request, *args, **kwargs)
        answer["Cache-Control"] = "private, no-store"
        return answer
