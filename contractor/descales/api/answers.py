"""Descales, plans and what services say, as they are shown."""

from __future__ import annotations

import dataclasses
from typing import Any

from django.urls import reverse
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from contractor.descales.models import (
    Consent,
    Descale,
    DescalePlan,
    Discharge,
    HeldWaste,
    Notice,
    Price,
    Verification,
)
from contractor.descales.quantities import DISCHARGE, HELD_WASTE, columns_of
from contractor.descales.services import notice_lacks
from contractor.http.serializers import RoomSerializer
from contractor.register.api.base import ALWAYS_READ, MomentField, RecordSerializer

ANYTHING = {"type": "object", "additionalProperties": True}
WORDS = {"type": "array", "items": {"type": "string"}}


@extend_schema_field(ANYTHING)
class ObjectField(serializers.JSONField):
    pass


@extend_schema_field(WORDS)
class WordsField(serializers.JSONField):
    pass


class SayingSerializer(RoomSerializer):
    code = serializers.CharField(help_text="short name, for programs")
    words = serializers.CharField(help_text="what to do or what is so, in words")
    urgent = serializers.BooleanField(help_text="at once, before all else")


class DescaleSerializer(RecordSerializer):
    id = serializers.UUIDField(required=False, help_text="made on the phone, or left out")
    tag = serializers.CharField(source="exchanger.unit.tag", read_only=True, help_text="the unit's tag")
    site = serializers.UUIDField(source="exchanger.unit.site_id", read_only=True, help_text="id of the site")
    fixed = frozenset({"exchanger", "because"})

    class Meta:
        model = Descale
        fields = ["id", "exchanger", "tag", "site", "state", "visit", "assessment", "because",
                  "recommended_by", "instead_of", "strainer_inside_valves", "vent_at_both_tops",
                  "could_not_because", "ended_because", "ended_at", "end_called_at",
                  *ALWAYS_READ]  # fmt: skip
        read_only_fields = ["state", "assessment", "recommended_by", "instead_of", "could_not_because",
                            "ended_because", "ended_at", "end_called_at"]  # fmt: skip


class PriceSerializer(RecordSerializer):
    class Meta:
        model = Price
        fields = ["id", "by", "at", "amount", "currency", "words"]
        read_only_fields = ["id", "by", "at"]


class ConsentSerializer(RecordSerializer):
    said_at = MomentField(help_text="when the customer said yes")
    marks = WordsField(read_only=True, help_text="what stood against it when it was recorded")

    class Meta:
        model = Consent
        fields = ["id", "by", "said_by", "said_at", "order_number", "quiet_hours_too", "marks", "created_at"]
        read_only_fields = ["id", "by", "created_at"]


class NoticeSerializer(RecordSerializer):
    tag = serializers.CharField(
        source="descale.exchanger.unit.tag", read_only=True, help_text="the unit's tag"
    )
    work_starts_at = MomentField(help_text="when the work starts")
    label: Any = serializers.SerializerMethodField(
        help_text="address of the chemical's label; null: not on file"
    )
    safety_sheet = serializers.SerializerMethodField(
        help_text="address of the chemical's safety data sheet; null: not on file"
    )

    class Meta:
        model = Notice
        fields = ["id", "descale", "tag", "at", "work_starts_at", "hours_without_cooling", "chemical",
                  "noise", "others_affected", "sent_to", "emailed_at", "label",
                  "safety_sheet"]  # fmt: skip
        read_only_fields = ["id", "descale", "at", "emailed_at"]

    def get_label(self, notice: Notice) -> str | None:
        return self._paper(notice, "label")

    def get_safety_sheet(self, notice: Notice) -> str | None:
        return self._paper(notice, "safety_sheet")

    def _paper(self, notice: Notice, name: str) -> str | None:
        kept = getattr(notice.cleaner, name, None)
        return reverse(f"descale-notice-{name.replace('_', '-')}", args=[notice.pk]) if kept else None


class NoticeGivenSerializer(NoticeSerializer):
    lacks = serializers.SerializerMethodField(help_text="what the visit still lacks for it, in words")

    class Meta(NoticeSerializer.Meta):
        fields = [*NoticeSerializer.Meta.fields, "lacks"]

    @extend_schema_field(WORDS)
    def get_lacks(self, notice: Notice) -> list[str]:
        return list(notice_lacks(notice))


class PlanSerializer(RecordSerializer):
    cleaner_name = serializers.CharField(source="cleaner.name", read_only=True, help_text="the cleaner")
    asked = ObjectField(read_only=True, help_text="what was asked besides cleaner and rig, SI")
    sheet = ObjectField(read_only=True, help_text="the cleaner's sheet as it was, SI")
    result = ObjectField(read_only=True, help_text="everything that was worked out, SI, units in the names")
    refusals = serializers.JSONField(read_only=True, help_text="what stands against it: code and words")
    stands = serializers.BooleanField(read_only=True, help_text="whether it may be worked by")

    class Meta:
        model = DescalePlan
        fields = ["id", "descale", "cleaner", "cleaner_name", "rig", "work_item", "asked_by", "made_at",
                  "engine_version", "inputs_digest", "superseded_at", "stands", "refusals", "strength",
                  "solution_m3", "cap_k", "batches", "asked", "sheet", "result"]  # fmt: skip
        read_only_fields = fields


class VerificationSerializer(RecordSerializer):
    result = ObjectField(read_only=True, help_text="everything else, SI, units in the names")

    class Meta:
        model = Verification
        fields = ["id", "before", "after", "work_item", "made_at", "engine_version", "inputs_digest",
                  "superseded_at", "removed_k_per_w", "removed_low_k_per_w", "removed_high_k_per_w",
                  "left_k_per_w", "left_low_k_per_w", "left_high_k_per_w", "probability_improved",
                  "probability_below_limit", "lockout_cleared", "reference", "result"]  # fmt: skip
        read_only_fields = fields


@extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
class AcceptanceField(serializers.ReadOnlyField):
    """Address of the acceptance of a discharge as a file; null where none is on file."""

    def __init__(self, **kwargs: Any) -> None:
        words = "address of what works or authority wrote for it, as a file; null where none is on file"
        super().__init__(**{"source": "*", "help_text": words, **kwargs})

    def to_representation(self, discharge: Discharge) -> str | None:
        return reverse("discharge-acceptance", args=[discharge.pk]) if discharge.acceptance else None


class DischargeListSerializer(RecordSerializer):
    tag = serializers.CharField(
        source="descale.exchanger.unit.tag", read_only=True, help_text="the unit's tag"
    )
    limits = ObjectField(read_only=True, help_text="the site's limits as they were")
    exceedances = WordsField(read_only=True, help_text="what stood against it, in words")
    acceptance = AcceptanceField()
    hidden_from_clients = frozenset({"note"})

    class Meta:
        model = Discharge
        fields = ["id", "descale", "tag", "at", "water", "route", "permit_reference", "ph",
                  *columns_of(DISCHARGE), "copper_mg_per_l", "iron_mg_per_l", "zinc_mg_per_l",
                  "solids_mg_per_l", "acid_document", "acceptance",
                  "acceptance_until", "acceptance_read_by", "neutraliser", "limits",
                  "exceedances", "note", *ALWAYS_READ]  # fmt: skip
        read_only_fields = fields


class HeldWasteListSerializer(RecordSerializer):
    tag = serializers.CharField(
        source="descale.exchanger.unit.tag", read_only=True, help_text="the unit's tag"
    )
    age_days = serializers.SerializerMethodField(help_text="since it is held, until collected [d]")

    class Meta:
        model = HeldWaste
        fields = ["id", "descale", "tag", "at", "water", "where", "whose", *columns_of(HELD_WASTE), "ph",
                  "collected_at", "collected_by", "age_days", "note", *ALWAYS_READ]  # fmt: skip
        read_only_fields = fields

    def get_age_days(self, waste: HeldWaste) -> float:
        until = waste.collected_at or self.context["now"]
        return round((until - waste.at).total_seconds() / 86_400, 2)


class VerdictSerializer(RoomSerializer):
    action = serializers.CharField(
        help_text="go_on, fresh_batch, reverse, finished, nothing_dissolving or stop"
    )
    words = serializers.CharField(help_text="the same in words")
    reasons = SayingSerializer(many=True, help_text="why")
    asks = SayingSerializer(many=True, help_text="what to read or ask next")
    batch = serializers.IntegerField(help_text="batch that is in; 0 before the first")
    used_share = ObjectField(allow_null=True, help_text="share of the batch's acid used, with 95 % interval")
    steady = ObjectField(help_text="by quantity, the probability that it has stopped changing")
    flow_risen = serializers.BooleanField(allow_null=True, help_text="whether flow has risen since the start")
    see = serializers.CharField(help_text="address of what bears on it; blank for none")


class ClockSerializer(RoomSerializer):
    descale = serializers.UUIDField(source="descale.pk", help_text="id of the descale")
    tag = serializers.CharField(source="descale.exchanger.unit.tag", help_text="the unit's tag")
    site = serializers.UUIDField(source="descale.exchanger.unit.site_id", help_text="id of the site")
    batch = serializers.UUIDField(source="batch.pk", help_text="id of the batch")
    number = serializers.IntegerField(help_text="1 for the first batch of this descale")
    mixed_at = serializers.DateTimeField(source="batch.at", help_text="since when acid is in")
    out_by = serializers.DateTimeField(source="batch.out_by", help_text="by when it must be out")
    left_s = serializers.SerializerMethodField(help_text="time left; below zero it is over [s]")
    over = serializers.SerializerMethodField(help_text="whether it must be out by now")

    def get_left_s(self, clock: Any) -> float:
        return float(clock.left_s(self.context["now"]))

    def get_over(self, clock: Any) -> bool:
        return bool(clock.is_over(self.context["now"]))


class NextLookSerializer(RoomSerializer):
    batch = serializers.UUIDField(source="batch.pk", help_text="id of the batch that is in")
    look_at = serializers.DateTimeField(help_text="when the next look is due")
    titrate_from = serializers.DateTimeField(help_text="from when it is titrated again")
    titrate_by = serializers.DateTimeField(help_text="by when it is titrated at the latest")
    due = serializers.SerializerMethodField(help_text="whether a look is due by now")

    def get_due(self, next_look: Any) -> bool:
        return bool(next_look.is_due(self.context["now"]))


class StrainerDueSerializer(RoomSerializer):
    descale = serializers.UUIDField(source="descale.pk", help_text="id of the descale")
    ran_at = serializers.DateTimeField(help_text="since when the unit runs again")
    due_at = serializers.DateTimeField(help_text="when its strainer is to be looked at")


class StrainerListSerializer(StrainerDueSerializer):
    tag = serializers.CharField(source="descale.exchanger.unit.tag", help_text="the unit's tag")
    site = serializers.UUIDField(source="descale.exchanger.unit.site_id", help_text="id of the site")


class NowSerializer(RoomSerializer):
    state = serializers.CharField(help_text="where the descale stands")
    may_dose = serializers.BooleanField(help_text="whether the dose screen is open")
    dose_shut_because = SayingSerializer(many=True, help_text="everything that keeps it shut")
    verdict = VerdictSerializer(allow_null=True, help_text="what to do beside the tank; null before acid")
    clocks = ClockSerializer(many=True, help_text="batches of this descale that are in")
    next_looks = NextLookSerializer(many=True, help_text="what is due next at each of them")
    strainer_due = StrainerDueSerializer(allow_null=True, help_text="the strainer to look at; null for none")
    end_lacks = SayingSerializer(many=True, help_text="what still lacks before it is back in service")
    baths_unaccounted = serializers.IntegerField(help_text="baths neither let out nor held, as told [count]")


class ChoiceSerializer(RoomSerializer):
    cleaner = serializers.UUIDField(source="cleaner.pk", help_text="id of the cleaner")
    name = serializers.CharField(source="cleaner.name", help_text="its name")
    fits = serializers.SerializerMethodField(help_text="whether nothing refuses it")
    strong = serializers.BooleanField(help_text="strong acids are for old or heavy deposits")
    refusals = serializers.SerializerMethodField(help_text="what refuses it: code and words")
    strength = serializers.FloatField(allow_null=True, help_text="acid by mass of the bath [-]")
    product_kg = serializers.FloatField(allow_null=True, help_text="product it likely takes [kg]")
    batches = serializers.IntegerField(allow_null=True, help_text="batches it likely takes [count]")
    most_batches = serializers.IntegerField(allow_null=True, help_text="batches at most [count]")
    time_s = serializers.SerializerMethodField(
        help_text="circulating in all, with range [s]; null: not known"
    )
    remarks = WordsField(help_text="what to know of it, in words")

    @extend_schema_field({"anyOf": [ANYTHING, {"type": "null"}]})
    def get_time_s(self, choice: Any) -> dict[str, float] | None:
        return choice.time_s and dataclasses.asdict(choice.time_s)

    def get_fits(self, choice: Any) -> bool:
        return not choice.refusals

    @extend_schema_field({"type": "array", "items": ANYTHING})
    def get_refusals(self, choice: Any) -> list[dict[str, str]]:
        return [one.as_json() for one in choice.refusals]


class ExpectedSerializer(RoomSerializer):
    kinds = serializers.SerializerMethodField(help_text="probability by kind of deposit, likeliest first [-]")
    signs = WordsField(source="words", help_text="what it rests on, besides the water's source")
    share_by_acid = serializers.FloatField(
        source="by_acid", help_text="probability that acid dissolves it [-]"
    )
    acid_is_the_wrong_tool = serializers.BooleanField(
        source="doubtful", help_text="acid is likely wrong here"
    )
    right_tool = serializers.CharField(
        source="wrong_tool", allow_null=True, help_text="what is right instead; null where acid is"
    )

    @extend_schema_field(ANYTHING)
    def get_kinds(self, expected: Any) -> dict[str, float]:
        return dict(expected.kinds)
