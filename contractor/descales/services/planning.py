"""Asking for a plan, and keeping what the worker made of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, DescalePlan
from contractor.descales.planning import Asked, Composed, PlanFacts, Refusal, compose, facts_for, refusals
from contractor.descales.services.rules import PLAN, WITH_SITE, follow, held, refuse_unless_crew
from contractor.descales.states import BEFORE_ACID
from contractor.http.problems import Problem
from contractor.register.models import Cleaner, Rig
from contractor.register.services import rows
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics.engine.version import ENGINE_VERSION

Before = Callable[[], None]


def refuse(found: Sequence[Refusal]) -> None:
    """The refusal, with every reason at once."""
    if found:
        errors = [{"code": one.code, "detail": one.words} for one in found]
        raise Problem("plan-refused", found[0].words, errors=errors)


def plan_facts(descale: Descale, cleaner: Cleaner, rig: Rig, asked: Asked, now: datetime) -> PlanFacts:
    whole = Descale.objects.select_related(*WITH_SITE).get(pk=descale.pk)
    return facts_for(whole, cleaner, rig, asked, now)


def request_plan(
    by: Person, descale: Descale, cleaner: Cleaner, rig: Rig, asked: Asked, now: datetime
) -> WorkItem:
    """Refused at once where it is unsafe, as far as that is known now; else queued."""
    refuse_unless_crew(by, descale)
    if descale.state not in BEFORE_ACID:
        words = f"It is {descale.state.replace('_', ' ')}; plans are made before acid goes in."
        raise Problem("descale-state", words, state=descale.state)
    refuse(refusals(plan_facts(descale, cleaner, rig, asked, now)))
    payload = {"cleaner": str(cleaner.pk), "rig": str(rig.pk), "asked": asked.as_json()}
    return queue(PLAN, str(descale.pk), payload=payload, asked_by=by)


def make_plan(
    descale_id: UUID, cleaner_id: UUID, rig_id: UUID, asked: Asked, now: datetime,
    *, work_item: WorkItem | None = None, before_writing: Before | None = None,
) -> DescalePlan:  # fmt: skip
    """Work the plan out and keep it. With anything against it the row says what, and nobody works by it."""
    descale = Descale.objects.select_related(*WITH_SITE).get(pk=descale_id)
    cleaner, rig = Cleaner.objects.get(pk=cleaner_id), Rig.objects.get(pk=rig_id)
    facts = facts_for(descale, cleaner, rig, asked, now)
    composed = compose(facts)
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        row = held(descale)
        same = DescalePlan.objects.current().filter(descale=row, inputs_digest=facts.digest).first()
        if same is None:
            same = _keep(row, cleaner, rig, facts, composed, now, work_item)
        if same.stands:
            follow(row, "planned")
        return same


def _keep(
    descale: Descale, cleaner: Cleaner, rig: Rig, facts: PlanFacts, composed: Composed, now: datetime,
    work_item: WorkItem | None,
) -> DescalePlan:  # fmt: skip
    for old in DescalePlan.objects.current().filter(descale=descale):
        rows.change(old, {"superseded_at": now})
    return rows.put_in(
        DescalePlan(
            descale=descale,
            cleaner=cleaner,
            rig=rig,
            work_item=work_item,
            asked_by=work_item.asked_by if work_item else None,
            made_at=now,
            engine_version=ENGINE_VERSION,
            inputs_digest=facts.digest,
            asked=facts.asked.as_json(),
            refusals=[one.as_json() for one in composed.refusals],
            sheet=composed.sheet,
            result=composed.result,
            **composed.columns,
        )
    )


def current_plan(descale: Descale) -> DescalePlan | None:
    """The plan to work by; None where there is none, or the latest is refused."""
    plan = DescalePlan.objects.current().filter(descale=descale).select_related("cleaner", "rig").first()
    return plan if plan is not None and plan.stands else None
