"""Who of the crew may write where, and the refusals the services share."""

from __future__ import annotations

from rest_framework.exceptions import PermissionDenied

from contractor.accounts.models import Person
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.visits.models import Visit
from contractor.workqueue import kinds

ASSESS = kinds.declare("assess", "assess one reading")
RANK = kinds.declare("rank", "rank the causes of what one reading shows")
HEED = kinds.declare("heed_finding", "rank again the readings that a finding bears on")
SURVEY = kinds.declare("survey", "read the short rows of a survey visit together, loop by loop")
NOTICE = kinds.declare(
    "urgent_visit_notice", "tell the office by e-mail that a technician opened an urgent visit"
)
declare("double-booked", 409, "Someone would be in two places at once",
        "`clashes` names the person, the other visit, its site and its window.")  # fmt: skip
declare("outside-access-hours", 409, "The site does not let the crew in then",
        "Choose a window within the site's access hours, or say who agreed to it.")  # fmt: skip
declare("visit-closed", 409, "The visit is over",
        "A visit that is done or called off is neither started nor finished nor changed.")  # fmt: skip
declare("superseded", 409, "It no longer counts",
        "The reading was corrected, moved or set aside since; work on the one in its place.")  # fmt: skip


def invalid(pointer: str, detail: str) -> Problem:
    return Problem("invalid", detail, errors=[{"pointer": pointer, "detail": detail}])


def refuse_unless_of_crew(by: Person, visit: Visit) -> None:
    """Office writes on every visit, a technician on those they are in the crew of, a client on none."""
    if by.is_office:
        return
    if not by.is_technician or not visit.crew_places.filter(person=by).exists():
        raise PermissionDenied("You are not in the crew of this visit.")


def reason_given(reason: str, pointer: str = "/reason") -> str:
    reason = reason.strip()
    if not reason:
        raise invalid(pointer, "Say why, in a few words.")
    if len(reason) > 300:
        raise invalid(pointer, "Say why in 300 characters or fewer.")
    return reason
