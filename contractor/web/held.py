"""What was typed into a form while its sign-in ran out comes back to whom it belongs, and to nobody else.

Each form carries a seal: who it was made for, signed. A post that comes without a sign-in, or with the token
of an older one, is held in the browser's session if its seal is good, and shown again in its form. Nothing of
it is carried out before its person has looked at it and sent it once more. Passwords and files are not held.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any, cast
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core import signing
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, QueryDict

from contractor.accounts.models import Person
from contractor.http import errors

SEAL, HELD, SALT = "opened_by", "held_typing", "contractor.web.held"
# as long as the longest sign-in
GOOD_FOR = timedelta(days=14)
MOST_CHARACTERS = 100_000
NOT_HELD = ("csrfmiddlewaretoken",)
BACK = (
    "You had been signed out before this was kept. What you typed is here again: look it through and send it."
)
NOT_PRESSED = "You had been signed out, and nothing was done. Sign in, then press the button once more."
NO_FILES = "A file has to be chosen again."


def seal(person: Person) -> str:
    return signing.dumps(str(person.pk), salt=SALT)


def whose(sealed: str) -> str:
    """The id of who a form was made for, or ''."""
    try:
        return str(signing.loads(sealed, salt=SALT, max_age=GOOD_FOR))
    except signing.BadSignature:
        return ""


def hold(request: HttpRequest, view: Any) -> bool:
    """Keep what was posted in the session, if it is a form's that may be held and its seal is good."""
    may = request.method == "POST" and getattr(getattr(view, "view_class", None), "holds_typing", False)
    person = whose(request.POST.get(SEAL, "")) if may else ""
    fields = {name: values for name, values in request.POST.lists() if name not in NOT_HELD} if person else {}
    if not fields or sum(len(value) for values in fields.values() for value in values) > MOST_CHARACTERS:
        return False
    files = (request.content_type or "").startswith("multipart/")
    request.session[HELD] = {
        "whose": person, "path": request.get_full_path(), "fields": fields, "files": files,
    }  # fmt: skip
    return True


def give_back(request: HttpRequest) -> QueryDict | None:
    """What was held for this form and this person, once; with words that say so."""
    held = request.session.get(HELD)
    if not held or held["path"] != request.get_full_path() or held["whose"] != str(request.user.pk):
        return None
    del request.session[HELD]
    data = QueryDict(mutable=True)
    for name, values in held["fields"].items():
        data.setlist(name, values)
    messages.warning(request, f"{BACK} {NO_FILES}" if held["files"] else BACK)
    return data


def forget_others(request: HttpRequest, person: Person) -> None:
    """At signing in: what somebody else typed at this browser is gone."""
    if request.session.get(HELD, {}).get("whose", str(person.pk)) != str(person.pk):
        del request.session[HELD]


def came_from(request: HttpRequest) -> str:
    """The page of ours that a button stood on: there is nothing to see at the button's own address."""
    page = urlsplit(request.headers.get("Referer", ""))
    return page._replace(scheme="", netloc="").geturl() if page.netloc == request.get_host() else "/"


class HeldTypingMiddleware:
    """Stands before whatever sends strangers to sign in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        if request.method != "POST" or request.user.is_authenticated:
            return None
        if getattr(getattr(view, "view_class", None), "is_deed", False):
            messages.warning(request, NOT_PRESSED)
            return redirect_to_login(came_from(request), settings.LOGIN_URL)
        hold(request, view)
        return None


@login_not_required
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that was open while one signed out and in again: back to it, filled in as it was."""
    view: Any = request.resolver_match.func if request.resolver_match else None
    user = cast(Any, getattr(request, "user", None))
    if not hold(request, view):
        return errors.csrf_failure(request, reason)
    if user is None or not user.is_authenticated:
        return redirect_to_login(request.get_full_path(), settings.LOGIN_URL)
    forget_others(request, user)
    return HttpResponseRedirect(request.get_full_path())
