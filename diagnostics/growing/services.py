"""Fits of growth kept beside the results: made anew where what they rest on changed, never changed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from contractor.register.models import Exchanger, UnitEvent
from contractor.trail.tracked import leave_change
from contractor.workqueue import kinds
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.growing import inputs
from diagnostics.models import Assessment, GrowthFit

GROW = kinds.declare("fit_growth", "tell when an exchanger reaches its limit, from how its deposit grew")
TABLE = "diagnostics.growthfit"
AT_MOST = 200
Before = Callable[[], None]


def ask_for_stale() -> list[WorkItem]:
    """Queue, in bulk, each exchanger with results enough whose fit is missing or rests on others."""
    read, events = read_now(), renewed_now()
    made = dict(GrowthFit.objects.current().values_list("exchanger", "inputs_digest"))
    stale = [
        exchanger
        for exchanger, (unit, ids) in read.items()
        if len(ids) >= inputs.FEWEST and made.get(exchanger) != inputs.digest_of(ids, events.get(unit, []))
    ]
    return [queue(GROW, str(exchanger), lane="bulk") for exchanger in stale[:AT_MOST]]


def read_now() -> dict[UUID, tuple[UUID, list[int]]]:
    """By exchanger in use: its unit, and the assessments that stand."""
    found: dict[UUID, tuple[UUID, list[int]]] = {}
    rows = Assessment.objects.current().filter(reading__exchanger__retired_at=None).order_by()
    for exchanger, unit, pk in rows.values_list("reading__exchanger", "reading__exchanger__unit", "pk"):
        found.setdefault(exchanger, (unit, []))[1].append(pk)
    return found


def renewed_now() -> dict[UUID, list[UUID]]:
    found: dict[UUID, list[UUID]] = {}
    rows = UnitEvent.objects.filter(what__in=inputs.RENEWED, taken_back_at=None).order_by()
    for unit, pk in rows.values_list("unit", "pk"):
        found.setdefault(unit, []).append(pk)
    return found


def fit_exchanger(
    exchanger_id: UUID, *, work_item: WorkItem | None = None, before_writing: Before | None = None
) -> GrowthFit:
    """Fit what stands now. The row that rests on the same is left as it is."""
    exchanger = Exchanger.objects.get(pk=exchanger_id)
    rows, events = inputs.standing(exchanger_id), inputs.renewals(exchanger.unit_id)
    digest = inputs.digest_of([row.pk for row in rows], [event.pk for event in events])
    current = GrowthFit.objects.current().filter(exchanger=exchanger).first()
    if current is not None and current.inputs_digest == digest:
        return current
    columns = fitted(inputs.known(rows, events))
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        Exchanger.objects.select_for_update().get(pk=exchanger_id)
        supersede(exchanger_id, timezone.now())
        made = GrowthFit.objects.create(
            exchanger=exchanger, work_item=work_item, engine_version=ENGINE_VERSION, inputs_digest=digest,
            **columns,
        )  # fmt: skip
        leave_change(TABLE, made.pk, "created", {"exchanger_id": [None, str(exchanger_id)]})
    return made


def supersede(exchanger_id: UUID, now: datetime) -> None:
    for row in GrowthFit.objects.current().filter(exchanger=exchanger_id):
        GrowthFit.objects.filter(pk=row.pk).update(superseded_at=now)
        leave_change(TABLE, row.pk, "changed", {"superseded_at": [None, str(now)]})


def fitted(found: inputs.Known) -> dict[str, Any]:
    """Columns of a fit; where none can be made, why."""
    plain = {"unit": found.unit, "limit_value": found.limit, "readings": len(found.spans)}
    if found.why_not or found.since is None:
        return {**plain, "why_not": found.why_not, "result": {}}
    from diagnostics.engine import growth  # scipy: not before needed

    told = growth.reaching(inputs.results(found), found.limit, episode_now(found))
    if told is None:
        return {**plain, "why_not": inputs.NO_RESULTS, "result": {}}
    laws = [
        {"law": one.law, "weight": one.weight, "parameters": list(one.parameters),
         "offsets": [list(pair) for pair in one.offsets], "chi_square": one.chi_square}
        for one in told.laws
    ]  # fmt: skip
    days = {k: v if math.isfinite(v) else None for k, v in dataclasses.asdict(told.days).items()}
    return {
        **plain, "since": found.since, "law": told.laws[0].law,
        "reached_at": moment(found.since, told.days.value),
        "reached_from": moment(found.since, told.days.low),
        "reached_until": moment(found.since, told.days.high),
        "probability_never": told.probability_never, "probability_beyond": told.probability_beyond,
        "result": {"days": days, "laws": laws},
    }  # fmt: skip


def episode_now(found: inputs.Known) -> int:
    """The episode under way; one without results yet starts clean."""
    running = [number for _, start, number in found.spans if start == found.since]
    return running[0] if running else 1 + max(number for _, _, number in found.spans)


def moment(since: datetime, days: float) -> datetime | None:
    """None: not within ten years."""
    return since + timedelta(days=days) if math.isfinite(days) else None
