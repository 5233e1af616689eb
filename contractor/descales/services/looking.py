"""Looks at the tank: each kept, and after each what to do now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, EndStep, Look
from contractor.descales.quantities import LOOK
from contractor.descales.services.baths import batches_of
from contractor.descales.services.causes import tell_nothing_dissolves
from contractor.descales.services.judging import verdict_of
from contractor.descales.services.rules import (
    Saying,
    Told,
    alarm,
    held,
    invalid,
    keep,
    mark,
    refuse_unless_crew,
)
from contractor.descales.services.settling import settle
from contractor.register.services import rows
from contractor.visits.models import Finding

UNVENTED = "reversed_without_vent"
REVERSED_UNVENTED = Saying(
    UNVENTED,
    "Reversed, and no vent is on record at the top of both paths: gas gathers where it cannot leave. Turn "
    "the flow back, or vent that top and record it with the hoses.",
    urgent=True,
)


@transaction.atomic
def add_look(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a look, late or not, and say what to do now from all looks in the order of their clocks."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    wanted = given.pop("photo_id", None)
    look = Look(**{k: v for k, v in given.items() if k != "as_typed"})
    look, new = keep(by, row, look, LOOK, given.get("as_typed") or {}, now)
    if new:
        if wanted is not None and not _carries(by, row, look, wanted):
            mark(look, "photo_not_there")
        _judge(look, row)
        settle(row)
    verdict = verdict_of(row, now)
    asked = (REVERSED_UNVENTED,) if UNVENTED in look.marks else ()
    if new and verdict.action == "nothing_dissolving":
        _nothing_dissolves(by, row, look)
    if new and look.marks:
        look.save()
        if "stop" in look.marks:
            words = "; ".join(reason.words for reason in verdict.reasons)
            alarm(row, "stop", f"{row.exchanger}: stop. {words}", by)
    return Told(look, (*verdict.sayings, *asked), new)


@transaction.atomic
def photo_of_look(by: Person, descale: Descale, look: Look, finding_id: UUID) -> Look:
    """The photo of a look that is on record. Told twice is harmless."""
    row = held(descale)
    refuse_unless_crew(by, row)
    fresh = Look.objects.select_for_update().get(pk=look.pk)
    if not _carries(by, row, fresh, finding_id):
        raise invalid("/photo", "There is no such finding at this site; expected the id of one with a photo.")
    return fresh


def _carries(by: Person, descale: Descale, look: Look, finding_id: UUID) -> bool:
    """Whether there is such a finding at the site; the look then carries it."""
    seen = Finding.objects.in_use().seen_by(by).filter(visit__site=descale.exchanger.unit.site_id)
    finding = seen.filter(pk=finding_id).first()
    if finding is not None:
        marks = [one for one in look.marks if one != "photo_not_there"]
        rows.change(look, {"photo": finding, "marks": marks})
    return finding is not None


def _nothing_dissolves(by: Person, descale: Descale, look: Look) -> None:
    """Told to the causes once: scale was probably not it, or the acid does not reach it."""
    before = Look.objects.filter(descale=descale).exclude(pk=look.pk)
    if not any("nothing_dissolving" in one.marks for one in before):
        mark(look, "nothing_dissolving")
        tell_nothing_dissolves(by, descale, look.at)


def _judge(look: Look, descale: Descale) -> None:
    """Strength by drops, and the marks of this look as things stood at its own time."""
    batches = batches_of(descale)
    cleaner = next((b.cleaner for b in reversed(batches) if b.cleaner and b.at <= look.at), None)
    factor = cleaner.strength_per_drop if cleaner else None
    if look.drops is not None and factor is not None:
        look.strength = look.drops * factor
        look.save()
    if Look.objects.filter(descale=descale, at__gt=look.at).exists():
        mark(look, "late")
    if not any(batch.at <= look.at for batch in batches):
        mark(look, "before_acid")
    elif EndStep.objects.filter(descale=descale, kind="drained", at__lte=look.at).exists():
        mark(look, "after_drained")
    if look.reversed_now and descale.vent_at_both_tops is not True:
        mark(look, UNVENTED)
    if verdict_of(descale, look.at, until=look.at).action == "stop":
        mark(look, "stop")
