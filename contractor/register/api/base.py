"""What every record's serializer and viewset share: refusals, scope of references, units in words."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any, ClassVar, cast

import django_filters
from django.db import models
from django.db.models import Model, QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from contractor.accounts.models import Person, Role
from contractor.http.permissions import EVERYONE, OFFICE
from contractor.http.serializers import RoomModelSerializer
from contractor.http.viewsets import FullRoomViewSet
from contractor.register.typed import Quantity

UNITS = (
    ("_mg_per_l_as_caco3", "mg/L as CaCO3"),
    ("_mg_per_l", "mg/L"),
    ("_m3_per_s", "m3/s"),
    ("_kg_per_s", "kg/s"),
    ("_kg_per_m3", "kg/m3"),
    ("_kg", "kg"),
    ("_db", "dB(A)"),
    ("_m2k_per_w", "m2 K/W"),
    ("_pa_gauge", "Pa gauge"),
    ("_pressure_pa", "Pa absolute"),
    ("_pa", "Pa"),
    ("_s_per_m", "S/m"),
    ("_k", "K"),
    ("_w", "W"),
    ("_m2", "m2"),
    ("_m3", "m3"),
    ("_m", "m"),
    ("_a", "A"),
    ("_v", "V"),
    ("_s", "s"),
)
ALWAYS_READ = ("version", "created_at", "changed_at")


def person_of(request: Request) -> Person:
    """Who asks. Every address of these rooms wants a sign-in first."""
    assert isinstance(request.user, Person)
    return request.user


@lru_cache(maxsize=1024)
def described(name: str) -> str:
    """A field's name in words, with its unit in brackets."""
    for suffix, unit in UNITS:
        if name.endswith(suffix):
            return f"{name.removesuffix(suffix).replace('_', ' ')} [{unit}]"
    return name.replace("_", " ")


class FiniteFloatField(serializers.FloatField):
    def to_internal_value(self, data: Any) -> float:
        value = super().to_internal_value(data)
        if isinstance(data, bool) or not math.isfinite(value):
            raise serializers.ValidationError("Expected a finite number.")
        return value


class MomentField(serializers.DateTimeField):
    """A moment that a calendar of people can hold; a phone whose clock was reset says 1970."""

    def to_internal_value(self, value: Any) -> dt.datetime:
        moment = super().to_internal_value(value)
        if not 1970 <= moment.year < 2200:
            raise serializers.ValidationError(
                "Expected a moment from 1970 to 2199, such as 2027-03-03T09:30:00Z."
            )
        return moment


class SeenField(serializers.PrimaryKeyRelatedField[Any]):
    """A reference to a row that this person may see; any other does not exist for them."""

    default_error_messages = {
        "does_not_exist": "{pk_value} is not here, or not yours to see; expected the id of one that is."
    }

    def get_queryset(self) -> QuerySet[Any]:
        model: Any = cast(Any, self).queryset.model
        request = self.context.get("request")
        if request is None or not getattr(request.user, "role", ""):
            return cast(QuerySet[Any], model.objects.none())
        return cast(QuerySet[Any], model.objects.seen_by(request.user))


class CrewField(SeenField):
    """Someone of the firm, whom the office may send on a visit or give a gauge set."""

    def get_queryset(self) -> QuerySet[Any]:
        return cast(QuerySet[Any], Person.objects.exclude(role=Role.CLIENT))


class ClientField(SeenField):
    """Someone who signs in for a customer."""

    def get_queryset(self) -> QuerySet[Any]:
        return cast(QuerySet[Any], Person.objects.filter(role=Role.CLIENT))


AS_TYPED_SCHEMA = {
    "type": "object",
    "additionalProperties": {
        "type": ["object", "null"],
        "required": ["value"],
        "properties": {
            "value": {"type": ["string", "number"], "description": "the number as typed"},
            "unit": {"type": "string", "description": "its unit, such as degF, psig or gpm"},
        },
    },
}


@extend_schema_field(AS_TYPED_SCHEMA)
class AsTypedField(serializers.JSONField):
    """{"capacity": {"value": "36", "unit": "MBH"}}: converted once; null clears a quantity."""

    def __init__(self, quantities: Iterable[Quantity], **options: Any) -> None:
        names = ", ".join(f"{each.name} ({each.expected})" for each in quantities)
        options.setdefault("help_text", f"values as typed with their units; null clears one. Known: {names}")
        options.setdefault("required", False)
        super().__init__(**options)

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, Mapping):
            example = '{"capacity": {"value": "36", "unit": "MBH"}}'
            raise serializers.ValidationError(f"Expected an object such as {example}.")
        return dict(data)


class RecordSerializer(RoomModelSerializer):
    """Refuses what may no longer be changed, and shows clients no office notes.

    fixed               fields that are given once, at creation
    hidden_from_clients blank for a client
    """

    serializer_related_field = SeenField
    fixed: ClassVar[frozenset[str]] = frozenset()
    hidden_from_clients: ClassVar[frozenset[str]] = frozenset()

    serializer_field_mapping = {
        **RoomModelSerializer.serializer_field_mapping,
        models.FloatField: FiniteFloatField,
        models.DateTimeField: MomentField,
    }

    def get_validators(self) -> list[Any]:
        return []  # the service refuses doubles, with better words

    def include_extra_kwargs(self, kwargs: Any, extra_kwargs: Any) -> Any:
        kwargs = super().include_extra_kwargs(kwargs, extra_kwargs)
        kept = [v for v in kwargs.get("validators", []) if not hasattr(v, "queryset")]
        return {**kwargs, "validators": kept} if "validators" in kwargs else kwargs

    def build_field(self, field_name: str, *rest: Any) -> Any:
        kind, kwargs = super().build_field(field_name, *rest)
        words = described(field_name)
        unit = words[words.index("[") :] if "[" in words else ""
        said = kwargs.get("help_text", "")
        kwargs["help_text"] = f"{said} {unit}".strip() if said else words
        return kind, kwargs

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            self.refuse_what_may_not_change(data)
        return super().to_internal_value(data)

    def refuse_what_may_not_change(self, data: Mapping[str, Any]) -> None:
        """What was given once may be sent as it is, never with another value."""
        if self.instance is None:
            return
        sent = [name for name in (*self.fixed, "id") if name in data and name in self.fields]
        now = self.to_representation(self.instance) if sent else {}
        changed = [name for name in sent if str(now.get(name)) != str(data[name])]
        if changed:
            words = "This cannot be changed; leave it out."
            raise serializers.ValidationError({name: [words] for name in changed}, code="read_only")

    def to_representation(self, instance: Any) -> Any:
        shown = super().to_representation(instance)
        if self.hidden_from_clients and self.reader_is_client():
            for name in self.hidden_from_clients & shown.keys():
                shown[name] = type(shown[name])() if isinstance(shown[name], str | list) else None
        return shown

    def reader_is_client(self) -> bool:
        request = self.context.get("request")
        return bool(request and getattr(request.user, "is_client", False))


class RetirableFilters(django_filters.FilterSet):  # type: ignore[misc, unused-ignore]
    """`retired`: no (as when left out), yes, or all."""

    retired = django_filters.ChoiceFilter(
        choices=[("no", "in use"), ("yes", "retired"), ("all", "both")],
        method="by_retirement",
        help_text="no: those in use (as when left out); yes: the retired; all: both",
    )

    def by_retirement(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows if value == "all" else rows.filter(retired_at__isnull=value != "yes")

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows: QuerySet[Any] = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("retired") else rows.filter(retired_at__isnull=True)


class RecordViewSet(FullRoomViewSet):
    """List, retrieve, create, change, retire and bring back. The office writes; who sees it reads."""

    if_match_actions = frozenset({"update", "partial_update", "retire", "bring_back"})
    takes_nothing = frozenset({"retire", "bring_back"})
    may = {
        "list": EVERYONE,
        "retrieve": EVERYONE,
        "create": OFFICE,
        "partial_update": OFFICE,
        "retire": OFFICE,
        "bring_back": OFFICE,
    }

    @property
    def person(self) -> Person:
        return person_of(self.request)

    def retire_row(self, row: Any, now: dt.datetime) -> Model:
        raise NotImplementedError

    def bring_back_row(self, row: Any) -> Model:
        raise NotImplementedError

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def retire(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """It stays on record with all that hangs on it, and is offered no more. Needs If-Match."""
        return self.answer(self.retire_row(self.get_object(), timezone.now()))

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="bring-back")
    def bring_back(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Undo a retirement, and that of what was retired with it. Needs If-Match."""
        return self.answer(self.bring_back_row(self.get_object()))
