from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db.models import Prefetch
from rest_framework import serializers

from contractor.register import services
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
)
from contractor.register.models import OperatingTable, OperatingTableRow
from contractor.register.quantities import TABLE_ROW

COLUMNS = ["mode", "stage", *(quantity.column for quantity in TABLE_ROW), "as_typed"]


class PrintedRowSerializer(RecordSerializer):
    """A row inside its table."""

    as_typed = AsTypedField(TABLE_ROW)

    class Meta:
        model = OperatingTableRow
        fields = ["id", *COLUMNS]
        read_only_fields = ["id"]


class OperatingTableRowSerializer(RecordSerializer):
    as_typed = AsTypedField(TABLE_ROW)
    fixed = frozenset({"table"})

    class Meta:
        model = OperatingTableRow
        fields = ["id", "table", *COLUMNS, "retired_at", *ALWAYS_READ]


class OperatingTableSerializer(RecordSerializer):
    rows = PrintedRowSerializer(
        many=True,
        required=False,
        help_text="the printed rows in use; given with the table when it is new, then changed one by one",
    )
    fixed = frozenset({"rows"})
    hidden_from_clients = frozenset({"notes"})

    class Meta:
        model = OperatingTable
        fields = ["id", "name", "rating_includes_fouling", "notes", "rows", "retired_at", *ALWAYS_READ]

    def validate_rows(self, value: Sequence[Any]) -> Sequence[Any]:
        if len(value) > 500:
            raise serializers.ValidationError("Expected at most 500 rows at once.")
        return value


class OperatingTableFilters(RetirableFilters):
    class Meta:
        model = OperatingTable
        fields = {"name": ["exact", "icontains"]}


class OperatingTableViewSet(RecordViewSet):
    """The maker's printed operating data of a model, typed once and used by every unit of the model."""

    model = OperatingTable
    serializer_class = OperatingTableSerializer
    filterset_class = OperatingTableFilters
    ordering_fields = ("name", "created_at")
    prefetch = (Prefetch("rows", OperatingTableRow.objects.in_use()),)

    def perform_create(self, serializer: Any) -> OperatingTable:
        fields = dict(serializer.validated_data)
        return self.fresh(services.add_operating_table(fields, fields.pop("rows", ())))

    def perform_update(self, serializer: Any) -> OperatingTable:
        fields = {name: value for name, value in serializer.validated_data.items() if name != "rows"}
        return services.change_operating_table(serializer.instance, fields, self.person)

    def retire_row(self, row: OperatingTable, now: datetime) -> OperatingTable:
        return services.retire_operating_table(row, now, self.person)

    def bring_back_row(self, row: OperatingTable) -> OperatingTable:
        return services.bring_back_operating_table(row, self.person)

    def fresh(self, table: OperatingTable) -> OperatingTable:
        return OperatingTable.objects.prefetch_related(*self.prefetch).get(pk=table.pk)


class OperatingTableRowFilters(RetirableFilters):
    class Meta:
        model = OperatingTableRow
        fields = {"table": ["exact"], "mode": ["exact"], "stage": ["exact"]}


class OperatingTableRowViewSet(RecordViewSet):
    model = OperatingTableRow
    serializer_class = OperatingTableRowSerializer
    filterset_class = OperatingTableRowFilters
    ordering_fields = ("entering_water_k", "water_flow_m3_per_s", "created_at")

    def perform_create(self, serializer: Any) -> OperatingTableRow:
        return services.add_table_row(serializer.validated_data, self.person)

    def perform_update(self, serializer: Any) -> OperatingTableRow:
        return services.change_table_row(serializer.instance, serializer.validated_data, self.person)

    def retire_row(self, row: OperatingTableRow, now: datetime) -> OperatingTableRow:
        return services.retire_table_row(row, now, self.person)

    def bring_back_row(self, row: OperatingTableRow) -> OperatingTableRow:
        return services.bring_back_table_row(row, self.person)
