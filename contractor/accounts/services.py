"""What is done with people and their sign-ins. API, pages and commands all come here."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.tokens import default_token_generator
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode

from contractor.accounts import guard
from contractor.accounts.models import PageSession, Person, Role, Token, digest_of
from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.trail.actor import acting_as
from contractor.trail.models import Change
from contractor.trail.tracked import leave_change

declare("sign-in-refused", 401, "Sign-in refused", "The e-mail address or the password is not right.")
declare("too-many-sign-ins", 429, "Too many attempts to sign in", "Wait as long as Retry-After says [s].")
declare("last-owner", 409, "The last owner stays",
        "There must be an active owner; make another person an owner first.")  # fmt: skip
declare("link-not-valid", 400, "This link does not hold any more",
        "It was used, is too old, or the password was changed since. Ask the owner for another.")  # fmt: skip

# compared against when the account is unknown, so that an unknown one takes as long as a known one
NOBODYS_PASSWORD = make_password(secrets.token_urlsafe(16))


def check_credentials(email: str, password: str, address: str, now: datetime) -> Person:
    """The person, or a problem that does not tell whether the account exists."""
    email = email.strip().lower()
    if wait := guard.seconds_to_wait(email, address, now):
        raise Problem("too-many-sign-ins", headers={"Retry-After": str(wait)})
    person: Person | None = Person.objects.filter(email=email).first()
    right = check_password(password, person.password if person else NOBODYS_PASSWORD)
    if person is None or not right or not person.is_active:
        raise Problem("sign-in-refused", headers={"WWW-Authenticate": 'Bearer realm="api"'})
    guard.note_success(email, address, now)
    Person.objects.filter(pk=person.pk).update(last_login=now)
    return person


def sign_in(email: str, password: str, device: str, address: str, now: datetime) -> tuple[Token, str]:
    """A new token and its secret, which is shown this once."""
    person = check_credentials(email, password, address, now)
    with acting_as(person.pk, person.email):
        return make_token(person, device, now)


def make_token(person: Person, name: str, now: datetime) -> tuple[Token, str]:
    secret = secrets.token_urlsafe(32)
    with transaction.atomic():
        token = Token.objects.create(
            person=person,
            name=name,
            digest=digest_of(secret),
            expires_at=now + timedelta(days=settings.TOKEN_DAYS),
        )
        leave_change("accounts.token", token.pk, Change.Action.CREATED, {"person": [None, str(person.pk)]})
    return token, secret


def withdraw_tokens(tokens: Any, now: datetime) -> int:
    """Every one of a queryset that still holds."""
    with transaction.atomic():
        held = list(tokens.filter(withdrawn_at=None).values_list("pk", flat=True))
        for pk in held:
            leave_change(
                "accounts.token", pk, Change.Action.CHANGED, {"withdrawn_at": [None, now.isoformat()]}
            )
        return int(Token.objects.filter(pk__in=held).update(withdrawn_at=now))


def end_every_sign_in(person: Person, now: datetime, *, but: Token | None = None) -> None:
    """Tokens and sessions, at once; `but` spares the one in use. Saves the person."""
    with transaction.atomic():
        tokens = person.tokens.all()
        withdraw_tokens(tokens.exclude(pk=but.pk) if but else tokens, now)
        end_page_sessions(person.page_sessions.all())
        person.sessions_ended += 1
        person.save()


def forget_lapsed_sessions(now: datetime) -> None:
    """Sessions that have run out, and what was noted of sign-ins whose session is gone."""
    Session.objects.filter(expire_date__lt=now).delete()
    held = Session.objects.values("session_key")
    old = PageSession.objects.filter(created_at__lt=now - timedelta(days=1))
    old.exclude(session_key__in=held).delete()


def note_page_session(person: Person, session_key: str, device: str) -> PageSession:
    """A sign-in to the pages, remembered so that it can be listed and ended."""
    with transaction.atomic():
        PageSession.objects.filter(session_key=session_key).delete()
        return PageSession.objects.create(person=person, session_key=session_key, device=device[:200])


def end_page_sessions(sessions: Any) -> int:
    """The browsers of a queryset are signed out with their next request."""
    with transaction.atomic():
        held = list(sessions)
        for each in held:
            leave_change(
                "accounts.pagesession", each.pk, Change.Action.DELETED, {"device": [each.device, None]}
            )
        keys = [each.session_key for each in held]
        Session.objects.filter(session_key__in=keys).delete()
        PageSession.objects.filter(session_key__in=keys).delete()
    return len(held)


def check_new_password(person: Person, password: str, field: str) -> None:
    try:
        validate_password(password, person)
    except ValidationError as exc:
        errors = [{"pointer": f"/{field}", "detail": words} for words in exc.messages]
        raise Problem("invalid", exc.messages[0], errors=errors) from exc


def change_password(
    person: Person, current: str, new: str, now: datetime, *, but: Token | None = None
) -> None:
    """Ends every other sign-in."""
    if not person.check_password(current):
        words = "The current password is not right."
        raise Problem("invalid", words, errors=[{"pointer": "/current_password", "detail": words}])
    check_new_password(person, new, "new_password")
    person.set_password(new)
    end_every_sign_in(person, now, but=but)


def change_person(person: Person, changes: dict[str, Any], now: datetime) -> Person:
    """Disabling, or another role, ends every sign-in; the last active owner stays one."""
    changes = {name: value for name, value in changes.items() if getattr(person, name) != value}
    if not changes:
        return person
    loses_owner = person.is_owner and (
        changes.get("role", Role.OWNER) != Role.OWNER or not changes.get("is_active", True)
    )
    with transaction.atomic():
        if loses_owner and not another_owner(person):
            raise Problem("last-owner")
        ends = (person.is_active and not changes.get("is_active", True)) or (
            changes.get("role", person.role) != person.role
        )
        for name, value in changes.items():
            setattr(person, name, value)
        if ends:
            end_every_sign_in(person, now)
        else:
            person.save()
    return person


def another_owner(person: Person) -> bool:
    """The owners' rows are held, so that two owners cannot dismiss each other at once."""
    owners = Person.objects.filter(role=Role.OWNER, is_active=True).order_by("pk").select_for_update()
    return any(owner.pk != person.pk for owner in owners)


def password_link_secret(person: Person) -> str:
    """For a first password or a forgotten one: holds once, until the password changes, for a limited time."""
    key = urlsafe_base64_encode(str(person.pk).encode())
    return f"{key}.{default_token_generator.make_token(person)}"


def set_password_by_link(secret: str, new: str, now: datetime) -> Person:
    key, _, token = secret.partition(".")
    person: Person | None
    try:
        person = Person.objects.filter(pk=urlsafe_base64_decode(key).decode(), is_active=True).first()
    except (ValueError, ValidationError):
        person = None
    if person is None or not default_token_generator.check_token(person, token):
        raise Problem("link-not-valid")
    check_new_password(person, new, "new_password")
    person.set_password(new)
    with acting_as(person.pk, person.email):
        end_every_sign_in(person, now)
    return person
