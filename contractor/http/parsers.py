"""Content is read up to a size and a depth; beyond it is refused rather than held in memory."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.request import Request

from contractor.http.problems import Problem, escape

HALF = "Half a character (U+D800 to U+DFFF by itself); expected whole characters."
LONE = re.compile("[\ud800-\udfff]")


class BoundedJSONParser(JSONParser):
    def parse(self, *args: Any, **kwargs: Any) -> Any:
        try:
            content = super().parse(*args, **kwargs)
            broken = next(half_characters(content), None)
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
        if broken is not None:
            raise Problem("invalid", HALF, errors=[{"pointer": f"#{broken}", "detail": HALF}])
        return content


def half_characters(content: Any, at: str = "") -> Iterator[str]:
    """Where a text or a name holds half a character; no file and no database can keep one."""
    if isinstance(content, str):
        if LONE.search(content):
            yield at
    elif isinstance(content, dict):
        for name, inner in content.items():
            yield from [at] if LONE.search(name) else half_characters(inner, f"{at}/{escape(name)}")
    elif isinstance(content, list):
        for place, inner in enumerate(content):
            yield from half_characters(inner, f"{at}/{place}")


def refuse_too_much(request: Request) -> None:
    """By the length the sender states; a write must state it."""
    if "chunked" in request.headers.get("Transfer-Encoding", "").lower():
        raise Problem("length-missing")
    multipart = (request.content_type or "").startswith("multipart/")
    most = settings.MAX_FILES_BYTES if multipart else settings.MAX_CONTENT_BYTES
    stated = request.META.get("CONTENT_LENGTH") or "0"
    if not stated.isdecimal() or int(stated) > most:
        raise Problem("too-large", f"The content is larger than {most} bytes, the most that is read here.")
