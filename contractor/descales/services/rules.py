"""What the services of this room share: holding a descale, keeping what happened once, moving its state."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, TypeVar

from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.descales.models.base import Happening
from contractor.descales.states import Move, move_of, moves_from
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.register.querysets import sites_seen_by
from contractor.register.services import rows
from contractor.register.typed import Quantity, barometric_at, settle
from contractor.workqueue import kinds
from contractor.workqueue.services import queue

PLAN = kinds.declare("plan_descale", "work out the plan of a descale")
PROVE = kinds.declare("prove_descale", "judge a descale's readings after with those before")
ALARM = kinds.declare("descale_alarm", "tell the office by e-mail what happened at a descale")
NOTICE = kinds.declare("descale_notice", "e-mail a notice with the cleaner's papers to the client's people")
CERTIFIED = kinds.declare("descale_certified", "prepare the certificate of a descale that became certified")
declare("descale-state", 409, "The descale is not at that point",
        "`state` says where it stands, `next` where it may go from there, by whom and on what.")  # fmt: skip
declare("plan-refused", 409, "The plan is refused",
        "`errors` names each thing that stands against it and what would put it right.")  # fmt: skip

WITH_SITE = ("exchanger__unit__site", "exchanger__unit__operating_table", "assessment", "visit__site")
PHONE_CLOCK = timedelta(minutes=10)

Kept = TypeVar("Kept", bound=Happening)


@dataclass(frozen=True, slots=True)
class Saying:
    """What to do now: a code for programs, words for people; `urgent` is at once and before all else."""

    code: str
    words: str
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """A record as it was kept, and what to do now. `new` is False where it was there already."""

    row: Any
    do_now: tuple[Saying, ...]
    new: bool = True


def invalid(pointer: str, detail: str) -> Problem:
    return Problem("invalid", detail, errors=[{"pointer": pointer, "detail": detail}])


def held(descale: Descale) -> Descale:
    """The descale as it now stands, held until the end of the transaction."""
    found = Descale.objects.select_for_update(of=("self",)).select_related(*WITH_SITE).get(pk=descale.pk)
    return found


def refuse_unless_office(by: Person) -> None:
    if not by.is_office:
        raise PermissionDenied("The office does this.")


def refuse_unless_crew(by: Person, descale: Descale) -> None:
    """The office, and a technician who has or had a visit at the site: whoever stands there may tell."""
    if by.is_office:
        return
    site = descale.exchanger.unit.site_id
    if not by.is_technician or not sites_seen_by(by).filter(pk=site).exists():
        raise PermissionDenied("You have no visit at this site.")


def keep(
    by: Person,
    descale: Descale,
    row: Kept,
    quantities: Iterable[Quantity],
    as_typed: Mapping[str, Any],
    now: datetime,
) -> tuple[Kept, bool]:
    """Keep a record of what happened, once: an id that is there already gives the row that is there."""
    there = type(row)._default_manager.filter(pk=row.pk).first()
    if there is not None:
        if there.descale_id != descale.pk:
            raise invalid("/id", "This id belongs to another record; make a fresh one.")
        return there, False
    site = descale.exchanger.unit.site
    settled = settle(quantities, as_typed, barometric_pa=barometric_at(site.elevation_m)).or_problem()
    for column, value in settled.columns.items():
        setattr(row, column, value)
    if hasattr(row, "as_typed"):
        row.as_typed = settled.as_typed
    row.descale, row.by, row.received_at = descale, by, now
    if row.at > now + PHONE_CLOCK:
        mark(row, "clock_ahead")
    rows.put_in(row)
    return row, True


def mark(row: Happening, *codes: str) -> None:
    """Add marks that are not there yet; the caller saves."""
    row.marks = [*row.marks, *(code for code in codes if code not in row.marks)]


def decide(descale: Descale, end: str, fields: Mapping[str, Any] | None = None) -> None:
    """Move by somebody's decision; refused where the table has no such arrow."""
    if move_of(descale.state, end) is None:
        raise Problem(
            "descale-state",
            f"It is {descale.state.replace('_', ' ')}, from where it cannot become {end.replace('_', ' ')}.",
            state=descale.state,
            next=[_said(move) for move in moves_from(descale.state) if not move.irregular],
        )
    rows.change(descale, {"state": end, **(fields or {})})


def follow(descale: Descale, end: str, fields: Mapping[str, Any] | None = None) -> bool:
    """Move by what happened, where the table has the arrow; else stay. Never refused."""
    if move_of(descale.state, end) is None:
        return False
    rows.change(descale, {"state": end, **(fields or {})})
    return True


def alarm(descale: Descale, code: str, words: str, by: Person) -> None:
    """Tell the office; the worker sends it."""
    queue(ALARM, str(descale.pk), payload={"code": code, "words": words[:500]}, asked_by=by)


def _said(move: Move) -> dict[str, str]:
    return {"state": move.end, "by": move.by, "when": move.when}
