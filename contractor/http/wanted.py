"""What a field of the API wants, in words: for errors that would else only say that something is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

MOST_WORDS = 40
KINDS: tuple[tuple[type[serializers.Field[Any, Any, Any, Any]], str], ...] = (
    (serializers.BooleanField, "true or false"),
    (serializers.IntegerField, "a whole number such as 3"),
    (serializers.FloatField, "a number such as 85.2"),
    (serializers.DecimalField, "a number such as 85.20"),
    (serializers.DateTimeField, "a date and time with its offset, such as 2025-06-30T14:05:00+01:00"),
    (serializers.DateField, "a date such as 2025-06-30"),
    (serializers.TimeField, "a time of day such as 14:05"),
    (serializers.UUIDField, "an id such as 0b0e7a52-6c0c-4a61-9d7c-5f6f0a1f3c55"),
    (serializers.RelatedField, "the id of one that you may see"),
    (serializers.ManyRelatedField, "a list of ids"),
    (serializers.EmailField, "an e-mail address such as name@example.com"),
    (serializers.FileField, "a file"),
    (serializers.ListField, "a list"),
    (serializers.ListSerializer, "a list"),
    (serializers.DictField, "an object"),
    (serializers.JSONField, "an object"),
    (serializers.BaseSerializer, "an object"),
    (serializers.CharField, "text"),
)
LACKS = {"required": "Missing", "null": "Null where a value is wanted", "blank": "Empty"}


def wanted(field: serializers.Field[Any, Any, Any, Any]) -> str:
    """Kind and example, or the words known; and what the field is for, where the description says it."""
    if isinstance(field, serializers.ChoiceField):
        known = [str(choice) for choice in field.choices if choice != ""]
        kind = f"one of: {', '.join(known[:MOST_WORDS])}" if known else "a word"
    else:
        kind = next((words for cls, words in KINDS if isinstance(field, cls)), "a value")
    help_text = str(field.help_text or "").strip().rstrip(".")
    return f"{kind} ({help_text})" if help_text else kind


def in_words(fields: Mapping[str, serializers.Field[Any, Any, Any, Any]], detail: Any) -> Any:
    """The errors of a serializer's fields, those without a word of what would be right made anew."""
    if not isinstance(detail, Mapping):
        return detail
    return {name: _of_field(fields.get(name), errors) for name, errors in detail.items()}


def _of_field(field: serializers.Field[Any, Any, Any, Any] | None, errors: Any) -> Any:
    if field is None or not isinstance(errors, list):
        return errors
    return [_said(field, error) for error in errors]


def _said(field: serializers.Field[Any, Any, Any, Any], error: Any) -> Any:
    code = getattr(error, "code", None)
    if code in LACKS:
        may_go = "" if code == "required" or field.required else ", or leave it out"
        return ErrorDetail(f"{LACKS[code]}; expected {wanted(field)}{may_go}.", code)
    if (
        code == "invalid_choice"
        and "expected" not in str(error)
        and isinstance(field, serializers.ChoiceField)
    ):
        return ErrorDetail(f"{str(error).rstrip('.')}; expected {wanted(field)}.", code)
    return error
