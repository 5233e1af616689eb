from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.http.problems import Problem
from contractor.register.models import Rig
from contractor.register.services import rows
from contractor.visits.hours import hours_in_words, window_in_words, within_access_hours
from contractor.visits.models import CrewPlace, Visit
from contractor.visits.querysets import OPEN_STATES
from contractor.visits.services import conflicts
from contractor.visits.services.rules import invalid, reason_given, refuse_unless_of_crew

PLANNED = ("chemical_work", "noisy", "quiet_hours_agreed_with")
LONGEST_WINDOW = timedelta(days=14)
DESCALE = "descale"


@transaction.atomic
def book_visit(fields: Mapping[str, Any], crew: Sequence[Person] = (), rigs: Sequence[Rig] = ()) -> Visit:
    """Book a window for a crew and its rigs at a site.

    Nobody and no rig is booked twice at once; the site's hours hold; chemical work wants a crew fit for it,
    and a descale is chemical work unless `fields` says that it is not.
    """
    visit = Visit(**_with_chemicals(fields))
    rows.refuse_if_retired(visit.site, "/site")
    people, held = _hold(crew), conflicts.hold_rigs(rigs)
    if visit.window_start < visit.window_end:
        _refuse_too_long(visit)
        _refuse_outside_hours(visit)
        _refuse_clashes(visit, people)
        _refuse_conflicts(visit, people, held)
    rows.put_in(visit)
    conflicts.set_rigs(visit, held)
    for person in people:
        rows.put_in(CrewPlace(visit=visit, person=person, **_hold_of(visit)))
    return visit


@transaction.atomic
def change_visit(
    visit: Visit,
    fields: Mapping[str, Any],
    crew: Sequence[Person] | None = None,
    rigs: Sequence[Rig] | None = None,
) -> Visit:
    """Move the window, change the crew, the rigs or the words of a visit that is still open.

    One that becomes a descale becomes chemical work, unless `fields` says that it is not.
    """
    if visit.reason != DESCALE:
        fields = _with_chemicals(fields)
    moved = any(
        name in fields and fields[name] != getattr(visit, name) for name in ("window_start", "window_end")
    )
    planned = any(name in fields and fields[name] != getattr(visit, name) for name in PLANNED)
    replanned = moved or planned or crew is not None or rigs is not None
    if (moved or crew is not None or rigs is not None) and visit.state not in OPEN_STATES:
        raise _closed(visit)
    current = [place.person for place in visit.crew_places.select_related("person")]
    people = _hold(current if crew is None else crew)
    held = conflicts.hold_rigs(visit.rigs.all() if rigs is None else rigs)
    rows.change(visit, fields)
    if moved:
        _refuse_too_long(visit)
        _refuse_outside_hours(visit)
    if moved or crew is not None:
        _refuse_clashes(visit, people)
        _set_crew(visit, people)
    if replanned:
        _refuse_conflicts(visit, people, held)
    if rigs is not None:
        conflicts.set_rigs(visit, held)
    return visit


@transaction.atomic
def call_off(visit: Visit, reason: str, now: datetime) -> Visit:
    if visit.state == "called_off":
        return visit
    if visit.state == "done":
        raise _closed(visit)
    rows.change(
        visit,
        {"state": "called_off", "called_off_at": now, "called_off_because": reason_given(reason)},
    )
    _release(visit)
    return visit


@transaction.atomic
def start_visit(by: Person, visit: Visit, at: datetime) -> Visit:
    """Starting twice is harmless."""
    refuse_unless_of_crew(by, visit)
    if visit.state == "booked":
        rows.change(visit, {"state": "under_way", "started_at": at})
    elif visit.state != "under_way":
        raise _closed(visit)
    return visit


@transaction.atomic
def finish_visit(by: Person, visit: Visit, at: datetime) -> Visit:
    """Finishing twice is harmless; one that nobody started counts as started then."""
    refuse_unless_of_crew(by, visit)
    if visit.state == "called_off":
        raise _closed(visit)
    if visit.state != "done":
        rows.change(visit, {"state": "done", "started_at": visit.started_at or at, "finished_at": at})
        _release(visit)
    return visit


def _with_chemicals(fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """A descale goes with acid where nobody says otherwise."""
    return {"chemical_work": True, **fields} if fields.get("reason") == DESCALE else fields


def _hold(crew: Iterable[Person]) -> list[Person]:
    """The people, held until the end of the transaction, so that two bookings cannot both find them free."""
    wanted = {person.pk for person in crew}
    people = list(Person.objects.select_for_update().filter(pk__in=wanted).order_by("pk"))
    for person in people:
        if person.is_client or not person.is_active:
            why = "signs in as a client" if person.is_client else "no longer signs in"
            raise invalid("/crew", f"{person} {why}; expected people of the crew or the office.")
    return people


def _hold_of(visit: Visit) -> dict[str, datetime | None]:
    holds = visit.state in OPEN_STATES and not visit.opened_by_tag
    return {
        "holds_from": visit.window_start if holds else None,
        "holds_until": visit.window_end if holds else None,
    }


def _set_crew(visit: Visit, people: Sequence[Person]) -> None:
    """Places for these people and no others, held for the window as it now is."""
    places = {place.person_id: place for place in visit.crew_places.select_for_update()}
    for person_id, place in places.items():
        if person_id not in {person.pk for person in people}:
            place.delete()
    for person in people:
        if person.pk in places:
            rows.change(places[person.pk], _hold_of(visit))
        else:
            rows.put_in(CrewPlace(visit=visit, person=person, **_hold_of(visit)))
    if places.keys() != {person.pk for person in people}:
        rows.touch(visit)


def _release(visit: Visit) -> None:
    for place in visit.crew_places.select_for_update():
        rows.change(place, {"holds_from": None, "holds_until": None})


def _refuse_too_long(visit: Visit) -> None:
    """A plan; what takes longer is booked as several visits, or holds its crew from all else by a slip."""
    length = visit.window_end - visit.window_start
    if length > LONGEST_WINDOW:
        raise invalid(
            "/window_end",
            f"The window is {length.total_seconds() / 86_400:.4g} days long; expected at most "
            f"{LONGEST_WINDOW.days}. Book longer work as several visits.",
        )


def _refuse_outside_hours(visit: Visit) -> None:
    if visit.urgent or visit.outside_hours_agreed_with.strip():
        return
    if within_access_hours(visit.site, visit.window_start, visit.window_end):
        return
    window = window_in_words(visit.site, visit.window_start, visit.window_end)
    detail = (
        f"{visit.site} lets the crew in from {hours_in_words(visit.site)}; the window is {window}. "
        "Choose another, or say in outside_hours_agreed_with who agreed to it."
    )
    raise Problem("outside-access-hours", detail, errors=[{"pointer": "/window_start", "detail": detail}])


def _refuse_conflicts(visit: Visit, people: Sequence[Person], rigs: Sequence[Rig]) -> None:
    conflicts.refuse_rig_clashes(visit, rigs)
    conflicts.refuse_noise_in_quiet_hours(visit)
    conflicts.refuse_unfit_for_chemical_work(visit, people)


def _refuse_clashes(visit: Visit, people: Sequence[Person]) -> None:
    if _hold_of(visit)["holds_from"] is None:
        return
    clashing = (
        CrewPlace.objects.clashing([person.pk for person in people], visit.window_start, visit.window_end)
        .exclude(visit=visit)
        .select_related("person", "visit__site")
        .order_by("holds_from", "id")
    )
    clashes = list(clashing)
    if clashes:
        detail = "; ".join(_clash_in_words(place) for place in clashes) + "."
        raise Problem("double-booked", detail, errors=[{"pointer": "/crew", "detail": detail}],
                      clashes=[_clash_as_data(place) for place in clashes])  # fmt: skip


def _clash_in_words(place: CrewPlace) -> str:
    site = place.visit.site
    window = window_in_words(site, place.visit.window_start, place.visit.window_end)
    return f"{place.person} is booked at {site}, {window}"


def _clash_as_data(place: CrewPlace) -> dict[str, str]:
    return {
        "person": str(place.person_id),
        "visit": str(place.visit_id),
        "site": place.visit.site.name,
        "window_start": place.visit.window_start.isoformat(),
        "window_end": place.visit.window_end.isoformat(),
    }


def _closed(visit: Visit) -> Problem:
    return Problem("visit-closed", f"This visit is {visit.state.replace('_', ' ')}.")
