"""Every sign-in to the pages is remembered, so that its person can see and end it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.contrib.sessions.models import Session
from django.http import HttpRequest

from contractor.accounts import services
from contractor.accounts.models import PageSession, Person
from contractor.trail.actor import acting_as
from contractor.web import held, idle


@dataclass(frozen=True, slots=True)
class Browser:
    """One that could ask for a page of this person now; `seen_at` to within ten minutes."""

    row: PageSession
    seen_at: datetime


def browsers_of(person: Person, now: datetime) -> list[Browser]:
    """Those still signed in. One left to lapse is signed out though nobody pressed the button."""
    rows = list(PageSession.objects.filter(person=person))
    held = Session.objects.filter(session_key__in=[each.session_key for each in rows], expire_date__gt=now)
    data = {each.session_key: each.get_decoded() for each in held}
    found = []
    for row in rows:
        if (session := data.get(row.session_key)) is None:
            continue
        since = row.created_at.timestamp()
        began, seen = session.get(idle.BEGAN, since), session.get(idle.SEEN, since)
        if not idle.is_over(person, began, seen, now.timestamp()):
            found.append(Browser(row, datetime.fromtimestamp(seen, UTC)))
    return found


def remember(request: HttpRequest, person: Person) -> None:
    if not request.session.session_key:
        request.session.save()
    with acting_as(person.pk, person.email):
        services.note_page_session(
            person, str(request.session.session_key), request.headers.get("User-Agent", "")
        )


def signed_in(sender: Any, request: HttpRequest, user: Person, **more: Any) -> None:
    idle.begin(request)
    held.forget_others(request, user)
    remember(request, user)


def signed_out(sender: Any, request: HttpRequest, user: Person | None, **more: Any) -> None:
    PageSession.objects.filter(session_key=request.session.session_key or "").delete()


def connect() -> None:
    # accounts.services notes the last sign-in itself; Django's way of saving it would count as a change
    user_logged_in.disconnect(dispatch_uid="update_last_login")
    user_logged_in.connect(signed_in, dispatch_uid="remember_sign_in")
    user_logged_out.connect(signed_out, dispatch_uid="forget_sign_in")
