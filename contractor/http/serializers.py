"""Serializers of every room.

What is unknown is refused rather than dropped, and an error says what would be right.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.functional import cached_property
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from contractor.http.reading import Reader, readers_of
from contractor.http.wanted import in_words


class KnownChoiceField(serializers.ChoiceField):
    """Says which words are known."""

    def fail(self, key: str, **kwargs: Any) -> Any:
        if key == "invalid_choice":
            known = ", ".join(str(choice) for choice in self.choices)
            raise serializers.ValidationError(
                f"{kwargs['input']!r} is not known; expected one of: {known}", code=key
            )
        return super().fail(key, **kwargs)


class RefusesWhatIsNotWritten:
    """A field that this address does not know, or only shows, is refused by name; nothing is dropped. What is
    missing, null, empty or no known word is told with what would be right."""

    def to_internal_value(self: Any, data: Any) -> Any:
        if isinstance(data, Mapping):
            writable = [name for name, field in self.fields.items() if not field.read_only]
            expected = f"expected {'some of: ' + ', '.join(writable) if writable else 'nothing'}"
            words = {
                name: "This is not yours to set; leave it out" if name in self.fields else "Unknown field"
                for name in sorted(set(data) - set(writable))
            }
            if words:
                errors = {
                    name: [
                        ErrorDetail(f"{why}; {expected}.", "read_only" if name in self.fields else "unknown")
                    ]
                    for name, why in words.items()
                }
                raise serializers.ValidationError(errors)
        try:
            return super().to_internal_value(data)  # type: ignore[misc]
        except serializers.ValidationError as refused:
            raise serializers.ValidationError(in_words(self.fields, refused.detail)) from None


class RoomSerializer(RefusesWhatIsNotWritten, serializers.Serializer[Any]):
    pass


class RoomModelSerializer(RefusesWhatIsNotWritten, serializers.ModelSerializer[Any]):
    serializer_choice_field = KnownChoiceField

    @cached_property
    def readers(self) -> list[tuple[str, Reader]]:
        return readers_of(self)

    def to_representation(self, instance: Any) -> dict[str, Any]:
        shown = {name: read(instance) for name, read in self.readers}
        return {name: value for name, value in shown.items() if value is not serializers.empty}
