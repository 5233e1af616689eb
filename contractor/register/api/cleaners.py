from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.http.permissions import CREW, OFFICE
from contractor.register import services, sheets
from contractor.register.api.base import (
    ALWAYS_READ,
    AsTypedField,
    RecordSerializer,
    RecordViewSet,
    RetirableFilters,
)
from contractor.register.api.papers import (
    PAPER_ANSWERS,
    PAPER_RENDERERS,
    PAPER_SENT,
    TakesPapers,
    as_file,
    sent_file,
)
from contractor.register.models import RIG_PARTS, Cleaner, CleanerLot, Rig
from contractor.register.quantities import CLEANER, CLEANER_LOT, RIG
from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.metals import MATERIALS
from diagnostics.engine.descaling.neutralising import AGENTS


def one_of(words: Iterable[str]) -> dict[str, str]:
    return {"type": "string", "description": f"one of {', '.join(words)}"}


CREW_READS = {**RecordViewSet.may, "list": CREW, "retrieve": CREW}
ACIDS_SCHEMA = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["acid", "share"],
        "properties": {
            "acid": one_of(ACIDS),
            "share": {"type": "number", "description": "of the acids together, by mass; they make 1"},
            "pka": {"type": "array", "items": {"type": "number"}, "description": "as the sheet gives them"},
        },
    },
}
MATERIAL_LIST = {"type": "array", "items": one_of(MATERIALS)}
CURVE_SCHEMA = {
    "type": "array",
    "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
}
LINES = {"type": "array", "items": {"type": "string"}}


def json_field(schema: Any, words: str) -> Any:
    kind = extend_schema_field(schema)(type("DescribedField", (serializers.JSONField,), {}))
    return kind(required=False, help_text=words)


def parts_schema(parts: tuple[str, ...]) -> Any:
    return {"type": "object", "properties": {part: one_of([*MATERIALS, "not_fitted"]) for part in parts}}


class CleanerSerializer(RecordSerializer):
    as_typed = AsTypedField(CLEANER)
    acids = json_field(ACIDS_SCHEMA, "active acids with their shares")
    metals_allowed = json_field(MATERIAL_LIST, "metals and seals that the sheet allows")
    metals_only_inhibited = json_field(MATERIAL_LIST, "allowed only with the inhibitor, within the label")
    metals_forbidden = json_field(
        MATERIAL_LIST, "forbidden; what the sheet does not list counts as forbidden"
    )
    protection = json_field(LINES, "protective equipment, a line each")
    neutralisers = json_field({"type": "array", "items": one_of(AGENTS)}, "those that the sheet names")
    sources = json_field(
        {"type": "object", "additionalProperties": {"type": "string"}}, "who says each property, by its name"
    )
    label: Any = serializers.SerializerMethodField(
        help_text="address of the label; null where none is on file"
    )
    safety_sheet = serializers.SerializerMethodField(
        help_text="address of the safety data sheet; null where none is on file"
    )
    missing = serializers.SerializerMethodField(
        help_text="compulsory fields that the sheet lacks; with any, nobody plans with it"
    )
    missing_papers = serializers.SerializerMethodField(
        help_text="label and safety data sheet, and their dates, not on file yet"
    )

    class Meta:
        model = Cleaner
        fields = [
            "id", "name", "acids", "form", "product_strength", "product_density_kg_per_m3", "strength_low",
            "strength_usual", "strength_high", "renew_below_share", "renewal_ph", "strength_per_drop",
            "inhibited", "inhibitor", "highest_temperature_k", "longest_time_s", "metals_allowed",
            "metals_only_inhibited", "metals_forbidden", "fresh_colour", "dye", "copper_limit_mg_per_l",
            "iron_limit_mg_per_l", "protection", "first_aid", "emergency_phone", "neutralisers",
            "neutralise_surface", "disposal", "storage", "label", "label_on", "safety_sheet",
            "safety_sheet_on", "sources", "missing", "missing_papers", "notes", "as_typed", "retired_at",
            *ALWAYS_READ,
        ]  # fmt: skip

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_label(self, cleaner: Cleaner) -> str | None:
        return reverse("cleaner-label", args=[cleaner.pk]) if cleaner.label else None

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_safety_sheet(self, cleaner: Cleaner) -> str | None:
        return reverse("cleaner-safety-sheet", args=[cleaner.pk]) if cleaner.safety_sheet else None

    @extend_schema_field(LINES)
    def get_missing(self, cleaner: Cleaner) -> list[str]:
        return list(sheets.missing_fields(cleaner))

    @extend_schema_field(LINES)
    def get_missing_papers(self, cleaner: Cleaner) -> list[str]:
        return list(sheets.missing_papers(cleaner))


class CleanerFilters(RetirableFilters):
    class Meta:
        model = Cleaner
        fields = {"name": ["exact", "icontains"], "form": ["exact"], "inhibited": ["exact"]}


class CleanerViewSet(TakesPapers, RecordViewSet):
    """Cleaners: label and safety data sheet as data and as files. No brand is shipped."""

    model = Cleaner
    serializer_class = CleanerSerializer
    filterset_class = CleanerFilters
    ordering_fields = ("name", "created_at")
    may = {**CREW_READS, "label": CREW, "safety_sheet": CREW, "put_label": OFFICE, "put_safety_sheet": OFFICE}

    def perform_create(self, serializer: Any) -> Cleaner:
        return services.add_cleaner(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Cleaner:
        return services.change_cleaner(serializer.instance, serializer.validated_data)

    def retire_row(self, row: Cleaner, now: datetime) -> Cleaner:
        return services.retire_cleaner(row, now)

    def bring_back_row(self, row: Cleaner) -> Cleaner:
        return services.bring_back_cleaner(row)

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], renderer_classes=PAPER_RENDERERS)
    def label(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """The label, as a file to keep."""
        return as_file(self.get_object().label, "label")

    @extend_schema(request=PAPER_SENT, responses={201: CleanerSerializer})
    @label.mapping.post
    def put_label(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep the label, as a multipart form with the part `file`; it takes the place of an older one."""
        return self._keep(request, "label")

    @extend_schema(responses=PAPER_ANSWERS, request=None)
    @action(detail=True, methods=["get"], url_path="safety-sheet",
            renderer_classes=PAPER_RENDERERS)  # fmt: skip
    def safety_sheet(self, request: Request, *args: Any, **kwargs: Any) -> FileResponse:
        """The safety data sheet, as a file to keep."""
        return as_file(self.get_object().safety_sheet, "safety-sheet")

    @extend_schema(request=PAPER_SENT, responses={201: CleanerSerializer})
    @safety_sheet.mapping.post
    def put_safety_sheet(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep the safety data sheet, as a multipart form with the part `file`."""
        return self._keep(request, "safety_sheet")

    def _keep(self, request: Request, paper: services.Paper) -> Response:
        cleaner = self.get_object()
        services.keep_paper(cleaner, paper, sent_file(request))
        location = reverse(f"cleaner-{paper.replace('_', '-')}", args=[cleaner.pk])
        return self.answer(cleaner, status=201, headers={"Location": location})


class CleanerLotSerializer(RecordSerializer):
    as_typed = AsTypedField(CLEANER_LOT)
    fixed = frozenset({"cleaner"})

    class Meta:
        model = CleanerLot
        fields = ["id", "cleaner", "lot", "received_on", "expires_on", "quantity_kg", "place", "as_typed",
                  "retired_at", *ALWAYS_READ]  # fmt: skip


class CleanerLotFilters(RetirableFilters):
    expires_until = django_filters.DateFilter("expires_on", "lte", help_text="expires on this day or before")
    usable_on = django_filters.DateFilter(
        method="by_usable", help_text="usable on this day: not expired, and something left"
    )

    class Meta:
        model = CleanerLot
        fields = {"cleaner": ["exact"], "lot": ["exact"]}

    def by_usable(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        usable: QuerySet[Any] = rows & CleanerLot.objects.usable_on(value)
        return usable


class CleanerLotViewSet(RecordViewSet):
    """What of each cleaner is in stock, by lot."""

    model = CleanerLot
    serializer_class = CleanerLotSerializer
    filterset_class = CleanerLotFilters
    ordering_fields = ("lot", "created_at")
    may = CREW_READS

    def perform_create(self, serializer: Any) -> CleanerLot:
        return services.add_cleaner_lot(serializer.validated_data)

    def perform_update(self, serializer: Any) -> CleanerLot:
        return services.change_cleaner_lot(serializer.instance, serializer.validated_data)

    def retire_row(self, row: CleanerLot, now: datetime) -> CleanerLot:
        return services.retire_cleaner_lot(row, now)

    def bring_back_row(self, row: CleanerLot) -> CleanerLot:
        return services.bring_back_cleaner_lot(row)


class RigSerializer(RecordSerializer):
    as_typed = AsTypedField(RIG)
    pump_curve = json_field(CURVE_SCHEMA, "[[flow in m3/s, head in m], ...], flow rising, head not rising")
    wetted_materials = json_field(parts_schema(RIG_PARTS), "material by part; left out where not known")

    class Meta:
        model = Rig
        fields = ["id", "name", "tank_volume_m3", "spare_tank_volume_m3", "pump_power_w", "pump_curve",
                  "hose_length_m", "hose_bore_m", "sound_level_db", "return_filter", "wetted_materials",
                  "notes", "as_typed", "retired_at", *ALWAYS_READ]  # fmt: skip


class RigFilters(RetirableFilters):
    class Meta:
        model = Rig
        fields = {"name": ["exact", "icontains"]}


class RigViewSet(RecordViewSet):
    """Tank, pump and hoses that circulate a bath."""

    model = Rig
    serializer_class = RigSerializer
    filterset_class = RigFilters
    ordering_fields = ("name", "created_at")
    may = CREW_READS

    def perform_create(self, serializer: Any) -> Rig:
        return services.add_rig(serializer.validated_data)

    def perform_update(self, serializer: Any) -> Rig:
        return services.change_rig(serializer.instance, serializer.validated_data)

    def retire_row(self, row: Rig, now: datetime) -> Rig:
        return services.retire_rig(row, now)

    def bring_back_row(self, row: Rig) -> Rig:
        return services.bring_back_rig(row)
