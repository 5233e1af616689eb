"""What an exchanger's instruments and clean reference can tell, over the API."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.permissions import CREW
from contractor.http.serializers import RoomSerializer
from contractor.http.viewsets import RoomViewSet
from contractor.register.api.base import SeenField
from contractor.register.models import Exchanger, GaugeSet
from diagnostics.api import LimitSerializer, ReferenceSerializer
from diagnostics.batch.results import plain
from diagnostics.detecting import services
from diagnostics.engine.records import MODES
from diagnostics.engine.smallest_call import ENTRIES, WORDS


class DetectabilityQuerySerializer(RoomSerializer):
    gauge_set = SeenField(
        queryset=GaugeSet.objects.all(),
        required=False,
        help_text="id of the gauge set to read with; without it usual instruments",
    )
    mode = serializers.ChoiceField(
        [(one, one) for one in MODES], required=False, help_text="cooling or heating; without it both"
    )


class DetectabilitySerializer(serializers.Serializer[Any]):
    unit = serializers.CharField(help_text="the unit's tag")
    mode = serializers.CharField(help_text="cooling or heating")
    limit = LimitSerializer(allow_null=True, help_text="the fouling limit used")
    smallest = serializers.DictField(
        child=serializers.FloatField(),
        help_text="smallest fouling called with 90 % confidence, in the limit's unit, as it is and with one "
        f"thing better: {', '.join(WORDS)}; empty where these readings can't be judged",
    )
    reference = ReferenceSerializer(many=True, help_text="what the clean unit is known from")
    enter_next = serializers.ChoiceField(
        [(one, one) for one in ENTRIES],
        allow_null=True,
        help_text="what to enter next; null if hardly any helps",
    )
    rests_on = serializers.CharField(help_text="a reading, or the unit's own model where none was read yet")
    sentence = serializers.CharField(help_text="all of it in one sentence")
    why_not = serializers.CharField(help_text="why nothing can be told; empty where it can")


class ExchangerDetectabilityViewSet(RoomViewSet):
    """The smallest fouling that would be called on one exchanger."""

    model = Exchanger
    serializer_class = DetectabilitySerializer
    related = ("unit__site", "unit__operating_table")
    may = {"retrieve": CREW}

    @extend_schema(
        operation_id="exchangers_detectability_retrieve",
        parameters=[DetectabilityQuerySerializer],
        responses=DetectabilitySerializer(many=True),
    )
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """What would be called fouled with 90 % confidence, mode by mode, and what would bring it lower."""
        exchanger = self.get_object()
        asked = DetectabilityQuerySerializer(
            data=request.query_params.dict(), context=self.get_serializer_context()
        )
        asked.is_valid(raise_exception=True)
        found = services.of_exchanger(exchanger, timezone.now(), **asked.validated_data)
        return Response([plain(one) for one in found])
