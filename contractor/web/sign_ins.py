"""Every sign-in to the pages is remembered, so that its person can see and end it."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.http import HttpRequest

from contractor.accounts import services
from contractor.accounts.models import PageSession, Person
from contractor.trail.actor import acting_as
from contractor.web import held, idle


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
