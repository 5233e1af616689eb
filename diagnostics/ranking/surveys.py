"""Survey visits: the short rows of each loop read together, and kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.visits.models import Reading, Visit
from contractor.visits.services.rules import SURVEY
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics import selectors
from diagnostics.engine.causes.loop import Survey, SurveyRow, sorted_out, survey
from diagnostics.engine.causes.signatures import keep_signatures_in
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import LoopSurvey

Before = Callable[[], None]


def request_survey(visit: Visit, asked_by: Person | None = None) -> WorkItem:
    return queue(SURVEY, str(visit.pk), asked_by=asked_by)


def read_survey(
    visit_id: UUID, *, work_item: WorkItem | None = None, before_writing: Before | None = None
) -> list[LoopSurvey]:
    """Read every loop of the visit; one row a loop that has a running unit."""
    visit = Visit.objects.get(pk=visit_id)
    keep_signatures_in(Path(settings.SIGNATURES_DIR))
    answers = {loop: _answered(rows) for loop, rows in rows_by_loop(visit).items()}
    made = []
    with transaction.atomic():
        if before_writing is not None:
            before_writing()
        Visit.objects.select_for_update().get(pk=visit_id)
        for loop, (digest, found, left_out) in sorted(answers.items()):
            if found is not None:
                made.append(_keep(visit, loop, digest, found, left_out, work_item))
    return made


def rows_by_loop(visit: Visit) -> dict[str, list[SurveyRow]]:
    """The latest standing row of each exchanger of the visit, by the loop its unit hangs on."""
    readings = Reading.objects.standing().filter(visit=visit).select_related(*selectors.WITH_EXCHANGER)
    latest = {reading.exchanger_id: reading for reading in readings.order_by("taken_at", "pk")}
    clean = _clean_visits(list(latest))
    found: dict[str, list[SurveyRow]] = {}
    for exchanger_id, reading in latest.items():
        unit = reading.exchanger.unit
        read = selectors.reading_set(reading, unit.tag)
        then = clean.get((exchanger_id, reading.mode))
        before = selectors.reading_set(then, unit.tag) if then else None
        row = SurveyRow(selectors.facts_of(reading.exchanger), read, before)
        found.setdefault(unit.loop, []).append(row)
    return found


def _clean_visits(exchangers: list[UUID]) -> dict[tuple[UUID, str], Reading]:
    rows = Reading.objects.standing().filter(exchanger__in=exchangers, purpose="clean_reference")
    return {(row.exchanger_id, row.mode): row for row in rows.order_by("taken_at", "pk")}


def _answered(rows: list[SurveyRow]) -> tuple[str, Survey | None, dict[str, str]]:
    kept, left_out = sorted_out(rows)
    digest = hashlib.sha256(repr((ENGINE_VERSION, rows)).encode()).hexdigest()
    return digest, survey(kept) if kept else None, left_out


def _keep(
    visit: Visit,
    loop: str,
    digest: str,
    found: Survey,
    left_out: Mapping[str, str],
    work_item: WorkItem | None,
) -> LoopSurvey:
    current = LoopSurvey.objects.filter(visit=visit, loop=loop, superseded_at=None).first()
    if current is not None and (current.inputs_digest, current.engine_version) == (digest, ENGINE_VERSION):
        return current
    LoopSurvey.objects.filter(visit=visit, loop=loop, superseded_at=None).update(superseded_at=timezone.now())
    return LoopSurvey.objects.create(
        visit=visit,
        loop=loop,
        work_item=work_item,
        engine_version=ENGINE_VERSION,
        inputs_digest=digest,
        answer=found.answer,
        probability=_probability(found),
        words=found.words,
        result={
            "probabilities": dict(found.probabilities),
            "cause": found.cause,
            "units_worth_gauges": list(found.units_worth_gauges),
            "fouled_by_unit": dict(found.fouled_by_unit),
            "left_out": [{"unit": unit, "because": why} for unit, why in sorted(left_out.items())],
        },
    )


def _probability(found: Survey) -> float:
    """Of the answer; that no unit stands out counts for single units, as nothing is shared."""
    chance = found.probabilities[found.answer]
    if found.answer == "these_units":
        chance += found.probabilities.get("no_unit_stands_out", 0.0)
    return float(chance)
