from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.register.models import Exchanger, GaugeSet, Instrument
from contractor.register.models.instruments import CALIBRATION_HOLDS_MONTHS
from contractor.register.services import rows

ACCURACY = frozenset({"repeating", "random", "relative", "reading"})


def add_gauge_set(fields: Mapping[str, Any]) -> GaugeSet:
    return rows.put_in(GaugeSet(**fields))


def change_gauge_set(gauge_set: GaugeSet, fields: Mapping[str, Any]) -> GaugeSet:
    rows.change(gauge_set, fields)
    return gauge_set


def retire_gauge_set(gauge_set: GaugeSet, now: datetime) -> GaugeSet:
    """Its instruments keep their accuracy for the readings they took."""
    return rows.retire(gauge_set, now)


def bring_back_gauge_set(gauge_set: GaugeSet) -> GaugeSet:
    return rows.bring_back(gauge_set)


@transaction.atomic
def add_instrument(fields: Mapping[str, Any], asked_by: Person | None = None) -> Instrument:
    rows.refuse_if_retired(fields["gauge_set"], "/gauge_set")
    return _assessed_again(rows.put_in(Instrument(**_with_due_day(fields, fields["reading"]))), asked_by)


@transaction.atomic
def change_instrument(
    instrument: Instrument, fields: Mapping[str, Any], asked_by: Person | None = None
) -> Instrument:
    if rows.change(instrument, _with_due_day(fields, fields.get("reading", instrument.reading))) & ACCURACY:
        _assessed_again(instrument, asked_by)
    return instrument


@transaction.atomic
def retire_instrument(instrument: Instrument, now: datetime, asked_by: Person | None = None) -> Instrument:
    return _assessed_again(rows.retire(instrument, now), asked_by)


@transaction.atomic
def bring_back_instrument(instrument: Instrument, asked_by: Person | None = None) -> Instrument:
    return _assessed_again(rows.bring_back(instrument), asked_by)


def _with_due_day(fields: Mapping[str, Any], reading: str) -> Mapping[str, Any]:
    """A new calibration sets when the next is due, unless that is said."""
    made = fields.get("calibrated_on")
    if made is None or fields.get("calibration_due_on") is not None:
        return fields
    months = made.year * 12 + made.month - 1 + CALIBRATION_HOLDS_MONTHS.get(reading, 12)
    year, month = divmod(months, 12)
    day = min(made.day, monthrange(year, month + 1)[1])
    return {**fields, "calibration_due_on": date(year, month + 1, day)}


def _assessed_again(instrument: Instrument, asked_by: Person | None) -> Instrument:
    read_with = Exchanger.objects.filter(readings__gauge_set=instrument.gauge_set_id).distinct()
    rows.ask_again(read_with, asked_by)
    return instrument
