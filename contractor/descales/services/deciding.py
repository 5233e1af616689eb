"""From a recommendation to a notice: decisions, most of them the office's, refused out of turn."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Consent, Descale, Notice, Price
from contractor.descales.planning.facts import latest_assessment
from contractor.descales.planning.visiting import VisitState, visit_state
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import (
    NOTICE,
    alarm,
    decide,
    held,
    invalid,
    refuse_unless_crew,
    refuse_unless_office,
)
from contractor.descales.words import COULD_NOT
from contractor.http.problems import Problem
from contractor.register.models import Exchanger
from contractor.register.services import rows
from contractor.visits.services.rules import reason_given
from contractor.workqueue.services import queue

CHANGEABLE = ("visit", "strainer_inside_valves", "vent_at_both_tops")


@transaction.atomic
def recommend(
    by: Person, exchanger: Exchanger, because: str, fields: Mapping[str, Any] | None = None,
    descale_id: UUID | None = None,
) -> Descale:  # fmt: skip
    """Say that an exchanger should be descaled. The latest assessment that stands goes along."""
    rows.refuse_if_retired(exchanger, "/exchanger")
    identity = {"id": descale_id} if descale_id else {}
    descale = Descale(
        **{**(fields or {}), **identity},
        exchanger=exchanger,
        because=because.strip(),
        recommended_by=by,
        assessment=latest_assessment(exchanger.pk),
    )
    refuse_unless_crew(by, descale)
    return rows.put_in(descale)


@transaction.atomic
def change_descale(by: Person, descale: Descale, fields: Mapping[str, Any]) -> Descale:
    """Visit, strainer's place, vent. The state is moved by what is done, not by hand."""
    refuse_unless_crew(by, descale)
    rows.change(descale, {name: value for name, value in fields.items() if name in CHANGEABLE})
    return descale


@transaction.atomic
def state_price(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Price:
    """The office names a price; a later one takes its place until the customer has said yes."""
    refuse_unless_office(by)
    row = held(descale)
    if row.state != "priced":
        decide(row, "priced")
    return rows.put_in(Price(descale=row, by=by, at=now, **fields))


@transaction.atomic
def record_consent(by: Person, descale: Descale, fields: Mapping[str, Any]) -> Consent:
    """The customer's yes: who, when, order number. Before chemicals go out; once acid is in it is kept too,
    marked, and opens nothing."""
    refuse_unless_office(by)
    row = held(descale)
    consent = Consent(descale=row, by=by, **fields)
    if row.batch_set.exists():
        consent.marks = ["after_acid"]
    else:
        decide(row, "agreed")
    return rows.put_in(consent)


@transaction.atomic
def give_notice(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Notice:
    """Tell the client when, for how long, with what, how loud, and who else stands still. A worker e-mails it
    with label and safety data sheet to the client's people. Refused where the visit's crew may not handle
    acid on that day; what else the visit lacks, `notice_lacks` says."""
    refuse_unless_office(by)
    row = held(descale)
    unfit = _visit_of(row, fields["work_starts_at"]).unfit
    if unfit:
        raise Problem("crew-not-fit-for-chemical-work", unfit,
                      errors=[{"pointer": "/work_starts_at", "detail": unfit}])  # fmt: skip
    if row.state != "noticed":
        decide(row, "noticed")
    plan = current_plan(row)
    notice = Notice(descale=row, by=by, at=now, cleaner=plan.cleaner if plan else None, **fields)
    rows.put_in(notice)
    queue(NOTICE, str(notice.pk), asked_by=by)
    return notice


def notice_lacks(notice: Notice) -> tuple[str, ...]:
    """What the visit still lacks for the work that the client was told of."""
    return _visit_of(notice.descale, notice.work_starts_at).lacks


def _visit_of(descale: Descale, starts_at: datetime) -> VisitState:
    plan = current_plan(descale)
    return visit_state(descale.visit, plan.rig if plan else None, starts_at)


@transaction.atomic
def call_off(by: Person, descale: Descale, reason: str, now: datetime) -> Descale:
    """It will not be done. Calling off twice is harmless; once acid is in there is no calling off."""
    refuse_unless_office(by)
    row = held(descale)
    if row.state != "called_off":
        decide(row, "called_off", {"ended_because": reason_given(reason), "ended_at": now})
    return row


@transaction.atomic
def could_not_do(by: Person, descale: Descale, why: str, words: str, now: datetime) -> Descale:
    """Why it could not be done; the recommendation that stands in its place is returned."""
    row = held(descale)
    refuse_unless_crew(by, row)
    if row.state == "could_not_do":
        return Descale.objects.get(instead_of=row)
    if why not in COULD_NOT:
        raise invalid("/why", f"{why!r} is not known here; expected one of {', '.join(COULD_NOT)}.")
    said = reason_given(words or why.replace("_", " "), "/words")
    decide(row, "could_not_do", {"could_not_because": why, "ended_because": said, "ended_at": now})
    alarm(row, "could_not_do", f"{row} could not be done: {said}", by)
    return rows.put_in(
        Descale(
            exchanger=row.exchanger,
            because=f"Could not be done: {said}. Put that right first."[:500],
            recommended_by=by,
            assessment=row.assessment,
            instead_of=row,
        )
    )
