"""Has the demo's readings assessed and its reports written, by the worker, and says how far it is."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import datetime

from contractor.accounts.models import Person
from contractor.trail.actor import acting_as
from contractor.visits.models import Reading
from contractor.visits.services.rules import ASSESS, RANK
from contractor.workqueue.models import WorkItem
from contractor.workqueue.services import queue
from diagnostics.models import Assessment, Ranking
from reporting.models import Document
from reporting.services import release, request_visit_report

Alive = Callable[[], bool]
LOOK_EVERY_S, TELL_EVERY_S = 0.3, 5.0
OPEN = (WorkItem.State.WAITING, WorkItem.State.RUNNING)


class WorkerGone(Exception):
    pass


def ask_for_assessments() -> None:
    """Posting a reading has asked already; this asks again for what an interrupted run left undone."""
    open_subjects = set(
        WorkItem.objects.filter(kind=ASSESS, state__in=OPEN).values_list("subject", flat=True)
    )
    answered = Assessment.objects.filter(superseded_at=None).values("reading")
    for reading_id in Reading.objects.standing().exclude(pk__in=answered).values_list("pk", flat=True):
        if str(reading_id) not in open_subjects:
            queue(ASSESS, str(reading_id), lane="bulk")


def latest_assessments() -> dict[object, Assessment]:
    """By exchanger: the assessment of its latest reading."""
    rows = Assessment.objects.filter(superseded_at=None, reading__superseded_at=None)
    rows = rows.select_related("reading__exchanger__unit__site").order_by("reading__taken_at")
    return {row.reading.exchanger_id: row for row in rows}


def ask_for_rankings() -> None:
    """Of each exchanger's latest reading: what is wrong, what to check next, why not acid yet."""
    ranked = set(Ranking.objects.current().values_list("reading_id", flat=True))
    for assessment in latest_assessments().values():
        if assessment.reading_id not in ranked:
            queue(RANK, str(assessment.reading_id))


def ask_for_reports(asked_by: Person | None) -> None:
    written = set(Document.objects.exclude(assessment=None).values_list("assessment_id", flat=True))
    for exchanger_id, assessment in latest_assessments().items():
        if assessment.pk not in written:
            request_visit_report(str(exchanger_id), "a4", asked_by)


def release_for(customer: str, by: Person | None, now: datetime) -> None:
    """The office has released this customer's reports; the others' still wait for it."""
    reports = Document.objects.filter(kind="visit_report", state="prepared")
    prepared = reports.filter(site__customer__name=customer)
    if by is None:
        return
    with acting_as(by.pk, by.email):
        for document in prepared.select_related("assessment__reading"):
            release(document, by, now)


def wait_for(kind: str, words: str, alive: Alive) -> None:
    """Until nothing of this kind is waiting or running. `words` as in "12 of 62 {words}"."""
    last_told = 0.0
    while True:
        states = list(WorkItem.objects.filter(kind=kind).values_list("state", flat=True))
        open_now = sum(state in OPEN for state in states)
        if not open_now or time.monotonic() - last_told >= (0.3 if sys.stdout.isatty() else TELL_EVERY_S):
            tell_progress(len(states) - open_now, len(states), words)
            last_told = time.monotonic()
        if not open_now:
            return
        if not alive():
            raise WorkerGone(f"the worker stopped with {open_now} of {len(states)} not {words}")
        time.sleep(LOOK_EVERY_S)


def tell_progress(done: int, of: int, words: str) -> None:
    line = f"  {done} of {of} {words}"
    if sys.stdout.isatty():
        end = "\n" if done == of else ""
        print(f"\r{line:60}", end=end, flush=True)
    else:
        print(line, flush=True)


def failures() -> list[str]:
    failed = WorkItem.objects.filter(state=WorkItem.State.FAILED)
    return [f"{item.kind} {item.subject}: {(item.problem or {}).get('detail', '')}" for item in failed]
