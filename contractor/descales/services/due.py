"""What is due when: the next look and titration of each bath that is in, and the strainer after a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from contractor.accounts.models import Person
from contractor.descales.models import Batch, Descale, EndStep, Look
from contractor.descales.planning.steps import FIRST_LOOKS_MIN, LOOK_EVERY_MIN

TITRATE_FIRST, TITRATE_EVERY, TITRATE_AT_MOST = (timedelta(minutes=m) for m in (10, 20, 30))
STRAINER_AFTER = timedelta(days=1)
RUNNING_AGAIN = ("in_service", "proved", "certified")


@dataclass(frozen=True, slots=True)
class NextLook:
    """Of one bath: the next look, and between which times it is titrated; never later than it must be out."""

    batch: Batch
    look_at: datetime
    titrate_from: datetime
    titrate_by: datetime

    def is_due(self, now: datetime) -> bool:
        return now >= self.look_at


@dataclass(frozen=True, slots=True)
class StrainerDue:
    """A unit that runs again since `ran_at`, whose strainer nobody has looked at after a day."""

    descale: Descale
    ran_at: datetime
    due_at: datetime


def next_looks(descale: Descale, batches: Sequence[Batch]) -> list[NextLook]:
    """For each bath that is in. One look at the tank counts for the bath mixed last before it."""
    running = [one for one in batches if one.out_at is None]
    looks = list(Look.objects.filter(descale=descale).order_by("at")) if running else []
    return [_next_of(one, [look for look in looks if look.at >= one.at]) for one in running]


def _next_of(batch: Batch, looks: Sequence[Look]) -> NextLook:
    titrated = [look.at for look in looks if look.drops is not None]
    start = titrated[-1] + TITRATE_EVERY if titrated else batch.at + TITRATE_FIRST
    latest = titrated[-1] + TITRATE_AT_MOST if titrated else start
    last = looks[-1].at if looks else None
    return NextLook(batch, *(min(at, batch.out_by) for at in (_look_after(batch.at, last), start, latest)))


def _look_after(start: datetime, last: datetime | None) -> datetime:
    """At 0, 3, 6 and 10 minutes after acid, then ten minutes after each."""
    planned = [start + timedelta(minutes=minutes) for minutes in FIRST_LOOKS_MIN]
    early = [at for at in planned if last is None or at > last]
    if early or last is None:
        return early[0]
    return last + timedelta(minutes=LOOK_EVERY_MIN)


def strainer_of(descale: Descale) -> StrainerDue | None:
    """None where the unit has not run again, or its strainer was looked at since."""
    return next(iter(_due_of([descale])), None) if descale.state in RUNNING_AGAIN else None


def strainers_due(person: Person, now: datetime) -> list[StrainerDue]:
    """Whatever should have been looked at by now, at the sites this person sees, the oldest first."""
    rows = Descale.objects.seen_by(person).filter(state__in=RUNNING_AGAIN)
    rows = rows.exclude(endstep__kind="strainer_after_a_day", endstep__outcome__in=("done", "not_needed"))
    found = _due_of(list(rows.select_related("exchanger__unit__site")))
    return sorted((one for one in found if one.due_at <= now), key=lambda one: one.due_at)


def _due_of(descales: Sequence[Descale]) -> list[StrainerDue]:
    steps = EndStep.objects.filter(
        descale__in=descales, kind__in=("run", "strainer_after_a_day"), outcome__in=("done", "not_needed")
    ).order_by("at")
    ran, looked = {}, set()
    for step in steps:
        if step.kind == "run":
            ran[step.descale_id] = step.at
        else:
            looked.add(step.descale_id)
    return [
        StrainerDue(one, ran[one.pk], ran[one.pk] + STRAINER_AFTER)
        for one in descales
        if one.pk in ran and one.pk not in looked
    ]
