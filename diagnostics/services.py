"""The engine applied to records: what a reading tells is kept, what it told before stays beside it."""

from __future__ import annotations

import dataclasses
import hashlib
import logging
from collections.abc import Callable
from datetime import datetime
from typing import Protocol
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import Person
from contractor.register.models import Exchanger
from contractor.register.services import REASSESS
from contractor.trail.tracked import leave_change
from contractor.visits.models import Reading
from contractor.visits.services.rules import ASSESS
from contractor.workqueue import kinds
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics import selectors
from diagnostics.answers import columns_of
from diagnostics.batch.results import withheld
from diagnostics.engine import records
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import Assessment
from diagnostics.querysets import AssessmentQuerySet
from diagnostics.ranking.services import tell_descale as tell_descale

AFTER_ASSESSED = kinds.declare(
    "after_assessed", "ask for the proof of a descale whose readings after are assessed"
)

log = logging.getLogger(__name__)

TABLE = "diagnostics.assessment"
TRIES = 3
NO_LONGER_COUNTS = "the reading was corrected, moved or set aside"
FACTS_CHANGED = "facts, history or instruments it rests on changed"
# What a computation may raise on readings or facts it cannot bear. A worker's time limit is not among them.
COMPUTATION_FAULTS = (ValueError, ArithmeticError, LookupError, TypeError, AttributeError, AssertionError)

Before = Callable[[], None]
Judged = dict[UUID, tuple[selectors.Inputs, records.Assessment]]


class Tells(Protocol):
    """How far the work is, and whether it is still ours to write."""

    def tell(self, done: int, of: int, words: str = "") -> None: ...
    def still_ours(self) -> None: ...


def request_assessment(reading: Reading, asked_by: Person | None = None) -> WorkItem:
    return queue(ASSESS, str(reading.pk), asked_by=asked_by)


def tell_after_assessed(reading: Reading, asked_by: Person | None = None) -> WorkItem:
    """Whoever keeps descales, above this room, may now set these readings against those before."""
    return queue(AFTER_ASSESSED, str(reading.exchanger_id), asked_by=asked_by)


def request_reassessment(exchanger: Exchanger, asked_by: Person | None = None, because: str = "") -> WorkItem:
    payload = {"because": because} if because else {}
    return queue(REASSESS, str(exchanger.pk), payload=payload, lane="bulk", asked_by=asked_by)


def assess_reading(
    reading_id: UUID,
    *,
    work_item: WorkItem | None = None,
    because: str = "",
    before_writing: Before | None = None,
) -> Assessment | None:
    """Judge one reading and keep the answer. Nothing changes where it rests on the same inputs as before.

    None where the reading no longer counts. What was known is read again under the reading's lock: facts that
    changed while the engine computed are not lost. Where they keep changing, as when many post at once, it is
    judged under the lock.
    """
    reading, tries = _loaded(reading_id), 0
    while True:
        tries += 1
        inputs = selectors.inputs_of(reading)
        answer = None if reading.superseded_at else judge(inputs)
        with transaction.atomic():
            if before_writing is not None:
                before_writing()
            held = Reading.objects.select_for_update().filter(pk=reading_id)
            if not held.exists():
                raise Reading.DoesNotExist(str(reading_id))
            reading = _loaded(reading_id)
            if reading.superseded_at is not None:
                _void(Assessment.objects.filter(reading=reading_id), NO_LONGER_COUNTS, timezone.now())
                return None
            now = selectors.inputs_of(reading)
            if answer is not None and now == inputs:
                return _keep(reading, inputs, answer, work_item, because)
            if tries >= TRIES:
                return _keep(reading, now, judge(now), work_item, because)


def reassess_exchanger(
    exchanger_id: UUID, progress: Tells, *, work_item: WorkItem | None = None, because: str = ""
) -> list[Assessment]:
    """Judge every reading of an exchanger again, oldest first.

    What is recorded is read once, and once more when all answers are there, under the readings' locks: those
    whose inputs changed meanwhile are judged again, in the end under the locks.
    """
    gone = Assessment.objects.of_exchanger(exchanger_id).filter(reading__superseded_at__isnull=False)
    judged: Judged = {}
    known, tries = selectors.whole_history_of(exchanger_id), 0
    while True:
        tries += 1
        _judge_what_changed(known, judged, progress)
        with transaction.atomic():
            progress.still_ours()
            list(Reading.objects.select_for_update().filter(exchanger=exchanger_id).values_list("pk"))
            known = selectors.whole_history_of(exchanger_id)
            if tries >= TRIES:
                _judge_what_changed(known, judged, progress)
            if not any(_is_new(judged, reading.pk, inputs) for reading, inputs in known.inputs()):
                _void(gone, NO_LONGER_COUNTS, timezone.now())
                kept = [
                    _keep(reading, inputs, judged[reading.pk][1], work_item, because)
                    for reading, inputs in known.inputs()
                ]
                progress.tell(len(kept), len(kept), "all readings assessed")
                return kept


def _judge_what_changed(known: selectors.WholeHistory, judged: Judged, progress: Tells) -> None:
    count = len(known.readings)
    for place, (reading, inputs) in enumerate(known.inputs()):
        progress.tell(place, count, f"reading {place + 1} of {count}")
        if _is_new(judged, reading.pk, inputs):
            judged[reading.pk] = (inputs, judge(inputs))


def _is_new(judged: Judged, reading_id: UUID, inputs: selectors.Inputs) -> bool:
    return reading_id not in judged or judged[reading_id][0] != inputs


def inputs_now(reading_id: UUID) -> selectors.Inputs:
    """What the reading would be judged on now."""
    return selectors.inputs_of(_loaded(reading_id))


def judge(inputs: selectors.Inputs) -> records.Assessment:
    """The engine's answer, or one without a number that says why the engine gave none."""
    from diagnostics.engine.assessment import DRAWS, assess  # loads the property library: not before needed

    try:
        answer = assess(inputs.facts, inputs.reading, inputs.history, inputs.instruments or None, draws=DRAWS)
        told = dataclasses.replace(answer, more={**answer.more, "draws": DRAWS})
        return _with_overdue(told, inputs.overdue)
    except COMPUTATION_FAULTS as fault:
        log.warning(
            "reading of %s at %s not computed", inputs.facts.unit, inputs.reading.taken_at, exc_info=fault
        )
        return _not_computed(inputs, fault)


def _with_overdue(answer: records.Assessment, overdue: tuple[records.Warning, ...]) -> records.Assessment:
    """The number stays as the engine has it; who reads it is told, and the digest tells the two apart."""
    if not overdue:
        return answer
    digest = hashlib.sha256(f"{answer.inputs_digest} {overdue!r}".encode()).hexdigest()
    return dataclasses.replace(answer, warnings=(*answer.warnings, *overdue), inputs_digest=digest)


def _not_computed(inputs: selectors.Inputs, fault: Exception) -> records.Assessment:
    words = str(fault) if isinstance(fault, ValueError) and str(fault) else type(fault).__name__
    reason = records.Warning(
        "not_computed", f"The number is withheld because the computation failed: {words}."
    )
    do_next = "Look for a reading of absurd size or a slip in the unit's data, correct it, and assess again."
    digest = hashlib.sha256(repr((ENGINE_VERSION, inputs)).encode()).hexdigest()
    answer = withheld(inputs.reading, reason, do_next)
    return dataclasses.replace(answer, engine_version=ENGINE_VERSION, inputs_digest=digest)


def _loaded(reading_id: UUID) -> Reading:
    rows = Reading.objects.select_related(*selectors.WITH_EXCHANGER)
    return rows.prefetch_related("gauge_set__instruments").get(pk=reading_id)


def _keep(
    reading: Reading,
    inputs: selectors.Inputs,
    answer: records.Assessment,
    work_item: WorkItem | None,
    because: str,
) -> Assessment:
    current = Assessment.objects.filter(reading=reading, superseded_at__isnull=True).first()
    if current is not None:
        same = (current.inputs_digest, current.engine_version) == (
            answer.inputs_digest,
            answer.engine_version,
        )
        if same:
            return current
        why = because or _why(current, answer)
        _void(Assessment.objects.filter(pk=current.pk), why, timezone.now())
    if reading.supersedes_id is not None:
        _void(Assessment.objects.filter(reading=reading.supersedes_id), NO_LONGER_COUNTS, timezone.now())
    made = Assessment.objects.create(
        reading=reading, work_item=work_item, **columns_of(inputs.reading, answer)
    )
    told = {"reading_id": str(reading.pk), "verdict": made.verdict, "engine_version": made.engine_version}
    leave_change(TABLE, made.pk, "created", {name: [None, value] for name, value in told.items()})
    return made


def _why(before: Assessment, now: records.Assessment) -> str:
    if before.engine_version != now.engine_version:
        return f"engine {now.engine_version} instead of {before.engine_version}"
    return FACTS_CHANGED


def _void(rows: AssessmentQuerySet, because: str, now: datetime) -> None:
    standing = rows.filter(superseded_at__isnull=True)
    ids = list(standing.values_list("pk", flat=True))
    standing.update(superseded_at=now, superseded_because=because[:200])
    for pk in ids:
        told = {"superseded_at": [None, str(now)], "superseded_because": ["", because[:200]]}
        leave_change(TABLE, pk, "changed", told)
