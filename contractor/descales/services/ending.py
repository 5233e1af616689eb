"""The end: drain, rinse, put back. Steps in their order; some can stay open by name, some never."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Batch, Descale, EndStep
from contractor.descales.quantities import END_STEP
from contractor.descales.services.checking import RATING_NOT_KNOWN, mark_no_rating
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
from contractor.descales.services.steps import fault_of_step, settled_steps, what_lacks
from contractor.descales.words import AFTER_SERVICE, END_STEPS, NEVER_WAIVED
from contractor.register.services import rows


@transaction.atomic
def record_end_step(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a step of the end with its reading. What happened is never refused; a waiver may be."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    step = EndStep(**{k: v for k, v in given.items() if k != "as_typed"})
    _refuse_waiver(step)
    step, new = keep(by, row, step, END_STEP, given.get("as_typed") or {}, now)
    asked: tuple[Saying, ...] = ()
    if new:
        _mark(step, row)
        if step.kind == "second_hold_test" and mark_no_rating(step, row):
            asked = (RATING_NOT_KNOWN,)
        if step.marks:
            step.save()
        if step.kind == "drained" and step.outcome == "done":
            for batch in Batch.objects.filter(descale=row, at__lte=step.at, out_at__isnull=True):
                rows.change(batch, {"out_at": step.at})
        if "unsafe" in step.marks:
            alarm(row, "unsafe_step", f"{row.exchanger}: {END_STEPS[step.kind]}, out of turn.", by)
        settle(row)
    return Told(step, (*asked, *what_lacks(row)), new)


def _refuse_waiver(step: EndStep) -> None:
    if step.outcome != "left_open":
        return
    if step.kind in NEVER_WAIVED:
        words = f"This is never left open: {END_STEPS[step.kind]}."
        raise invalid("/outcome", words)
    if not step.told.strip():
        raise invalid("/told", "A step stays open by name: say who leaves it open and why.")


def _mark(step: EndStep, descale: Descale) -> None:
    order = list(END_STEPS)
    earlier = order[: order.index(step.kind)]
    settled = settled_steps(descale, before=step)
    missing = [kind for kind in earlier if kind not in settled and kind not in AFTER_SERVICE]
    if missing:
        mark(step, "out_of_order")
    running = step.kind in ("locks_off", "crankcase_heater", "run")
    if running and [kind for kind in missing if kind in NEVER_WAIVED]:
        mark(step, "unsafe")
    if step.outcome == "done" and (words := fault_of_step(step, descale)):
        mark(step, "does_not_pass")
        step.note = f"{step.note}\n{words}".strip()
