from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.register.models import Exchanger, GaugeSet, Instrument
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
    return _assessed_again(rows.put_in(Instrument(**fields)), asked_by)


@transaction.atomic
def change_instrument(
    instrument: Instrument, fields: Mapping[str, Any], asked_by: Person | None = None
) -> Instrument:
    if rows.change(instrument, fields) & ACCURACY:
        _assessed_again(instrument, asked_by)
    return instrument


@transaction.atomic
def retire_instrument(instrument: Instrument, now: datetime, asked_by: Person | None = None) -> Instrument:
    return _assessed_again(rows.retire(instrument, now), asked_by)


@transaction.atomic
def bring_back_instrument(instrument: Instrument, asked_by: Person | None = None) -> Instrument:
    return _assessed_again(rows.bring_back(instrument), asked_by)


def _assessed_again(instrument: Instrument, asked_by: Person | None) -> Instrument:
    read_with = Exchanger.objects.filter(readings__gauge_set=instrument.gauge_set_id).distinct()
    rows.ask_again(read_with, asked_by)
    return instrument
