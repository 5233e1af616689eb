"""Rankings kept beside the readings: made, superseded, never changed."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import ModuleType
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.register.models import Exchanger
from contractor.trail.tracked import leave_change
from contractor.visits.models import Finding, Reading, Visit
from contractor.visits.services.findings import post_finding
from contractor.visits.services.rules import RANK
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import Lane, queue
from diagnostics import selectors
from diagnostics.engine.causes.ranking import Ranking as Ranked
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import Assessment, Ranking
from diagnostics.ranking.findings import readings_borne_on
from diagnostics.ranking.inputs import RankingInputs, ranking_inputs

log = logging.getLogger(__name__)

TABLE = "diagnostics.ranking"
TRIES = 3
# What a computation may raise on readings or facts it cannot bear. A worker's time limit is not among them.
COMPUTATION_FAULTS = (ValueError, ArithmeticError, LookupError, TypeError, AttributeError, AssertionError)
NO_LONGER_COUNTS = "the reading was corrected, moved or set aside"
KNOWN_MORE = "something more was read, found or assessed"
Before = Callable[[], None]


def request_ranking(reading: Reading, asked_by: Person | None = None) -> WorkItem:
    return queue(RANK, str(reading.pk), asked_by=asked_by)


def tell_descale(
    by: Person,
    visit: Visit,
    exchanger: Exchanger,
    *,
    brought: str,
    changed: str = "not_measured",
    found_at: datetime | None = None,
    note: str = "",
) -> Finding:
    """Record what a descale brought out ("nothing", "solids", "colour", "mud", "slime") and changed
    ("better", "no_change", "not_measured"). Rankings around it are made anew; in vain, it reopens the
    question."""
    fields = {
        "visit": visit,
        "unit": exchanger.unit,
        "exchanger": exchanger,
        "kind": "descale",
        "value": changed,
        "brought": brought,
        "found_at": found_at or timezone.now(),
        "note": note,
    }
    return post_finding(by, fields).finding


def rank_reading(
    reading_id: UUID, *, work_item: WorkItem | None = None, before_writing: Before | None = None
) -> Ranking | None:
    """Rank the causes of what one reading shows and keep the answer; None where it no longer counts.

    What was known is read again under the reading's lock: facts that changed meanwhile are not lost. Where
    they keep changing it is ranked under the lock.
    """
    reading, tries = loaded(reading_id), 0
    while True:
        tries += 1
        inputs = ranking_inputs(reading)
        digest = inputs.digest()
        current = Ranking.objects.filter(reading=reading_id, superseded_at=None).first()
        known = current is not None and current.inputs_digest == digest
        answer = None if reading.superseded_at or known else ranked(inputs)
        with transaction.atomic():
            if before_writing is not None:
                before_writing()
            Reading.objects.select_for_update().get(pk=reading_id)
            reading = loaded(reading_id)
            if reading.superseded_at is not None:
                void(reading_id, NO_LONGER_COUNTS, timezone.now())
                return None
            now = ranking_inputs(reading)
            if now.digest() != digest:
                if tries < TRIES:
                    continue
                digest, answer = now.digest(), ranked(now)
            return _agreed(current if answer is None else _keep(reading, digest, answer, work_item))


def rank_after_finding(
    finding_id: UUID, *, work_item: WorkItem | None = None, before_writing: Before | None = None
) -> list[Ranking]:
    """Rank again every reading that the finding bears on."""
    finding = Finding.objects.get(pk=finding_id)
    made = [
        rank_reading(reading.pk, work_item=work_item, before_writing=before_writing)
        for reading in readings_borne_on(finding)
    ]
    return [one for one in made if one is not None]


def follow_assessment(reading: Reading, lane: Lane = "soon") -> None:
    """A reading was assessed: a ranking made without that, or before its facts changed, is made anew. After a
    descale the reading before it is ranked again too, since its effect is now known."""
    if Ranking.objects.filter(reading=reading, superseded_at=None).exists():
        queue(RANK, str(reading.pk), lane=lane)
    if reading.purpose == "after_descale":
        earlier = Ranking.objects.current().of_exchanger(reading.exchanger_id)
        before = earlier.filter(reading__taken_at__lt=reading.taken_at, reading__mode=reading.mode)
        latest = before.latest_taken_first().values_list("reading_id", flat=True).first()
        if latest is not None:
            queue(RANK, str(latest), lane=lane)


def follow_reassessment(exchanger_id: UUID) -> None:
    """Facts or history of an exchanger changed: what was ranked of it is ranked again."""
    standing = Ranking.objects.current().of_exchanger(exchanger_id)
    for reading_id in standing.order_by("reading__taken_at").values_list("reading_id", flat=True):
        queue(RANK, str(reading_id), lane="bulk")


def ranked(inputs: RankingInputs) -> Ranked:
    """The engine's answer, decided together with the assessment."""
    from diagnostics.engine import causes  # loads the property library: not before needed
    from diagnostics.engine.causes.signatures import keep_signatures_in

    keep_signatures_in(Path(settings.SIGNATURES_DIR))
    try:
        found = _by_engine(causes, inputs)
    except COMPUTATION_FAULTS as fault:
        read = inputs.reading
        log.warning("reading of %s at %s not ranked", inputs.facts.unit, read.taken_at, exc_info=fault)
        why = str(fault) or type(fault).__name__
        found = causes.not_ranked(inputs.facts, inputs.history, read, why)
    return causes.decided(found, inputs.surface, inputs.reading, inputs.findings)


def _by_engine(causes: ModuleType, inputs: RankingInputs) -> Ranked:
    found: Ranked = causes.rank(
        inputs.facts,
        inputs.reading,
        inputs.history,
        findings=inputs.findings,
        instruments=inputs.instruments or None,
        background=inputs.background,
    )
    return found


def loaded(reading_id: UUID) -> Reading:
    rows = Reading.objects.select_related(*selectors.WITH_EXCHANGER)
    return rows.prefetch_related("gauge_set__instruments").get(pk=reading_id)


def void(reading_id: UUID, because: str, now: datetime) -> None:
    rows = Ranking.objects.filter(reading=reading_id, superseded_at__isnull=True)
    ids = list(rows.values_list("pk", flat=True))
    rows.update(superseded_at=now, superseded_because=because)
    for pk in ids:
        told = {"superseded_at": [None, str(now)], "superseded_because": ["", because]}
        leave_change(TABLE, pk, "changed", told)


def _keep(reading: Reading, digest: str, answer: Ranked, work_item: WorkItem | None) -> Ranking:
    """A row, unless the one that stands says the same."""
    columns = _columns(answer)
    current = Ranking.objects.filter(reading=reading, superseded_at=None).first()
    if current is None or (current.result, current.engine_version) != (columns["result"], ENGINE_VERSION):
        now = timezone.now()
        void(reading.pk, KNOWN_MORE, now)
        if reading.supersedes_id is not None:
            void(reading.supersedes_id, NO_LONGER_COUNTS, now)
        current = Ranking.objects.create(
            reading=reading,
            work_item=work_item,
            engine_version=ENGINE_VERSION,
            inputs_digest=digest,
            **columns,
        )
        told = {"reading_id": str(reading.pk), "do_next": current.do_next, "engine_version": ENGINE_VERSION}
        leave_change(TABLE, current.pk, "created", {name: [None, value] for name, value in told.items()})
    return current


def _agreed(ranking: Ranking | None) -> Ranking | None:
    """One place decides what to do next: whoever reads the assessment finds the same step there."""
    if ranking is not None:
        standing = Assessment.objects.filter(reading=ranking.reading_id, superseded_at=None)
        standing.exclude(do_next=ranking.do_next).update(do_next=ranking.do_next)
    return ranking


def _columns(answer: Ranked) -> dict[str, object]:
    result = answer.as_json()
    leader = answer.causes[0]
    return {
        "leading_cause": leader["cause"],
        "leading_probability": leader["probability"],
        "fouled_probability": answer.probability("exchanger_fouled"),
        "next_check": (answer.next_check or {}).get("check", ""),
        "do_next": answer.do_next,
        "why_not_chemical": answer.why_not_chemical or "",
        "reopened": answer.reopened or "",
        "result": result,
    }
