"""The kinds of problem this API tells apart.

Each has an address where a program or a person can read what it means.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProblemType:
    status: int
    title: str
    meaning: str


KNOWN_TYPES: dict[str, ProblemType] = {}


def declare(kind: str, status: int, title: str, meaning: str) -> None:
    """A room declares its own kinds at import, in its apps.py or beside the service that raises them."""
    KNOWN_TYPES[kind] = ProblemType(status, title, meaning)


def type_address(kind: str) -> str:
    return f"/api/v1/problems/{kind}/"


declare("invalid", 400, "The content is not right",
        "`errors` points to each field and says what would be right.")  # fmt: skip
declare("unknown-parameter", 400, "Unknown query parameter",
        "A parameter in the address is not one this list knows; `known` names those that are.")  # fmt: skip
declare("idempotency-key-missing", 400, "Idempotency-Key is missing",
        "This write must carry an Idempotency-Key header: a fresh UUID for each thing meant, the same on every repeat.")  # fmt: skip  # noqa: E501
declare("idempotency-key-malformed", 400, "Idempotency-Key cannot be used",
        "The key is 1 to 80 visible ASCII characters, with or without quotes.")  # fmt: skip
declare("idempotency-key-reused", 422, "Idempotency-Key was used for something else",
        "The key came before with another address or content. Make a new key for a new thing.")  # fmt: skip
declare("still-running", 409, "The first one is still running",
        "A write with this Idempotency-Key is under way. Ask again after Retry-After [s].")  # fmt: skip
declare("if-match-missing", 428, "If-Match is missing",
        "Two people may edit this. Send the ETag you last read in If-Match.")  # fmt: skip
declare("stale", 412, "Someone changed it since",
        "The ETag in If-Match is not the present one. Read it again and decide anew.")  # fmt: skip
declare("conflict", 409, "It clashes with what is recorded",
        "Another record already holds this place or name.")  # fmt: skip
declare("length-missing", 411, "The length of the content is missing", "Send Content-Length.")
declare("too-large", 413, "The content is too large", "Send less at once; photos smaller.")
declare("work-not-failed", 409, "This work has not failed", "Only failed work can be tried again.")
declare("work-failed", 500, "The work failed",
        "The worker met a fault it did not expect, at each attempt; its log has the details.")  # fmt: skip
declare("work-took-too-long", 500, "The work took too long", "The work was stopped at its time limit.")
declare("work-lost", 500, "The worker was lost each time",
        "The worker stopped without a word at each attempt: killed, or out of memory.")  # fmt: skip
