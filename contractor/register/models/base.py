"""What the register's records share: words from a known list, ordered pairs, retirement, what was typed."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q

from contractor.trail.tracked import Tracked


def words(names: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(name, name.replace("_", " ")) for name in names]


def word(names: tuple[str, ...], *, blank: bool = False, **options: Any) -> models.CharField[str, str]:
    """A column that holds one of a known list of words; the message lists them."""
    expected = ", ".join(names)
    return models.CharField(
        max_length=options.pop("max_length", 30),
        choices=words(names),
        blank=blank,
        error_messages={"invalid_choice": f"%(value)r is not known here; expected one of {expected}."},
        **options,
    )


def known(
    column: str, names: tuple[str, ...], constraint: str, *, blank: bool = False
) -> models.CheckConstraint:
    allowed = [*names, ""] if blank else list(names)
    return models.CheckConstraint(
        condition=Q(**{f"{column}__in": allowed}),
        name=constraint,
        violation_error_message=f"{column} is not one of {', '.join(names)}.",
    )


def positive(columns: list[str], constraint: str) -> models.CheckConstraint:
    condition = Q()
    for column in columns:
        condition &= Q(**{f"{column}__isnull": True}) | Q(**{f"{column}__gt": 0})
    return models.CheckConstraint(
        condition=condition,
        name=constraint,
        violation_error_message=f"Above zero, or left out where not known: {', '.join(columns)}.",
    )


def between(column: str, low: float, high: float, constraint: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{column}__isnull": True}) | Q(**{f"{column}__gte": low, f"{column}__lte": high}),
        name=constraint,
        violation_error_message=f"{column} lies between {low:g} and {high:g}; leave out what is not known.",
    )


def in_order(low: str, high: str, constraint: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{low}__isnull": True})
        | Q(**{f"{high}__isnull": True})
        | Q(**{f"{low}__lte": F(high)}),
        name=constraint,
        violation_error_message=f"{low} must not lie above {high}.",
    )


def both_or_neither(first: str, second: str, constraint: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(**{f"{first}__isnull": True, f"{second}__isnull": True})
        | Q(**{f"{first}__isnull": False, f"{second}__isnull": False}),
        name=constraint,
        violation_error_message=f"{first} and {second} go together: give both or neither.",
    )


def not_blank(column: str, constraint: str, what: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=~Q(**{column: ""}), name=constraint, violation_error_message=f"{what} must be given."
    )


def si(help_text: str = "") -> models.FloatField[float | None, float | None]:
    """A measured or rated value in the SI unit that its name ends with; empty where not known."""
    return models.FloatField(null=True, blank=True, help_text=help_text)


class Retirable(Tracked):
    """Nothing with history is deleted; it is retired."""

    retired_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def is_retired(self) -> bool:
        return self.retired_at is not None


def typed() -> models.JSONField[Any, Any]:
    return models.JSONField(
        default=dict,
        blank=True,
        help_text='what was typed, by quantity: {"capacity": {"value": "36", "unit": "MBH"}}',
    )
