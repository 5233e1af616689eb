"""Cleaners' sheets, their files, what is in stock, and rigs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Literal

from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import transaction

from contractor.http.problems import Problem
from contractor.register import papers, sheets
from contractor.register.models import Cleaner, CleanerLot, Rig
from contractor.register.quantities import CLEANER, CLEANER_LOT, RIG
from contractor.register.services import rows
from contractor.register.typed import barometric_at, settle_facts

Paper = Literal["label", "safety_sheet"]


def add_cleaner(fields: Mapping[str, Any]) -> Cleaner:
    """A draft may lack what its sheet must have; `sheets.missing_fields` tells what."""
    cleaner = Cleaner(**settle_facts(CLEANER, fields, {}, barometric_pa=barometric_at(None)))
    _refuse_allowing_more(cleaner)
    return rows.put_in(cleaner)


@transaction.atomic
def change_cleaner(cleaner: Cleaner, fields: Mapping[str, Any]) -> Cleaner:
    settled = settle_facts(CLEANER, fields, cleaner.as_typed, barometric_pa=barometric_at(None))
    would_be = Cleaner(**{name: getattr(cleaner, name) for name in _JUDGED} | _only_judged(settled))
    _refuse_allowing_more(would_be)
    rows.change(cleaner, settled)
    return cleaner


def retire_cleaner(cleaner: Cleaner, now: datetime) -> Cleaner:
    return rows.retire(cleaner, now, CleanerLot.objects.filter(cleaner=cleaner))


def bring_back_cleaner(cleaner: Cleaner) -> Cleaner:
    return rows.bring_back(cleaner, CleanerLot.objects.filter(cleaner=cleaner))


@transaction.atomic
def keep_paper(cleaner: Cleaner, paper: Paper, upload: File[bytes]) -> Cleaner:
    """Keep a label or a safety data sheet. An older one stays in the storage, its name in the trail."""
    papers.attach(cleaner, paper, upload)
    return cleaner


@transaction.atomic
def add_generic_cleaners() -> list[Cleaner]:
    """The generic sheets that are not there yet, each property with its source."""
    wanted = [sheets.generic_fields(sheet) for sheet in sheets.generic_sheets()]
    there = {name.casefold() for name in Cleaner.objects.values_list("name", flat=True)}
    return [add_cleaner(fields) for fields in wanted if fields["name"].casefold() not in there]


def add_cleaner_lot(fields: Mapping[str, Any]) -> CleanerLot:
    rows.refuse_if_retired(fields["cleaner"], "/cleaner")
    return rows.put_in(CleanerLot(**settle_facts(CLEANER_LOT, fields, {}, barometric_pa=barometric_at(None))))


def change_cleaner_lot(lot: CleanerLot, fields: Mapping[str, Any]) -> CleanerLot:
    rows.change(lot, settle_facts(CLEANER_LOT, fields, lot.as_typed, barometric_pa=barometric_at(None)))
    return lot


def retire_cleaner_lot(lot: CleanerLot, now: datetime) -> CleanerLot:
    return rows.retire(lot, now)


def bring_back_cleaner_lot(lot: CleanerLot) -> CleanerLot:
    rows.refuse_if_retired(lot.cleaner, "/cleaner")
    return rows.bring_back(lot)


@transaction.atomic
def take_from_lot(lot: CleanerLot, mass_kg: float) -> CleanerLot:
    """What was poured came out of this lot. Never refused: below zero the count was wrong."""
    locked = CleanerLot.objects.select_for_update().get(pk=lot.pk)
    if locked.quantity_kg is not None:
        locked.quantity_kg -= mass_kg
        locked.as_typed = {**locked.as_typed, "quantity": {"value": repr(locked.quantity_kg), "unit": "kg"}}
        locked.save()
    return locked


def add_rig(fields: Mapping[str, Any]) -> Rig:
    return rows.put_in(Rig(**settle_facts(RIG, fields, {}, barometric_pa=barometric_at(None))))


def change_rig(rig: Rig, fields: Mapping[str, Any]) -> Rig:
    rows.change(rig, settle_facts(RIG, fields, rig.as_typed, barometric_pa=barometric_at(None)))
    return rig


def retire_rig(rig: Rig, now: datetime) -> Rig:
    return rows.retire(rig, now)


def bring_back_rig(rig: Rig) -> Rig:
    return rows.bring_back(rig)


_JUDGED = ("acids", "metals_allowed", "metals_only_inhibited", "metals_forbidden", "protection",
           "neutralisers", "sources")  # fmt: skip


def _only_judged(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: fields[name] for name in _JUDGED if name in fields}


def _refuse_allowing_more(cleaner: Cleaner) -> None:
    """A sheet whose lists cannot be read is told by what saves it, which points to the field."""
    try:
        cleaner.clean()
    except ValidationError:
        return
    if errors := list(sheets.against_the_table(cleaner)):
        raise Problem("invalid", str(errors[0]["detail"]), errors=errors)
