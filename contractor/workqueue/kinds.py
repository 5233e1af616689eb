"""Kinds of work known by name. A lower room declares what it queues; a room above registers the handler."""

DECLARED: dict[str, str] = {}


def declare(kind: str, meaning: str) -> str:
    """Call at import, beside the code that queues: a system check then wants a handler of that name."""
    if not kind or len(kind) > 40 or not kind.isidentifier():
        raise ValueError(
            f"{kind!r} is not a name for a kind of work; expected up to 40 letters and underscores"
        )
    DECLARED[kind] = meaning
    return kind


NOOP = declare("noop", "nothing; measures the queue")
