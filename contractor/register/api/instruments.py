from __future__ import annotations

from datetime import datetime
from typing import Any

import django_filters

from contractor.accounts.models import Person
from contractor.http.permissions import CREW
from contractor.register import services
from contractor.register.api.base import (
    ALWAYS_READ,
    CrewField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
)
from contractor.register.models import GaugeSet, Instrument

CREW_READS = {**RecordViewSet.may, "list": CREW, "retrieve": CREW}


class GaugeSetSerializer(RecordSerializer):
    holder = CrewField(
        queryset=Person.objects.all(), required=False, allow_null=True, help_text="id of who carries it"
    )

    class Meta:
        model = GaugeSet
        fields = ["id", "name", "holder", "retired_at", *ALWAYS_READ]


class GaugeSetFilters(RetirableFilters):
    class Meta:
        model = GaugeSet
        fields = {"name": ["exact", "icontains"], "holder": ["exact"]}


class GaugeSetViewSet(RecordViewSet):
    """Gauges and thermometers that a technician carries."""

    model = GaugeSet
    serializer_class = GaugeSetSerializer
    filterset_class = GaugeSetFilters
    ordering_fields = ("name", "created_at")
    may = CREW_READS

    def perform_create(self, serializer: Any) -> GaugeSet:
        return services.add_gauge_set(serializer.validated_data)

    def perform_update(self, serializer: Any) -> GaugeSet:
        return services.change_gauge_set(serializer.instance, serializer.validated_data)

    def retire_row(self, row: GaugeSet, now: datetime) -> GaugeSet:
        return services.retire_gauge_set(row, now)

    def bring_back_row(self, row: GaugeSet) -> GaugeSet:
        return services.bring_back_gauge_set(row)


class InstrumentSerializer(RecordSerializer):
    fixed = frozenset({"gauge_set"})

    class Meta:
        model = Instrument
        fields = ["id", "gauge_set", "reading", "repeating", "random", "relative", "serial", "calibrated_on",
                  "calibration_due_on", "retired_at", *ALWAYS_READ]  # fmt: skip


class InstrumentFilters(RetirableFilters):
    due_until = django_filters.DateFilter(
        "calibration_due_on", "lte", help_text="calibration due on this day or before"
    )

    class Meta:
        model = Instrument
        fields = {"gauge_set": ["exact"], "reading": ["exact"]}


class InstrumentViewSet(RecordViewSet):
    model = Instrument
    serializer_class = InstrumentSerializer
    filterset_class = InstrumentFilters
    ordering_fields = ("reading", "calibration_due_on", "created_at")
    may = CREW_READS

    def perform_create(self, serializer: Any) -> Instrument:
        return services.add_instrument(serializer.validated_data, self.person)

    def perform_update(self, serializer: Any) -> Instrument:
        return services.change_instrument(serializer.instance, serializer.validated_data, self.person)

    def retire_row(self, row: Instrument, now: datetime) -> Instrument:
        return services.retire_instrument(row, now, self.person)

    def bring_back_row(self, row: Instrument) -> Instrument:
        return services.bring_back_instrument(row, self.person)
