"""What is sent with a decision."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from contractor.descales.api.telling import BatchSerializer
from contractor.descales.planning import Asked
from contractor.descales.words import COULD_NOT
from contractor.http.serializers import KnownChoiceField, RoomSerializer
from contractor.register.api.base import FiniteFloatField, MomentField, SeenField
from contractor.register.models import Cleaner, Exchanger, Rig
from contractor.visits.models import Reading
from diagnostics.engine.descaling.acids import MINERALS
from diagnostics.engine.descaling.choice import RIGHT_TOOL
from diagnostics.engine.descaling.rig import LOSS_COEFFICIENTS

DEPOSITS = (*MINERALS, *RIGHT_TOOL)


def optional(words: str) -> Any:
    return FiniteFloatField(required=False, min_value=0.0, help_text=words)


class PlanRequestSerializer(RoomSerializer):
    cleaner = SeenField(queryset=Cleaner.objects.all(), help_text="id of the cleaner")
    rig = SeenField(queryset=Rig.objects.all(), help_text="id of the circulating rig")
    strength = optional("acid by mass of the bath, 0 to 1; the label's usual when left out")
    starts_at = MomentField(required=False, help_text="when acid is to go in; for quiet hours")
    deposit = KnownChoiceField(
        choices=DEPOSITS,
        required=False,
        help_text="named by who looked at it; when left out, what water and history make likely",
    )
    working_level_m3 = optional("what the tank holds while running [m3]")
    fittings = serializers.ListField(
        child=KnownChoiceField(choices=tuple(LOSS_COEFFICIENTS)), required=False, max_length=40,
        help_text="between tank and exchanger; usual ones when left out",
    )  # fmt: skip
    return_height_m = optional("return's end above the tank's level [m]")
    highest_point_m = optional("highest point above the tank's level [m]")
    supply_k = FiniteFloatField(required=False, min_value=273.15, max_value=333.15, help_text="water [K]")
    in_a_pit = serializers.BooleanField(required=False, help_text="a pit or vault is a confined space")
    confined_space_permit = serializers.CharField(
        required=False, allow_blank=True, max_length=80, help_text="reference of its permit"
    )

    def asked(self) -> Asked:
        given = {k: v for k, v in self.validated_data.items() if k not in ("cleaner", "rig")}
        if "fittings" in given:
            given["fittings"] = tuple(given["fittings"])
        return Asked(**given)


class ProofRequestSerializer(RoomSerializer):
    before = SeenField(
        queryset=Reading.objects.all(), required=False, help_text="readings before; the last when left out"
    )
    after = SeenField(
        queryset=Reading.objects.all(), required=False, help_text="readings after; the first when left out"
    )


class CouldNotSerializer(RoomSerializer):
    why = KnownChoiceField(choices=COULD_NOT, help_text="why it could not be done")
    words = serializers.CharField(
        required=False, allow_blank=True, max_length=300, help_text="the same in words"
    )


class BatchOutSerializer(RoomSerializer):
    batch = serializers.UUIDField(help_text="id of the batch that was drained")
    at = MomentField(required=False, help_text="when, by the phone's clock; now when left out")


class LookPhotoSerializer(RoomSerializer):
    look = serializers.UUIDField(help_text="id of the look")
    photo = serializers.UUIDField(help_text="id of the finding that carries the photo")


class AcidIsInSerializer(RoomSerializer):
    descale = serializers.UUIDField(help_text="id for the descale, made on the phone; used if none is open")
    exchanger = SeenField(queryset=Exchanger.objects.all(), help_text="id of the exchanger that acid is in")
    batch = BatchSerializer(help_text="what is known of the bath; its `at` is when acid went in")


class CollectedSerializer(RoomSerializer):
    who = serializers.CharField(max_length=200, help_text="who fetched it, with the reference of their paper")
    at = MomentField(required=False, help_text="when; now when left out")
