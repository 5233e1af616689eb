"""What a phone tells, record by record: SI by column, `as_typed` as on the gauge, and the answer to it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from contractor.descales.api.answers import AcceptanceField, SayingSerializer, WordsField
from contractor.descales.models import (
    Batch,
    Check,
    Discharge,
    EndStep,
    HeldWaste,
    Look,
    NeutralisingPortion,
    Portion,
    SignOff,
)
from contractor.descales.quantities import (
    BATCH,
    CHECK,
    DISCHARGE,
    END_STEP,
    HELD_WASTE,
    LOOK,
    NEUTRALISING,
    PORTION,
    columns_of,
)
from contractor.http.serializers import RoomSerializer
from contractor.register.api.base import AsTypedField, MomentField, RecordSerializer

ALWAYS = ["id", "at", "note", "by", "received_at", "marks"]
READ = ["by", "received_at"]


class HappeningSerializer(RecordSerializer):
    id = serializers.UUIDField(
        required=False, help_text="made on the phone; sent again it is the same record"
    )
    at = MomentField(help_text="when, by the phone's clock")
    marks = WordsField(read_only=True, help_text="what stood against it when it was recorded")


class CheckSerializer(HappeningSerializer):
    as_typed = AsTypedField(CHECK)

    class Meta:
        model = Check
        fields = [*ALWAYS, "kind", "outcome", "told", "strip_mg_per_l", "gas_share", "vent_at_both_tops",
                  "emergency_phone", "as_typed", *columns_of(CHECK)]  # fmt: skip
        read_only_fields = [*READ, *columns_of(CHECK)]


class BatchSerializer(HappeningSerializer):
    as_typed = AsTypedField(BATCH)

    class Meta:
        model = Batch
        fields = [
            *ALWAYS,
            "cleaner",
            "lot",
            "moved_from",
            "strength",
            "out_by",
            "out_at",
            "as_typed",
            *columns_of(BATCH),
        ]
        read_only_fields = [*READ, "strength", "out_by", "out_at", *columns_of(BATCH)]


class PortionSerializer(HappeningSerializer):
    as_typed = AsTypedField(PORTION)

    class Meta:
        model = Portion
        fields = [*ALWAYS, "as_typed", *columns_of(PORTION)]
        read_only_fields = [*READ, *columns_of(PORTION)]


class LookSerializer(HappeningSerializer):
    as_typed = AsTypedField(LOOK)
    photo = serializers.UUIDField(
        source="photo_id", required=False, allow_null=True,
        help_text="id of the finding that carries its photo; one that is not there is marked, the look kept",
    )  # fmt: skip

    class Meta:
        model = Look
        fields = [*ALWAYS, "ph", "drops", "strength", "copper_mg_per_l", "iron_mg_per_l", "colour",
                  "bubbles", "solids", "oil", "leak", "fumes", "gas_alarm", "reversed_now", "photo",
                  "as_typed", *columns_of(LOOK)]  # fmt: skip
        read_only_fields = [*READ, "strength", *columns_of(LOOK)]


class EndStepSerializer(HappeningSerializer):
    as_typed = AsTypedField(END_STEP)

    class Meta:
        model = EndStep
        fields = [*ALWAYS, "kind", "outcome", "told", "ph", "supply_ph", "antifreeze_fraction",
                  "strainer_state", "as_typed", *columns_of(END_STEP)]  # fmt: skip
        read_only_fields = [*READ, *columns_of(END_STEP)]


class HeldWasteSerializer(HappeningSerializer):
    as_typed = AsTypedField(HELD_WASTE)

    class Meta:
        model = HeldWaste
        fields = [*ALWAYS, "water", "batch", "where", "whose", "ph", "as_typed", *columns_of(HELD_WASTE)]
        read_only_fields = [*READ, *columns_of(HELD_WASTE)]


class NeutralisingSerializer(HappeningSerializer):
    as_typed = AsTypedField(NEUTRALISING)

    class Meta:
        model = NeutralisingPortion
        fields = [*ALWAYS, "batch", "held", "agent", "ph_after", "as_typed", *columns_of(NEUTRALISING)]
        read_only_fields = [*READ, *columns_of(NEUTRALISING)]


class DischargeSerializer(HappeningSerializer):
    as_typed = AsTypedField(DISCHARGE)
    exceedances = WordsField(read_only=True, help_text="what stood against it, in words")
    acceptance = AcceptanceField()

    class Meta:
        model = Discharge
        fields = [*ALWAYS, "water", "batch", "held", "route", "permit_reference", "ph", "copper_mg_per_l",
                  "iron_mg_per_l", "zinc_mg_per_l", "solids_mg_per_l", "acid_document", "acceptance",
                  "acceptance_until", "acceptance_read_by",
                  "neutraliser", "exceedances", "as_typed",
                  *columns_of(DISCHARGE)]  # fmt: skip
        read_only_fields = [*READ, "acceptance_read_by", *columns_of(DISCHARGE)]


STROKES = {
    "type": "array",
    "items": {"type": "array", "items": {"type": "array", "items": {"type": "number"}}},
    "description": "strokes of points [x, y], shares of width and height from 0 to 1",
}


class SignOffSerializer(HappeningSerializer):
    class Meta:
        model = SignOff
        fields = [*ALWAYS, "signs_as", "name", "strokes", "typed"]
        read_only_fields = READ


def answer_to(record: type[HappeningSerializer]) -> type[RoomSerializer]:
    """The answer to a record: the record as kept, the descale's state, and what to do now."""
    name = record.__name__.removesuffix("Serializer")
    fields: dict[str, Any] = {
        "record": record(help_text="as kept"),
        "state": serializers.CharField(help_text="where the descale stands now"),
        "do_now": SayingSerializer(many=True, help_text="what to do now, the most urgent first"),
        "descale": serializers.UUIDField(help_text="id of the descale"),
    }
    return type(f"{name}KeptSerializer", (RoomSerializer,), fields)
