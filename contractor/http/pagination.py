"""Pages by cursor.

Steady under inserts, no count of all rows. Ties are broken by the key, so no row is lost or doubled.
"""

from __future__ import annotations

import base64
import binascii
import datetime as dt
import json
from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import F, Model, Q, QuerySet
from django.db.models.expressions import OrderBy
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from contractor.http.problems import Problem


class CursorPages(BasePagination):
    limit_param, cursor_param = "limit", "cursor"
    limit, max_limit = 50, 200

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        self.address = request.build_absolute_uri()
        self.size = self.size_asked(request)
        columns = ordering_of(queryset)
        backwards, position = self.cursor_sent(request, columns)
        asked = [(name, down != backwards) for name, down in columns]
        queryset = queryset.order_by(*[order(queryset.model, name, down) for name, down in asked])
        if position is not None:
            queryset = self.from_position(queryset, asked, position)
        rows = list(queryset[: self.size + 1])
        more, rows = len(rows) > self.size, rows[: self.size]
        if backwards:
            rows.reverse()
        has_next = bool(rows) and (more if not backwards else position is not None)
        has_previous = bool(rows) and (more if backwards else position is not None)
        names = [name for name, _ in columns]
        self.next_cursor = cursor_at(rows[-1], names, backwards=False) if has_next else None
        self.previous_cursor = cursor_at(rows[0], names, backwards=True) if has_previous else None
        return rows

    def size_asked(self, request: Request) -> int:
        text = request.query_params.get(self.limit_param)
        if text is None:
            return self.limit
        if not text.isdecimal() or not 1 <= int(text) <= self.max_limit:
            detail = f"{text!r} is not a page size; expected a whole number from 1 to {self.max_limit}"
            raise Problem("invalid", detail, errors=[{"parameter": self.limit_param, "detail": detail}])
        return int(text)

    def cursor_sent(
        self, request: Request, columns: Sequence[tuple[str, bool]]
    ) -> tuple[bool, list[Any] | None]:
        text = request.query_params.get(self.cursor_param)
        if not text:
            return False, None
        try:
            kept = json.loads(base64.urlsafe_b64decode(text.encode() + b"==="))
            names, backwards, position = kept["o"], kept["b"], [revived(value) for value in kept["p"]]
        except (ValueError, KeyError, TypeError, OverflowError, binascii.Error):
            names, backwards, position = None, False, []
        if names != [name for name, _ in columns]:
            raise self.not_a_cursor()
        return bool(backwards), position

    def from_position(self, rows: Any, asked: list[tuple[str, bool]], position: list[Any]) -> Any:
        try:
            return rows.filter(beyond(rows.model, asked, position))
        except (ValueError, TypeError, OverflowError, ValidationError):
            raise self.not_a_cursor() from None

    def not_a_cursor(self) -> Problem:
        detail = "The cursor is none of this list in this order; expected `next` or `previous` of a page."
        return Problem("invalid", detail, errors=[{"parameter": self.cursor_param, "detail": detail}])

    def address_of(self, cursor: str | None) -> str | None:
        return replace_query_param(self.address, self.cursor_param, cursor) if cursor else None

    def get_paginated_response(self, data: Any) -> Response:
        return Response(
            {
                "next": self.address_of(self.next_cursor),
                "previous": self.address_of(self.previous_cursor),
                "results": data,
            }
        )

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        link = {"type": ["string", "null"], "format": "uri"}
        return {
            "type": "object",
            "required": ["next", "previous", "results"],
            "properties": {
                "next": {**link, "description": "address of the next page; null on the last"},
                "previous": {**link, "description": "address of the page before; null on the first"},
                "results": {**schema, "description": "the rows of this page"},
            },
        }

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        return [
            {
                "name": self.limit_param,
                "in": "query",
                "required": False,
                "description": f"rows a page, 1 to {self.max_limit}; {self.limit} when left out",
                "schema": {"type": "integer", "minimum": 1, "maximum": self.max_limit},
            },
            {
                "name": self.cursor_param,
                "in": "query",
                "required": False,
                "description": "place in the list, taken from `next` or `previous` of a page",
                "schema": {"type": "string"},
            },
        ]


def ordering_of(queryset: QuerySet[Any]) -> list[tuple[str, bool]]:
    """(column, descending) of the queryset's order, made unique by the key."""
    meta = queryset.model._meta
    given = queryset.query.order_by or meta.ordering or ()
    columns: list[tuple[str, bool]] = []
    for item in given:
        name = str(item).removeprefix("-")
        columns.append(("pk" if name in ("id", "pk", meta.pk.name) else name, str(item).startswith("-")))
    if "pk" not in [name for name, _ in columns]:
        columns.append(("pk", columns[0][1] if columns else False))
    return columns


def nullable(model: type[Model], path: str) -> bool:
    for step in path.split("__"):
        field = model._meta.pk if step == "pk" else model._meta.get_field(step)
        if getattr(field, "null", False):
            return True
        if getattr(field, "remote_field", None) is not None and field.related_model:
            model = field.related_model
    return False


def order(model: type[Model], name: str, down: bool) -> OrderBy:
    """Blank values come last going up and first going down, in every database."""
    if not nullable(model, name):
        return F(name).desc() if down else F(name).asc()
    return F(name).desc(nulls_first=True) if down else F(name).asc(nulls_last=True)


def beyond(model: type[Model], columns: Sequence[tuple[str, bool]], position: Sequence[Any]) -> Q:
    """Rows after the position.

    Greater in the first column, or equal there and greater in the second, and so on.
    """
    found, equal = Q(pk__in=[]), Q()
    for (name, down), value in zip(columns, position, strict=True):
        if value is None:
            step = Q(**{f"{name}__isnull": False}) if down else Q(pk__in=[])
            here = Q(**{f"{name}__isnull": True})
        else:
            step = Q(**{f"{name}__{'lt' if down else 'gt'}": value})
            if not down and nullable(model, name):
                step |= Q(**{f"{name}__isnull": True})
            here = Q(**{name: value})
        found |= equal & step
        equal &= here
    return found


def value_at(row: Any, path: str) -> Any:
    for step in path.split("__"):
        row = row[step] if isinstance(row, dict) else getattr(row, step, None)
    return row


def cursor_at(row: Any, names: Sequence[str], *, backwards: bool) -> str:
    position = [kept(value_at(row, name)) for name in names]
    text = json.dumps({"o": list(names), "b": backwards, "p": position}, separators=(",", ":"))
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def kept(value: Any) -> Any:
    if isinstance(value, dt.datetime):
        return {"t": value.isoformat()}
    if isinstance(value, Model):
        return str(value.pk)
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)


def revived(value: Any) -> Any:
    if isinstance(value, dict):
        return dt.datetime.fromisoformat(value["t"]).astimezone(dt.UTC)
    if isinstance(value, list):
        raise ValueError("not a place in a list")
    return value
