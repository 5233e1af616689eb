"""What else a booking may not run into: a rig that is elsewhere, quiet hours, a crew unfit for acid."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from contractor.accounts.models import Certificate, Person
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.register.models import Rig
from contractor.register.services import rows
from contractor.visits.hours import quiet_hours_in_words, touches_quiet_hours, window_in_words
from contractor.visits.models import RigPlace, Visit
from contractor.visits.querysets import OPEN_STATES

declare("rig-booked-twice", 409, "A rig would be in two places at once",
        "`clashes` names the rig, the other visit, its site and its window.")  # fmt: skip
declare("inside-quiet-hours", 409, "The site wants it quiet then",
        "Choose a window outside the site's quiet hours, or say who of the customer agreed.")  # fmt: skip
declare("crew-not-fit-for-chemical-work", 409, "This crew does not do chemical work",
        "It wants two people and certificates that hold; local rules may ask for more.")  # fmt: skip

# common practice of the trade: nobody handles acid alone
FEWEST_FOR_CHEMICAL_WORK = 2


def hold_rigs(rigs: Iterable[Rig]) -> list[Rig]:
    """The rigs, held until the end of the transaction, so that two bookings cannot both find them free."""
    wanted = {rig.pk for rig in rigs}
    found = list(Rig.objects.select_for_update().filter(pk__in=wanted).order_by("pk"))
    for rig in found:
        rows.refuse_if_retired(rig, "/rigs")
    return found


def set_rigs(visit: Visit, rigs: Sequence[Rig]) -> None:
    """Places for these rigs and no others."""
    places = {place.rig_id: place for place in visit.rig_places.select_for_update()}
    wanted = {rig.pk for rig in rigs}
    for rig_id, place in places.items():
        if rig_id not in wanted:
            place.delete()
    for rig in rigs:
        if rig.pk not in places:
            rows.put_in(RigPlace(visit=visit, rig=rig))
    if places.keys() != wanted:
        rows.touch(visit)


def refuse_rig_clashes(visit: Visit, rigs: Sequence[Rig]) -> None:
    if visit.state not in OPEN_STATES or not rigs:
        return
    clashes = list(
        RigPlace.objects.clashing([rig.pk for rig in rigs], visit.window_start, visit.window_end)
        .exclude(visit=visit)
        .select_related("rig", "visit__site")
        .order_by("visit__window_start", "id")
    )
    if clashes:
        detail = "; ".join(map(_clash_in_words, clashes)) + "."
        raise Problem("rig-booked-twice", detail, errors=[{"pointer": "/rigs", "detail": detail}],
                      clashes=[_clash_as_data(place) for place in clashes])  # fmt: skip


def _clash_in_words(place: RigPlace) -> str:
    visit = place.visit
    window = window_in_words(visit.site, visit.window_start, visit.window_end)
    return f"{place.rig} is booked at {visit.site}, {window}"


def _clash_as_data(place: RigPlace) -> dict[str, str]:
    return {
        "rig": str(place.rig_id),
        "visit": str(place.visit_id),
        "site": place.visit.site.name,
        "window_start": place.visit.window_start.isoformat(),
        "window_end": place.visit.window_end.isoformat(),
    }


def refuse_noise_in_quiet_hours(visit: Visit) -> None:
    if not visit.noisy or visit.quiet_hours_agreed_with.strip():
        return
    if touches_quiet_hours(visit.site, visit.window_start, visit.window_end):
        detail = (
            f"{visit.site} wants quiet from {quiet_hours_in_words(visit.site)}; the window is "
            f"{window_in_words(visit.site, visit.window_start, visit.window_end)}. "
            "Choose another, or say in quiet_hours_agreed_with who of the customer agreed."
        )
        raise _refusal("inside-quiet-hours", "/window_start", detail)


def refuse_unfit_for_chemical_work(visit: Visit, people: Sequence[Person]) -> None:
    """Whoever is not fit for it, where the visit is one of chemical work and not over."""
    if not visit.chemical_work or visit.state not in OPEN_STATES:
        return
    lacks = why_unfit_for_chemical_work(people, visit.window_end.astimezone(visit.site.zone).date())
    if lacks:
        raise _refusal("crew-not-fit-for-chemical-work", "/crew", lacks)


def why_unfit_for_chemical_work(people: Sequence[Person], last_day: date) -> str:
    """A second person; nobody whose certificate lapses before the last day; somebody who holds one. "" where
    nothing lacks."""
    if len(people) < FEWEST_FOR_CHEMICAL_WORK:
        who = str(people[0]) if people else "nobody"
        return f"The crew is {who}; nobody works with acid alone. Add a second person."
    until = _held_until(people)
    lapsed = [person for person in people if person.pk in until and until[person.pk] < last_day]
    if lapsed:
        said = (
            f"{person}'s certificate for chemical work holds until {until[person.pk]:%d %b %Y}"
            for person in lapsed
        )
        return f"{'; '.join(said)}. Renew it, or send somebody else."
    if not until:
        return "Nobody of this crew has a certificate for chemical work on record. Record it, or send others."
    return ""


def _held_until(people: Sequence[Person]) -> dict[Any, date]:
    """Until when each person's longest certificate for chemical work holds."""
    found = Certificate.objects.filter(person__in=people, kind="chemical_work").order_by("expires_on")
    return dict(found.values_list("person", "expires_on"))


def _refusal(kind: str, pointer: str, detail: str) -> Problem:
    return Problem(kind, detail, errors=[{"pointer": pointer, "detail": detail}])
