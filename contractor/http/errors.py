"""Errors that reach no view. A program gets problem details, a person a plain page."""

from __future__ import annotations

import logging
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template import TemplateDoesNotExist
from django.template.loader import render_to_string

from contractor.http.problems import (
    DISK_FULL,
    busy,
    disk_full,
    no_room_left,
    plain_response,
    plain_title,
)

log = logging.getLogger(__name__)
WORDS = {
    400: "The request could not be read.",
    403: "You may not do this.",
    404: "There is nothing at this address, or nothing that you may see.",
    500: "A fault of ours. It has been logged; nothing of this request was written.",
    503: "The database is away or busy. Nothing was written; try again shortly.",
}


def wants_problem(request: HttpRequest) -> bool:
    return request.path.startswith(("/api/", "/healthz/")) or "json" in request.headers.get("Accept", "")


def answer(request: HttpRequest, status: int, detail: str = "") -> HttpResponse:
    detail = detail or WORDS[status]
    if wants_problem(request):
        return plain_response(status, detail, request.path)
    return page(request, status, detail)


def page(request: HttpRequest, status: int, detail: str) -> HttpResponse:
    role = role_of(request, status)
    context = {"status": status, "title": plain_title(status), "detail": detail, "role": role}
    try:
        return HttpResponse(render_to_string("problem.html", context), status=status)
    except TemplateDoesNotExist:
        return HttpResponse(f"{plain_title(status)}. {detail}\n", status=status, content_type="text/plain")


def role_of(request: HttpRequest, status: int) -> str:
    """Whom the page helps further; "" for a stranger, and where asking might fail once more."""
    if status != 404:
        return ""
    try:
        return str(getattr(request.user, "role", "") or "stranger")
    except (AttributeError, DatabaseError):
        return ""


@login_not_required
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 400)


@login_not_required
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 403)


@login_not_required
def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return answer(request, 404)


@login_not_required
def fault(request: HttpRequest) -> HttpResponse:
    return answer(request, 500)


@login_not_required
def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return answer(
        request, 403, "The form's security token is missing or too old. Open the page again and resend."
    )


class DatabaseAwayMiddleware:
    """503 with Retry-After, not 500, when the database is away or the disk is full.

    A phone keeps what it has and tries again.
    """

    def __init__(self, get_response: Any) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> Any:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if no_room_left(exception):
            log.error("there is no room left on the disk", exc_info=exception)
            response = answer(request, 503, DISK_FULL)
            response["Retry-After"] = disk_full()[2]["Retry-After"]
            return response
        if not isinstance(exception, OperationalError | InterfaceError):
            return None
        log.error("the database is away or busy", exc_info=exception)
        response = answer(request, 503)
        response["Retry-After"] = busy()[2]["Retry-After"]
        return response
