"""A browser that nobody uses is signed out, and any after fourteen days (OWASP ASVS 5.0, 7.3.1 and 7.3.2).

Office, owner and clients: twelve hours without a request. The crew: none but the fourteen days, because their
phones lie in basements for days and what waits in them must still go out under the name that typed it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from contractor.accounts.models import Person, Role

IDLE_FOR = timedelta(hours=12)
LONGEST = timedelta(days=14)
# the moment of the last request is written no more often than this
TO_WITHIN = timedelta(minutes=10)
BEGAN, SEEN = "signed_in_at", "seen_at"


class IdleMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        # a request without the cookie has no session to end, and costs no query here
        if request.session.session_key and isinstance(request.user, Person):
            heed(request, request.user, timezone.now().timestamp())
        return self.get_response(request)


def heed(request: HttpRequest, person: Person, now: float) -> None:
    """Sign out, or note that this browser is in use. Times are seconds since 1970."""
    session = request.session
    began, seen = session.get(BEGAN, now), session.get(SEEN, now)
    if is_over(person, began, seen, now):
        logout(request)
    elif BEGAN not in session or now - seen > TO_WITHIN.total_seconds():
        session[BEGAN], session[SEEN] = began, now


def is_over(person: Person, began: float, seen: float, now: float) -> bool:
    idle = LONGEST if person.role == Role.TECHNICIAN else IDLE_FOR
    return now - began > LONGEST.total_seconds() or now - seen > idle.total_seconds()


def begin(request: HttpRequest) -> None:
    request.session[BEGAN] = request.session[SEEN] = timezone.now().timestamp()
