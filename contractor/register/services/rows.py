"""Putting a row in, changing it, retiring it, bringing it back: what every record of the register shares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from functools import reduce
from operator import and_
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models, transaction
from django.db.models import Q, QuerySet

from contractor.accounts.models import Person
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.register.models import Exchanger, Retirable
from contractor.register.signals import about_to_retire
from contractor.trail.tracked import Tracked
from contractor.workqueue import kinds
from contractor.workqueue.services import queue

REASSESS = kinds.declare("reassess", "assess again every reading of an exchanger whose facts have changed")
declare("retired", 409, "It is retired",
        "What is retired is kept as it was. Bring it back first, or use another.")  # fmt: skip

Row = TypeVar("Row", bound=Tracked)
Kept = TypeVar("Kept", bound=Retirable)


def put_in(row: Row) -> Row:
    """Save a new row, or raise a Problem that points to what is not right."""
    _refuse_unless_right(row)
    row.save(force_insert=True)
    return row


def change(row: Row, fields: Mapping[str, Any]) -> frozenset[str]:
    """Set the fields and save if anything differs; returns the names of what changed."""
    changed = frozenset(name for name, value in fields.items() if getattr(row, name) != value)
    if not changed:
        return changed
    for name in changed:
        setattr(row, name, fields[name])
    _refuse_unless_right(row)
    row.save()
    return changed


def touch(row: Row) -> None:
    """What is shown with the row has changed: a new version, so that the old one is not taken for it."""
    row.refresh_from_db(fields=["version"])
    row.save()


@transaction.atomic
def retire(row: Kept, now: datetime, *below: QuerySet[Any]) -> Kept:
    """Retire a row and what hangs below it, all at one instant. Retiring twice is harmless."""
    if row.is_retired:
        return row
    together: list[Retirable] = [row, *_rows_of(below)]
    for each in together:
        about_to_retire.send(sender=type(each), row=each, now=now)
        each.retired_at = now
        each.save()
    return row


@transaction.atomic
def bring_back(row: Kept, *below: QuerySet[Any]) -> Kept:
    """Undo a retirement, and that of what was retired with it at the same instant."""
    if row.retired_at is None:
        return row
    instant = row.retired_at
    together: list[Retirable] = [row, *(e for e in _rows_of(below, in_use=False) if e.retired_at == instant)]
    for each in together:
        each.retired_at = None
        _refuse_unless_right(each)
        each.save()
    return row


def refuse_if_retired(row: Retirable, pointer: str) -> None:
    if row.is_retired:
        detail = f"{row} is retired; bring it back first, or choose another."
        raise Problem("retired", detail, errors=[{"pointer": pointer, "detail": detail}])


def ask_again(exchangers: QuerySet[Exchanger], asked_by: Person | None = None) -> None:
    """What these exchangers' readings told rests on other facts now: have them assessed again."""
    for exchanger_id in exchangers.in_use().order_by("pk").values_list("pk", flat=True):  # type: ignore[attr-defined]
        queue(REASSESS, str(exchanger_id), lane="bulk", asked_by=asked_by)


def _rows_of(querysets: tuple[QuerySet[Any], ...], *, in_use: bool = True) -> Iterator[Retirable]:
    for rows in querysets:
        yield from rows.select_for_update().filter(retired_at__isnull=in_use)


NOT_ABOVE_ZERO = "Not above zero; expected a number above zero, or nothing where it is not known."


def _refuse_unless_right(row: Tracked) -> None:
    errors: list[dict[str, object]] = []
    try:
        row.clean_fields()
        row.clean()
    except ValidationError as error:
        errors = list(_pointed(error))
    if not errors:
        _refuse_doubles(row)
        errors = list(_broken_checks(row))
    if errors:
        raise Problem("invalid", str(errors[0]["detail"]), errors=errors)


def _pointed(error: ValidationError) -> Iterator[dict[str, object]]:
    for name, details in error.message_dict.items():
        for detail in details:
            yield {"pointer": "" if name == NON_FIELD_ERRORS else f"/{name}", "detail": detail}


def _broken_checks(row: Tracked) -> Iterator[dict[str, object]]:
    """One question to the database for all of them; one each only where something is broken."""
    checks = [one for one in row._meta.constraints if isinstance(one, models.CheckConstraint)]
    together = reduce(and_, [one.condition for one in checks], Q())
    if not together or _holds(models.CheckConstraint(condition=together, name="together"), row):
        return
    for constraint in checks:
        try:
            constraint.validate(type(row), row)
        except ValidationError as error:
            if columns := list(_not_above_zero(constraint.condition, row)):
                for column in columns:
                    yield {"pointer": f"/{column}", "detail": NOT_ABOVE_ZERO}
            else:
                yield {"pointer": f"/{_first_column(constraint.condition)}", "detail": error.messages[0]}


def _not_above_zero(condition: Any, row: Tracked) -> Iterator[str]:
    """The columns that a condition wants above zero and that are not."""
    for child in condition.children:
        if isinstance(child, Q):
            yield from _not_above_zero(child, row)
        elif child[0].endswith("__gt") and child[1] == 0:
            column = child[0].removesuffix("__gt")
            if (value := getattr(row, column)) is not None and value <= 0:
                yield column


def _holds(constraint: models.CheckConstraint, row: Tracked) -> bool:
    try:
        constraint.validate(type(row), row)
    except ValidationError:
        return False
    return True


def _first_column(condition: Any) -> str:
    for child in condition.children:
        return _first_column(child) if isinstance(child, Q) else str(child[0]).partition("__")[0]
    return ""


def _refuse_doubles(row: Tracked) -> None:
    for constraint in row._meta.constraints:
        if isinstance(constraint, models.UniqueConstraint):
            try:
                constraint.validate(type(row), row)
            except ValidationError as error:
                said = error.messages[0]
                pointer = f"/{_last_column(constraint)}"
                raise Problem("conflict", said, errors=[{"pointer": pointer, "detail": said}]) from error
    try:
        row.validate_unique()
    except ValidationError as error:
        found = list(_pointed(error))
        raise Problem("conflict", str(found[0]["detail"]), errors=found) from error


def _last_column(constraint: models.UniqueConstraint) -> str:
    if constraint.fields:
        return str(constraint.fields[-1])
    expression: Any = constraint.expressions[-1]
    while not hasattr(expression, "name"):
        expression = expression.get_source_expressions()[0]
    return str(expression.name)
