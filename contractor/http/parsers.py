"""Content is read up to a size and a depth; beyond it is refused rather than held in memory."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.request import Request

from contractor.http.problem_types import declare
from contractor.http.problems import Problem, escape

HALF = "Half a character (U+D800 to U+DFFF by itself); expected whole characters."
EXPECTED = 'expected one JSON value in UTF-8, such as {"name": "Block A"}.'
LONE = re.compile("[\ud800-\udfff]")


declare("not-json", 400, "The content is not JSON",
        "`line`, `column` and `offset` tell where reading stopped; JSON is as RFC 8259 has it.")  # fmt: skip


class BoundedJSONParser(JSONParser):
    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            content = json.loads(decoded(stream.read()), parse_constant=refuse_constant)
            broken = next(half_characters(content), None)
        except json.JSONDecodeError as error:
            raise not_json(error.msg, error.lineno, error.colno, error.pos) from None
        except RecursionError:
            raise ParseError("The JSON is nested too deeply.") from None
        except ValueError as error:
            raise Problem(
                "not-json", f"{error}; {EXPECTED}", errors=[{"pointer": "#", "detail": str(error)}]
            ) from None
        if broken is not None:
            raise Problem("invalid", HALF, errors=[{"pointer": f"#{broken}", "detail": HALF}])
        return content


def decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start].decode("utf-8", "replace")
        column = len(before) - (before.rfind("\n") + 1) + 1
        raise not_json("Not UTF-8", before.count("\n") + 1, column, error.start) from None


def not_json(what: str, line: int, column: int, offset: int) -> Problem:
    words = f"{what.removesuffix(' at')} at line {line}, column {column}"
    return Problem(
        "not-json", f"{words}; {EXPECTED}", errors=[{"pointer": "#", "detail": words}],
        line=line, column=column, offset=offset,
    )  # fmt: skip


def refuse_constant(name: str) -> None:
    raise ValueError(f"{name} is no number of JSON; leave out what is not known, or send null")


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
