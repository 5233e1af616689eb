"""A filter's value or an order that is not understood must not silently return everything.

What is wrong is told by query parameter, with what would be right.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import DjangoFilterBackend
from rest_framework.filters import OrderingFilter
from rest_framework.request import Request

from contractor.http.problems import Problem

LARGEST = 2**63
EXPECTED: tuple[tuple[type[Any], str], ...] = (
    (django_filters.BooleanFilter, "expected true or false"),
    (django_filters.ModelChoiceFilter, "expected the id (a UUID) of one that is there"),
    (django_filters.UUIDFilter, "expected an id (a UUID)"),
    (django_filters.IsoDateTimeFilter, "expected a moment such as 2027-03-03T09:30:00Z"),
    (django_filters.DateFilter, "expected a day such as 2027-03-03"),
    (django_filters.NumberFilter, "expected a number"),
)


class RoomFilters(DjangoFilterBackend):  # type: ignore[misc, unused-ignore]
    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: Any) -> QuerySet[Any]:
        filterset = self.get_filterset(request, queryset, view)
        if filterset is None:
            return queryset
        refuse(misread(filterset))
        rows: QuerySet[Any] = filterset.qs
        return rows


class RoomOrdering(OrderingFilter):
    def remove_invalid_fields(
        self, queryset: QuerySet[Any], fields: Iterable[str], view: Any, request: Request
    ) -> list[str]:
        asked = list(fields)
        known = [name for name, _ in self.get_valid_fields(queryset, view, {"request": request})]
        words = f"expected some of {', '.join(known)}, with - in front for descending, and commas between"
        refuse(
            {"parameter": self.ordering_param, "detail": f"{name!r} is not an order; {words}."}
            for name in asked
            if name and name.removeprefix("-") not in known
        )
        return [name for name in asked if name]


def refuse(errors: Iterable[Mapping[str, object]]) -> None:
    found = list(errors)
    if found:
        raise Problem("invalid", str(found[0]["detail"]), errors=found)


def misread(filterset: Any) -> Iterator[dict[str, object]]:
    """One error a parameter whose value is not understood, or that no database holds."""
    wrong = filterset.form.errors
    for name, one in filterset.filters.items():
        sent = str(filterset.data.get(name, ""))
        by_form = wrong.get(name)
        if by_form or not understood(one, sent, filterset.form.cleaned_data.get(name)):
            words = expected(one) or " ".join(by_form or ["expected another"])
            yield {"parameter": name, "detail": f"{shown(sent)} is not understood; {words}."}


def understood(one: django_filters.Filter, sent: str, value: Any) -> bool:
    if isinstance(one, django_filters.BooleanFilter):  # its form takes any other word for no answer
        return value is not None or not sent
    if isinstance(value, int | Decimal):
        return -LARGEST <= value < LARGEST
    if isinstance(value, dt.datetime):
        try:
            value.astimezone(dt.UTC)
        except OverflowError:
            return False
    return True


def expected(one: django_filters.Filter) -> str:
    choices = one.extra.get("choices")
    if isinstance(one, django_filters.ChoiceFilter) and choices is not None:
        known = choices() if callable(choices) else choices
        return f"expected one of {', '.join(str(value) for value, _ in known)}"
    return next((words for kind, words in EXPECTED if isinstance(one, kind)), "")


def shown(sent: str) -> str:
    return repr(sent if len(sent) <= 60 else f"{sent[:60]}...")
