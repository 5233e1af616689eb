"""Every error of the API as problem details (RFC 9457), with pointers and what would be right."""

from __future__ import annotations

import errno
import logging
from collections.abc import Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.exceptions import ValidationError as ModelError
from django.db import DataError, IntegrityError, InterfaceError, OperationalError
from django.http import Http404, HttpResponse, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response

from contractor.http.problem_types import KNOWN_TYPES, type_address
from contractor.trail.tracked import Stale

MEDIA_TYPE = "application/problem+json"
DISK_FULL = (
    "The disk of the service is full. Nothing was written. Keep what you have; try again when whoever runs "
    "the service has made room."
)
log = logging.getLogger(__name__)


class Problem(exceptions.APIException):
    """An expected failure with words.

    `kind` names an entry of problem_types, or is left out for the plain status.
    """

    def __init__(
        self,
        kind: str = "",
        detail: str = "",
        *,
        status: int | None = None,
        title: str = "",
        errors: Sequence[Mapping[str, object]] = (),
        headers: Mapping[str, str] | None = None,
        **more: object,
    ) -> None:
        known = KNOWN_TYPES.get(kind)
        if kind and known is None:
            raise LookupError(f"unknown problem {kind!r}; declare it in contractor.http.problem_types")
        self.kind = kind
        self.status_code = status or (known.status if known else 400)
        self.title = title or (known.title if known else plain_title(self.status_code))
        self.errors = [{**error, "pointer": pointer(error["pointer"])} if "pointer" in error else dict(error)
                       for error in errors]  # fmt: skip
        self.headers = dict(headers or {})
        self.more = more
        super().__init__(detail or (known.meaning if known else self.title))


def pointer(text: object) -> str:
    """A JSON pointer as a URI fragment (RFC 6901, section 6): '#/readings/0/mode'."""
    return f"#{text}" if str(text).startswith("/") else str(text)


def plain_title(status: int) -> str:
    from http import HTTPStatus

    return HTTPStatus(status).phrase


def problem_body(
    status: int, *, kind: str = "", title: str = "", detail: str = "", **more: object
) -> dict[str, object]:
    body: dict[str, object] = {
        "type": type_address(kind) if kind else "about:blank",
        "title": title or plain_title(status),
        "status": status,
        "detail": detail or title or plain_title(status),
    }
    body.update({name: value for name, value in more.items() if value not in (None, [], {})})
    return body


def known_body(kind: str) -> dict[str, object]:
    known = KNOWN_TYPES[kind]
    return problem_body(known.status, kind=kind, title=known.title, detail=known.meaning)


def pointed(detail: Any, at: str = "") -> list[dict[str, object]]:
    """The nested dictionaries and lists of a serializer's errors, flattened to pointers."""
    if isinstance(detail, Mapping):
        found: list[dict[str, object]] = []
        for name, inner in detail.items():
            step = at if name == "non_field_errors" else f"{at}/{escape(str(name))}"
            found += pointed(inner, step)
        return found
    if isinstance(detail, list | tuple):
        found = []
        for place, inner in enumerate(detail):
            found += pointed(inner, f"{at}/{place}" if isinstance(inner, Mapping | list) else at)
        return found
    error: dict[str, object] = {"pointer": f"#{at}", "detail": str(detail)}
    if code := getattr(detail, "code", None):
        error["code"] = str(code)
    return [error]


def escape(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


def handler(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """REST_FRAMEWORK['EXCEPTION_HANDLER']."""
    problem = types_that_fit(exc, context.get("view")) or as_problem(exc)
    if problem is None:
        return None
    status, body, headers = problem
    request = context.get("request")
    if request is not None:
        body.setdefault("instance", request.path)
    response = Response(body, status=status, headers=headers, content_type=MEDIA_TYPE)
    return response


Said = tuple[int, dict[str, object], dict[str, str]]


def as_problem(exc: Exception) -> Said | None:
    if isinstance(exc, Problem):
        body = problem_body(exc.status_code, kind=exc.kind, title=exc.title, detail=str(exc.detail),
                            errors=exc.errors, **exc.more)  # fmt: skip
        return exc.status_code, body, exc.headers
    if isinstance(exc, exceptions.ValidationError):
        return invalid(pointed(exc.detail))
    if isinstance(exc, ModelError):
        return invalid(pointed(exc.message_dict if hasattr(exc, "error_dict") else exc.messages))
    if isinstance(exc, Http404):
        exc = exceptions.NotFound("There is nothing here, or nothing that you may see.")
    if isinstance(exc, PermissionDenied):
        exc = exceptions.PermissionDenied()
    if isinstance(exc, Stale):
        return 412, known_body("stale"), {}
    if isinstance(exc, DataError):
        log.warning("the database could not hold a value", exc_info=exc)
        return invalid([{"detail": "A value cannot be stored: too long, too large, or with NUL in it."}])
    if isinstance(exc, IntegrityError):
        log.warning("a constraint of the database refused a write", exc_info=exc)
        return 409, known_body("conflict"), {}
    if no_room_left(exc):
        log.error("there is no room left on the disk", exc_info=exc)
        return disk_full()
    if isinstance(exc, OperationalError | InterfaceError):
        log.error("the database is away or busy", exc_info=exc)
        return busy()
    if isinstance(exc, exceptions.APIException):
        return plain(exc)
    return None


def types_that_fit(exc: Exception, view: Any) -> Said | None:
    """What may be sent or asked for instead of a type that is not known here."""
    if isinstance(exc, exceptions.NotAcceptable):
        known = [kind.media_type for kind in getattr(view, "renderer_classes", [])]
        detail = f"This address does not answer in what Accept asks for; expected {' or '.join(known)}."
        return 406, problem_body(406, detail=detail, expected=known), {}
    if isinstance(exc, exceptions.UnsupportedMediaType):
        known = [kind.media_type for kind in view.get_parsers()] if view else []
        sent = str(getattr(getattr(view, "request", None), "content_type", "") or "nothing")[:80]
        detail = f"Content-Type says {sent}; expected {' or '.join(known)}."
        return 415, problem_body(415, detail=detail, expected=known), {"Accept": ", ".join(known)}
    return None


def invalid(errors: list[dict[str, object]]) -> Said:
    first = str(errors[0]["detail"]) if errors else "The content is not right."
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return 400, problem_body(400, kind="invalid", title="The content is not right", detail=first + more,
                             errors=errors), {}  # fmt: skip


def busy() -> Said:
    body = problem_body(503, detail="The database is away or busy. Nothing was written; try again shortly.")
    return 503, body, {"Retry-After": "5"}


def no_room_left(exc: BaseException) -> bool:
    """Whether a file or the database could not grow: the disk is full, or the service's share of it."""
    if isinstance(exc, OperationalError):
        return any(words in str(exc) for words in ("disk is full", "No space left on device"))
    return isinstance(exc, OSError) and exc.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def disk_full() -> Said:
    body = problem_body(503, detail=DISK_FULL)
    return 503, body, {"Retry-After": "60"}


def plain(exc: exceptions.APIException) -> Said:
    headers = {}
    if challenge := getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = challenge
    if wait := getattr(exc, "wait", None):
        headers["Retry-After"] = str(int(wait))
    return exc.status_code, problem_body(exc.status_code, detail=str(exc.detail)), headers


def plain_response(status: int, detail: str = "", path: str = "") -> HttpResponse:
    """For errors that never reach a view: unknown addresses, bad hosts, CSRF, faults of our own."""
    body = problem_body(status, detail=detail, instance=path)
    return JsonResponse(body, status=status, content_type=MEDIA_TYPE)
