from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.models import Exchanger, Site
from contractor.register.services import REASSESS, rows
from contractor.register.typed import barometric_at, settle
from contractor.visits.models import Finding, Reading, Visit
from contractor.visits.plausibility import Question, questions_about
from contractor.visits.quantities import FINDING, READING
from contractor.visits.services.rules import (
    ASSESS,
    RANK,
    SURVEY,
    invalid,
    reason_given,
    refuse_unless_of_crew,
)
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue

CARRIED_OVER = (
    "visit", "exchanger", "taken_by", "taken_at", "mode", "purpose", "stage", "minutes_running", "gauge_set",
    "probe_moved", "phases", "drop_read_by", "power_includes_fan", "strainer", "back_flush", "fault_lockout",
    "note", "as_typed",
)  # fmt: skip
OBSERVED_WORDS = ("strainer", "back_flush", "fault_lockout", "note")


@dataclass(frozen=True, slots=True)
class Posted:
    """A reading as stored, what is asked about it, the work items that assess it and rank its causes."""

    reading: Reading
    questions: tuple[Question, ...]
    work_item: WorkItem
    ranking_item: WorkItem | None


@transaction.atomic
def post_readings(by: Person, fields: Mapping[str, Any], now: datetime, ranked: bool = True) -> Posted:
    """Store what was read, have it assessed and its causes ranked. What parses is stored; what looks wrong
    is asked about.

    `fields` are the reading's columns by name, with `as_typed` for what has a unit. `ranked` is False where
    a history is loaded of which only the last state matters.
    """
    visit: Visit = fields["visit"]
    refuse_unless_of_crew(by, visit)
    _refuse_other_hand(by, fields)
    reading = Reading(**{"taken_by": by, **fields}, received_at=now)
    _refuse_empty(reading)
    _put_in(reading)
    if reading.purpose == "clean_reference" and _read_later(reading):
        queue(REASSESS, str(reading.exchanger_id), asked_by=by)
    if visit.reason == "survey":
        queue(SURVEY, str(visit.pk), asked_by=by)
    return _posted(by, reading, now, ranked)


@transaction.atomic
def correct_reading(
    by: Person, reading: Reading, fields: Mapping[str, Any], reason: str, now: datetime
) -> Posted:
    """Put a corrected reading in the place of one that stands. The old one is kept; both leave their trace.

    `as_typed` is merged: quantities named there are replaced, null takes one out, the others stay.
    """
    held = _held(by, reading)
    merged = {**held.as_typed, **(fields.get("as_typed") or {})}
    as_typed = {name: entry for name, entry in merged.items() if entry is not None}
    posted = _replace(by, held, {**fields, "as_typed": as_typed}, reason, now)
    queue(REASSESS, str(held.exchanger_id), asked_by=by)
    return posted


@transaction.atomic
def move_reading(
    by: Person, reading: Reading, exchanger: Exchanger, mode: str, reason: str, now: datetime,
    visit: Visit | None = None,
) -> Posted:  # fmt: skip
    """Put a reading where it belongs: other exchanger, mode or visit. Both exchangers are assessed again."""
    held = _held(by, reading)
    target = visit or held.visit
    refuse_unless_of_crew(by, target)
    if (exchanger.pk, mode, target.pk) == (held.exchanger_id, held.mode, held.visit_id):
        raise invalid(
            "/exchanger", "The reading is there already; expected another exchanger, mode or visit."
        )
    there = {"exchanger": exchanger, "mode": mode, "visit": target}
    posted = _replace(by, held, there, reason, now)
    for exchanger_id in sorted({held.exchanger_id, exchanger.pk}):
        queue(REASSESS, str(exchanger_id), asked_by=by)
    return posted


@transaction.atomic
def set_aside_reading(by: Person, reading: Reading, reason: str, now: datetime) -> Reading:
    """Take a reading out without another in its place: entered twice, or never taken."""
    held = _held(by, reading)
    rows.change(held, {"superseded_at": now, "set_aside_because": reason_given(reason)})
    queue(REASSESS, str(held.exchanger_id), asked_by=by)
    return held


@transaction.atomic
def let_stand_as_clean(reading: Reading, stands: bool, asked_by: Person | None = None) -> bool:
    """Whether readings after a descale serve as a clean reference. What rests on them is assessed again."""
    held = Reading.objects.select_for_update().get(pk=reading.pk)
    if not rows.change(held, {"stands_as_clean": stands}):
        return False
    queue(REASSESS, str(held.exchanger_id), lane="bulk", asked_by=asked_by)
    return True


@transaction.atomic
def follow_elevation(site: Site) -> None:
    """Gauge pressures read at the site become other absolute ones. What was typed stays as it is."""
    barometric = barometric_at(site.elevation_m)
    for reading in Reading.objects.of_site(site.pk).order_by("pk").select_for_update():
        settled = settle(READING, reading.as_typed, barometric_pa=barometric)
        if not settled.errors:
            rows.change(reading, settled.columns)
    for finding in Finding.objects.of_site(site.pk).order_by("pk").select_for_update():
        settled = settle(FINDING, finding.as_typed, barometric_pa=barometric)
        if not settled.errors:
            rows.change(finding, settled.columns)


def _held(by: Person, reading: Reading) -> Reading:
    """The reading as it now stands, held until the end of the transaction."""
    held = (
        Reading.objects.select_for_update(of=("self",))
        .select_related("visit", "exchanger")
        .get(pk=reading.pk)
    )
    refuse_unless_of_crew(by, held.visit)
    if held.superseded_at is not None:
        successor = Reading.objects.filter(supersedes=held).values_list("pk", flat=True).first()
        where = "; a corrected one stands in its place" if successor else ""
        raise Problem(
            "superseded", f"This reading no longer counts{where}.", superseded_by=str(successor or "")
        )
    return held


def _replace(by: Person, held: Reading, fields: Mapping[str, Any], reason: str, now: datetime) -> Posted:
    carried = {name: getattr(held, name) for name in CARRIED_OVER}
    _refuse_other_hand(by, fields, held.taken_by_id)
    replacement = Reading(
        **{**carried, **fields}, supersedes=held, correction_reason=reason_given(reason), received_at=now
    )
    _refuse_empty(replacement)
    rows.change(held, {"superseded_at": now})
    _put_in(replacement)
    return _posted(by, replacement, now)


def _put_in(reading: Reading) -> None:
    site = reading.visit.site
    if reading.exchanger.unit.site_id != site.pk:
        detail = f"{reading.exchanger} is not at {site}, where the visit is; expected an exchanger of {site}."
        raise invalid("/exchanger", detail)
    settled = settle(READING, reading.as_typed, barometric_pa=barometric_at(site.elevation_m)).or_problem()
    for column, value in settled.columns.items():
        setattr(reading, column, value)
    reading.as_typed = settled.as_typed
    rows.put_in(reading)


def _posted(by: Person, reading: Reading, now: datetime, ranked: bool = True) -> Posted:
    item = queue(ASSESS, str(reading.pk), asked_by=by)
    ranking = queue(RANK, str(reading.pk), asked_by=by) if ranked else None
    return Posted(reading, questions_about(reading, now), item, ranking)


def _refuse_empty(reading: Reading) -> None:
    entries = reading.as_typed.values() if isinstance(reading.as_typed, Mapping) else ()
    read = any(entry is not None for entry in entries) or any(
        getattr(reading, name) for name in OBSERVED_WORDS
    )
    if not read:
        raise invalid("/as_typed", "Nothing was read; expected at least one reading, finding or note.")


def _refuse_other_hand(by: Person, fields: Mapping[str, Any], before: object = None) -> None:
    """A technician signs for their own readings; the office may enter what another wrote on paper."""
    taken_by = fields.get("taken_by")
    if taken_by is not None and not by.is_office and taken_by.pk not in (by.pk, before):
        raise PermissionDenied("A technician posts readings in their own name.")


def _read_later(reading: Reading) -> bool:
    others = Reading.objects.standing().filter(exchanger=reading.exchanger_id)
    return others.filter(taken_at__gte=reading.taken_at).exclude(pk=reading.pk).exists()
