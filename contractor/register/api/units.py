from __future__ import annotations

from datetime import datetime
from typing import Any

import django_filters
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.permissions import EVERYONE, OFFICE
from contractor.http.viewsets import FullRoomViewSet
from contractor.register import services
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
    person_of,
)
from contractor.register.models import Exchanger, Unit, UnitEvent
from contractor.register.quantities import EXCHANGER, UNIT


class UnitSerializer(RecordSerializer):
    as_typed = AsTypedField(UNIT)
    hidden_from_clients = frozenset({"notes"})

    class Meta:
        model = Unit
        fields = [
            "id", "site", "tag", "place", "model", "serial", "kind", "refrigerant", "capacity_w", "stages",
            "expansion", "receiver", "head_pressure_valve", "hot_gas_reheat", "desuperheater_coil",
            "vapour_injection", "fan_power_w", "high_head_cutout_pa_gauge", "low_suction_cutout_pa_gauge",
            "freeze_cutout_k", "low_side_rating_pa_gauge", "relief_setting_pa_gauge", "loop",
            "room_volume_m3", "operating_table", "safety_notes", "notes", "as_typed", "retired_at",
            *ALWAYS_READ,
        ]  # fmt: skip


class UnitFilters(RetirableFilters):
    customer = django_filters.UUIDFilter("site__customer", help_text="id of the customer")

    class Meta:
        model = Unit
        fields = {
            "site": ["exact"],
            "tag": ["iexact", "icontains"],
            "kind": ["exact"],
            "refrigerant": ["exact"],
            "model": ["icontains"],
            "loop": ["exact"],
            "operating_table": ["exact"],
        }


class UnitViewSet(RecordViewSet):
    model = Unit
    serializer_class = UnitSerializer
    filterset_class = UnitFilters
    ordering_fields = ("tag", "place", "model", "created_at")

    def perform_create(self, serializer: Any) -> Unit:
        return services.add_unit(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Unit:
        return services.change_unit(serializer.instance, serializer.validated_data, self.person)

    def retire_row(self, row: Unit, now: datetime) -> Unit:
        return services.retire_unit(row, now)

    def bring_back_row(self, row: Unit) -> Unit:
        return services.bring_back_unit(row)


class ExchangerSerializer(RecordSerializer):
    as_typed = AsTypedField(EXCHANGER)
    fixed = frozenset({"unit"})
    hidden_from_clients = frozenset({"notes"})

    class Meta:
        model = Exchanger
        fields = [
            "id", "unit", "name", "kind", "modes", "metal", "area_m2", "bore_m", "length_m", "count",
            "flow_in_heating", "design_flow_m3_per_s", "design_pressure_drop_pa", "pressure_drop_exponent",
            "water_content_m3", "water_rating_pa_gauge", "fouling_limit_m2k_per_w", "rating_includes_fouling",
            "isolation_valves", "hose_connections", "wetted_materials", "heats_drinking_water",
            "strainer_on_inlet", "balancing_valve_position", "balancing_valve_kv_m3_per_h",
            "between_ports", "port_rise_m", "notes", "as_typed", "retired_at", *ALWAYS_READ,
        ]  # fmt: skip


class ExchangerFilters(RetirableFilters):
    site = django_filters.UUIDFilter("unit__site", help_text="id of the site")
    customer = django_filters.UUIDFilter("unit__site__customer", help_text="id of the customer")

    class Meta:
        model = Exchanger
        fields = {"unit": ["exact"], "kind": ["exact"], "metal": ["exact"]}


class ExchangerViewSet(RecordViewSet):
    model = Exchanger
    serializer_class = ExchangerSerializer
    filterset_class = ExchangerFilters
    ordering_fields = ("unit__tag", "name", "created_at")

    def perform_create(self, serializer: Any) -> Exchanger:
        return services.add_exchanger(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Exchanger:
        return services.change_exchanger(serializer.instance, serializer.validated_data, self.person)

    def retire_row(self, row: Exchanger, now: datetime) -> Exchanger:
        return services.retire_exchanger(row, now)

    def bring_back_row(self, row: Exchanger) -> Exchanger:
        return services.bring_back_exchanger(row)


class UnitEventSerializer(RecordSerializer):
    fixed = frozenset({"unit"})
    hidden_from_clients = frozenset({"note"})

    class Meta:
        model = UnitEvent
        fields = ["id", "unit", "at", "what", "note", "taken_back_at", *ALWAYS_READ]


class UnitEventFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    site = django_filters.UUIDFilter("unit__site", help_text="id of the site")
    taken_back = django_filters.ChoiceFilter(
        choices=[("no", "standing"), ("yes", "taken back"), ("all", "both")],
        method="by_taken_back",
        help_text="no: those that stand (as when left out); yes: those taken back; all: both",
    )

    class Meta:
        model = UnitEvent
        fields = {"unit": ["exact"], "what": ["exact"]}

    def by_taken_back(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows if value == "all" else rows.filter(taken_back_at__isnull=value != "yes")

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows: QuerySet[Any] = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("taken_back") else rows.filter(taken_back_at__isnull=True)


class UnitEventViewSet(FullRoomViewSet):
    """Charge, compressor, expansion device or exchanger changed; voids the clean references taken before."""

    model = UnitEvent
    serializer_class = UnitEventSerializer
    filterset_class = UnitEventFilters
    ordering_fields = ("at", "created_at")
    if_match_actions = frozenset({"update", "partial_update", "take_back"})
    takes_nothing = frozenset({"take_back"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "create": OFFICE,
        "partial_update": OFFICE,
        "take_back": OFFICE,
    }

    def perform_create(self, serializer: Any) -> UnitEvent:
        return services.add_unit_event(serializer.validated_data, person_of(self.request))

    def perform_update(self, serializer: Any) -> UnitEvent:
        return services.change_unit_event(
            serializer.instance, serializer.validated_data, person_of(self.request)
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Entered by mistake: it stays on record, without effect. Needs If-Match."""
        return self.answer(
            services.take_back_unit_event(self.get_object(), timezone.now(), person_of(request))
        )
