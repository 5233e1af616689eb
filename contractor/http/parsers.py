"""Content is read up to a size and a depth; beyond it is refused rather than held in memory."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.request import Request

from contractor.http.problems import Problem


class BoundedJSONParser(JSONParser):
    def parse(self, *args: Any, **kwargs: Any) -> Any:
        try:
            return super().parse(*args, **kwargs)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None


def refuse_too_much(request: Request) -> None:
    """By the length the sender states; a write must state it."""
    if "chunked" in request.headers.get("Transfer-Encoding", "").lower():
        raise Problem("length-missing")
    multipart = (request.content_type or "").startswith("multipart/")
    most = settings.MAX_FILES_BYTES if multipart else settings.MAX_CONTENT_BYTES
    stated = request.META.get("CONTENT_LENGTH") or "0"
    if not stated.isdecimal() or int(stated) > most:
        raise Problem("too-large", f"The content is larger than {most} bytes, the most that is read here.")
