"""What drf-spectacular cannot see.

Problem details on every operation, and the headers our base viewset reads.
"""

from __future__ import annotations

from typing import Any

from drf_spectacular.openapi import AutoSchema

from contractor.http.frame import Framed
from contractor.http.viewsets import RoomViewSet

WRITES = ("POST", "PUT", "PATCH", "DELETE")

PROBLEM = {
    "type": "object",
    "description": "problem details (RFC 9457)",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "description": "address that says what kind it is, or about:blank"},
        "title": {"type": "string", "description": "the kind of problem in a few words"},
        "status": {"type": "integer", "description": "HTTP status code"},
        "detail": {"type": "string", "description": "what is wrong this time and what would be right"},
        "instance": {"type": "string", "description": "path of the request"},
        "errors": {
            "type": "array",
            "description": "each field that is not right",
            "items": {
                "type": "object",
                "properties": {
                    "pointer": {"type": "string", "description": "JSON pointer, as in #/readings/0/mode"},
                    "parameter": {"type": "string", "description": "name of a query parameter"},
                    "detail": {"type": "string", "description": "what would be right"},
                    "code": {"type": "string", "description": "short name of the rule"},
                },
            },
        },
    },
}  # fmt: skip
WORDS = {
    400: "the content is not right; `errors` says where",
    401: "no sign-in, or one that has ended",
    403: "you may see this but not do this",
    404: "there is nothing here that you may see",
    405: "this address does not know the method",
    406: "only JSON is answered",
    409: "clashes with what is recorded, or the first one with this Idempotency-Key still runs",
    411: "Content-Length is missing",
    412: "someone changed it since; read again",
    413: "the content is larger than is read here",
    415: "the content's media type is not one this address reads",
    422: "the Idempotency-Key came before with other content",
    428: "If-Match is missing",
    429: "too many; see Retry-After [s]",
    503: "the database is away or busy; nothing was written; see Retry-After [s]",
}


def header(name: str, description: str, *, required: bool) -> dict[str, Any]:
    return {
        "name": name,
        "in": "header",
        "required": required,
        "description": description,
        "schema": {"type": "string"},
    }


class RoomSchema(AutoSchema):  # type: ignore[misc, unused-ignore]
    def get_operation(self, *args: Any, **kwargs: Any) -> Any:
        operation = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        operation.setdefault("parameters", []).extend(self.own_headers())
        for parameter in operation["parameters"]:
            parameter.setdefault("description", words_of(parameter["name"]))
        if not operation["parameters"]:
            del operation["parameters"]
        for code in self.problem_codes():
            operation["responses"].setdefault(str(code), problem_response(code))
        return operation

    def own_headers(self) -> list[dict[str, Any]]:
        view, found = self.view, []
        if isinstance(view, Framed) and view.one_transaction and self.method in WRITES:
            words = "a UUID made once for what is meant and sent again on every repeat; kept 30 days"
            found.append(header("Idempotency-Key", words, required=view.doing in view.key_required))
        if not isinstance(view, RoomViewSet):
            return found
        if view.action in view.if_match_actions:
            found.append(header("If-Match", "ETag as last read, or *", required=True))
        if view.action == "retrieve":
            found.append(header("If-None-Match", "ETag as last read; 304 if it still holds", required=False))
        return found

    def problem_codes(self) -> list[int]:
        codes = [400, 401, 403, 404, 405, 406, 429, 503]
        if self.method in WRITES:
            codes += [409, 411, 413, 415, 422]
        if isinstance(self.view, RoomViewSet) and self.view.action in self.view.if_match_actions:
            codes += [412, 428]
        return sorted(codes)


LOOKUPS = {
    "isnull": "true: only rows without {}; false: only those with it",
    "icontains": "only rows whose {} contains this, in capitals or not",
    "iexact": "only rows whose {} is this, in capitals or not",
    "in": "only rows whose {} is one of these, separated by commas",
    "gte": "only rows whose {} is this or more",
    "lte": "only rows whose {} is this or less",
    "gt": "only rows whose {} is more than this",
    "lt": "only rows whose {} is less than this",
}


def words_of(name: str) -> str:
    """A filter's description from its name, where it has none of its own."""
    column, _, lookup = name.rpartition("__")
    if lookup in LOOKUPS:
        return LOOKUPS[lookup].format(column.replace("__", " ").replace("_", " "))
    return f"only rows whose {name.replace('__', ' ').replace('_', ' ')} is this"


def problem_response(code: int) -> dict[str, Any]:
    return {
        "description": WORDS[code],
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }


def add_problem(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """Postprocessing hook: the component every problem response refers to."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = PROBLEM
    return result
