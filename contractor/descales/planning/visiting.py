"""The visit that a descale is booked for: whether its crew may handle acid, and what it lacks besides."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from contractor.register.models import Rig
from contractor.visits.hours import window_in_words
from contractor.visits.models import Visit
from contractor.visits.querysets import OPEN_STATES
from contractor.visits.services import why_unfit_for_chemical_work


@dataclass(frozen=True, slots=True)
class VisitState:
    """`unfit` says why its crew does not work with acid on that day, "" where it may; `lacks` is the rest."""

    unfit: str = ""
    lacks: tuple[str, ...] = ()


def visit_state(visit: Visit | None, rig: Rig | None, starts_at: datetime | None) -> VisitState:
    """Judged for the day of the work, or the visit's last where nobody says when."""
    if visit is None or visit.state not in OPEN_STATES:
        return VisitState(lacks=("No visit is booked for it: two people, and the rig.",))
    last = max(filter(None, (visit.window_end, starts_at)))
    return VisitState(unfit_at(visit, last), tuple(_lacks(visit, rig, starts_at)))


def unfit_at(visit: Visit, at: datetime) -> str:
    """Why the visit's crew, as it is now, does not work with acid on the day of `at`; "" where it may."""
    people = list(visit.crew.order_by("name", "pk"))
    return why_unfit_for_chemical_work(people, at.astimezone(visit.site.zone).date())


def _lacks(visit: Visit, rig: Rig | None, starts_at: datetime | None) -> list[str]:
    found = []
    if rig is not None and not visit.rigs.filter(pk=rig.pk).exists():
        found.append(
            f"{rig} is not booked on the visit: the office puts it there, so that nobody else has it."
        )
    if not visit.chemical_work:
        found.append("The visit is not booked as chemical work.")
    if starts_at is not None and not visit.window_start <= starts_at < visit.window_end:
        window = window_in_words(visit.site, visit.window_start, visit.window_end)
        starts = starts_at.astimezone(visit.site.zone)
        found.append(f"The work starts {starts:%a %d %b %Y %H:%M}; the visit is {window}.")
    return found
