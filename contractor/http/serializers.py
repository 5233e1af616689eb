"""Serializers of every room.

What is unknown is refused rather than dropped, and an error says what would be right.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.functional import cached_property
from rest_framework import serializers

from contractor.http.reading import Reader, readers_of


class KnownChoiceField(serializers.ChoiceField):
    """Says which words are known."""

    def fail(self, key: str, **kwargs: Any) -> Any:
        if key == "invalid_choice":
            known = ", ".join(str(choice) for choice in self.choices)
            raise serializers.ValidationError(
                f"{kwargs['input']!r} is not known; expected one of: {known}", code=key
            )
        return super().fail(key, **kwargs)


class RefusesUnknownFields:
    """A field this address does not know is refused; a read-only one may be sent back, and is ignored."""

    def to_internal_value(self: Any, data: Any) -> Any:
        if isinstance(data, Mapping):
            unknown = sorted(set(data) - set(self.fields))
            if unknown:
                writable = [name for name, field in self.fields.items() if not field.read_only]
                words = f"Unknown field; expected some of: {', '.join(writable)}"
                raise serializers.ValidationError({name: [words] for name in unknown}, code="unknown")
        return super().to_internal_value(data)  # type: ignore[misc]


class RoomSerializer(RefusesUnknownFields, serializers.Serializer[Any]):
    pass


class RoomModelSerializer(RefusesUnknownFields, serializers.ModelSerializer[Any]):
    serializer_choice_field = KnownChoiceField

    @cached_property
    def readers(self) -> list[tuple[str, Reader]]:
        return readers_of(self)

    def to_representation(self, instance: Any) -> dict[str, Any]:
        shown = {name: read(instance) for name, read in self.readers}
        return {name: value for name, value in shown.items() if value is not serializers.empty}
