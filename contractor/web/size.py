"""A form that brings too much is refused by the length its sender states, before anything of it is read.

Django spools files to disk while it looks for a form's token, which comes before it knows who sends them. The
API has its own rule, with its own kind of answer (`http/parsers.py`).
"""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from contractor.http.errors import answer

MB = 1024 * 1024


class BoundedFormsMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        most = most_of(request)
        stated = request.META.get("CONTENT_LENGTH") or "0"
        if most and (not stated.isdecimal() or int(stated) > most):
            return answer(
                request, 413, f"What you sent is larger than {most // MB} MB, the most that is read here. "
                "Send a smaller file: a scan in grey, or a photo at half its size, says as much.",
            )  # fmt: skip
        return self.get_response(request)


def most_of(request: HttpRequest) -> int:
    """Bytes; 0 for what is not ours to bound."""
    if request.path.startswith("/api/"):
        return 0
    multipart = (request.content_type or "").startswith("multipart/")
    return int(settings.MAX_FILES_BYTES if multipart else settings.MAX_CONTENT_BYTES)
