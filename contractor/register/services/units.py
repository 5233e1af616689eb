from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.models import Exchanger, Site, Unit, UnitEvent
from contractor.register.quantities import EXCHANGER, UNIT
from contractor.register.services import rows
from contractor.register.typed import barometric_at, settle_facts

UNIT_FACTS = frozenset(
    {"site", "refrigerant", "capacity_w", "expansion", "head_pressure_valve", "high_head_cutout_pa_gauge",
     "low_suction_cutout_pa_gauge", "freeze_cutout_k", "loop", "operating_table"}
)  # fmt: skip
EXCHANGER_FACTS = frozenset(
    {"kind", "area_m2", "bore_m", "length_m", "count", "flow_in_heating", "design_flow_m3_per_s",
     "design_pressure_drop_pa", "pressure_drop_exponent", "fouling_limit_m2k_per_w",
     "rating_includes_fouling"}
)  # fmt: skip


def add_unit(fields: Mapping[str, Any]) -> Unit:
    site: Site = fields["site"]
    rows.refuse_if_retired(site, "/site")
    _refuse_retired_table(fields)
    settled = settle_facts(UNIT, fields, {}, barometric_pa=barometric_at(site.elevation_m))
    return rows.put_in(Unit(**_tidy(settled)))


@transaction.atomic
def change_unit(unit: Unit, fields: Mapping[str, Any], asked_by: Person | None = None) -> Unit:
    site: Site = fields.get("site", unit.site)
    if site != unit.site:
        rows.refuse_if_retired(site, "/site")
        _refuse_move_with_readings(unit)
    _refuse_retired_table(fields)
    settled = settle_facts(UNIT, fields, unit.as_typed, barometric_pa=barometric_at(site.elevation_m))
    changed = rows.change(unit, _tidy(settled))
    if changed & UNIT_FACTS:
        rows.ask_again(Exchanger.objects.filter(unit=unit), asked_by)
    return unit


def retire_unit(unit: Unit, now: datetime) -> Unit:
    return rows.retire(unit, now, Exchanger.objects.filter(unit=unit))


def bring_back_unit(unit: Unit) -> Unit:
    rows.refuse_if_retired(unit.site, "/site")
    return rows.bring_back(unit, Exchanger.objects.filter(unit=unit))


def add_exchanger(fields: Mapping[str, Any]) -> Exchanger:
    unit: Unit = fields["unit"]
    rows.refuse_if_retired(unit, "/unit")
    settled = settle_facts(EXCHANGER, fields, {}, barometric_pa=barometric_at(unit.site.elevation_m))
    return rows.put_in(Exchanger(**settled))


@transaction.atomic
def change_exchanger(
    exchanger: Exchanger, fields: Mapping[str, Any], asked_by: Person | None = None
) -> Exchanger:
    barometric = barometric_at(exchanger.unit.site.elevation_m)
    changed = rows.change(
        exchanger, settle_facts(EXCHANGER, fields, exchanger.as_typed, barometric_pa=barometric)
    )
    if changed & EXCHANGER_FACTS:
        rows.ask_again(Exchanger.objects.filter(pk=exchanger.pk), asked_by)
    return exchanger


def retire_exchanger(exchanger: Exchanger, now: datetime) -> Exchanger:
    return rows.retire(exchanger, now)


def bring_back_exchanger(exchanger: Exchanger) -> Exchanger:
    rows.refuse_if_retired(exchanger.unit, "/unit")
    return rows.bring_back(exchanger)


@transaction.atomic
def add_unit_event(fields: Mapping[str, Any], asked_by: Person | None = None) -> UnitEvent:
    return _assessed_again(rows.put_in(UnitEvent(**fields)), asked_by)


@transaction.atomic
def change_unit_event(
    event: UnitEvent, fields: Mapping[str, Any], asked_by: Person | None = None
) -> UnitEvent:
    if rows.change(event, fields) & {"at", "what"}:
        _assessed_again(event, asked_by)
    return event


@transaction.atomic
def take_back_unit_event(event: UnitEvent, now: datetime, asked_by: Person | None = None) -> UnitEvent:
    """Entered by mistake: it stays on record, without effect."""
    if event.taken_back_at is None:
        rows.change(event, {"taken_back_at": now})
        _assessed_again(event, asked_by)
    return event


def _assessed_again(event: UnitEvent, asked_by: Person | None) -> UnitEvent:
    rows.ask_again(Exchanger.objects.filter(unit=event.unit_id), asked_by)
    return event


def _tidy(fields: dict[str, Any]) -> dict[str, Any]:
    return {**fields, "tag": fields["tag"].strip()} if "tag" in fields else fields


def _refuse_retired_table(fields: Mapping[str, Any]) -> None:
    if table := fields.get("operating_table"):
        rows.refuse_if_retired(table, "/operating_table")


def _refuse_move_with_readings(unit: Unit) -> None:
    if Exchanger.objects.filter(unit=unit, readings__isnull=False).exists():
        detail = (
            f"{unit} has readings at {unit.site}, which stay there; "
            "retire it and add the machine at its new site under a new tag."
        )
        raise Problem("conflict", detail, errors=[{"pointer": "/site", "detail": detail}])
