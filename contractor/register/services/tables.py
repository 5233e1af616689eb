from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.models import Exchanger, OperatingTable, OperatingTableRow
from contractor.register.quantities import TABLE_ROW
from contractor.register.services import rows
from contractor.register.typed import barometric_at, settle_facts


@transaction.atomic
def add_operating_table(
    fields: Mapping[str, Any], printed_rows: Sequence[Mapping[str, Any]] = ()
) -> OperatingTable:
    table = rows.put_in(OperatingTable(**fields))
    for place, row in enumerate(printed_rows):
        try:
            _put_in_row({**row, "table": table})
        except Problem as problem:
            raise _of_row(problem, place) from problem
    return table


@transaction.atomic
def change_operating_table(
    table: OperatingTable, fields: Mapping[str, Any], asked_by: Person | None = None
) -> OperatingTable:
    if "rating_includes_fouling" in rows.change(table, fields):
        _assessed_again(table, asked_by)
    return table


@transaction.atomic
def retire_operating_table(
    table: OperatingTable, now: datetime, asked_by: Person | None = None
) -> OperatingTable:
    """The units that used it do without from now on."""
    rows.retire(table, now)
    _assessed_again(table, asked_by)
    return table


@transaction.atomic
def bring_back_operating_table(table: OperatingTable, asked_by: Person | None = None) -> OperatingTable:
    rows.bring_back(table)
    _assessed_again(table, asked_by)
    return table


@transaction.atomic
def add_table_row(fields: Mapping[str, Any], asked_by: Person | None = None) -> OperatingTableRow:
    return _row_changed(_put_in_row(fields), asked_by)


@transaction.atomic
def change_table_row(
    row: OperatingTableRow, fields: Mapping[str, Any], asked_by: Person | None = None
) -> OperatingTableRow:
    if rows.change(row, settle_facts(TABLE_ROW, fields, row.as_typed, barometric_pa=barometric_at(None))):
        _row_changed(row, asked_by)
    return row


@transaction.atomic
def retire_table_row(
    row: OperatingTableRow, now: datetime, asked_by: Person | None = None
) -> OperatingTableRow:
    return _row_changed(rows.retire(row, now), asked_by)


@transaction.atomic
def bring_back_table_row(row: OperatingTableRow, asked_by: Person | None = None) -> OperatingTableRow:
    return _row_changed(rows.bring_back(row), asked_by)


def _put_in_row(fields: Mapping[str, Any]) -> OperatingTableRow:
    """Printed pressures are gauge; one printed absolute counts from the standard atmosphere at sea level."""
    return rows.put_in(
        OperatingTableRow(**settle_facts(TABLE_ROW, fields, {}, barometric_pa=barometric_at(None)))
    )


def _of_row(problem: Problem, place: int) -> Problem:
    errors = [
        {**error, "pointer": f"/rows/{place}{str(error['pointer']).removeprefix('#')}"}
        for error in problem.errors
    ]
    return Problem(problem.kind, str(problem.detail), errors=errors)


def _row_changed(row: OperatingTableRow, asked_by: Person | None) -> OperatingTableRow:
    rows.touch(row.table)
    _assessed_again(row.table, asked_by)
    return row


def _assessed_again(table: OperatingTable, asked_by: Person | None) -> None:
    rows.ask_again(Exchanger.objects.on_table(table), asked_by)
