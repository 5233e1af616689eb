"""States of a descale and who may move it between them, on what condition: the one table.

DEVELOPERS.md draws it; a test holds that drawing and table agree. `decided` moves are refused where they are
not in the table; what `happened` is recorded whatever the state, and moves the descale as the table says.
"""

from __future__ import annotations

from dataclasses import dataclass

STATES: dict[str, str] = {
    "recommended": "somebody says that it should be descaled",
    "priced": "the office has named a price",
    "agreed": "the customer said yes",
    "planned": "a plan that nothing refuses is kept",
    "noticed": "the client knows when, for how long and with what",
    "checking": "on site, checks before acid",
    "acid_in": "acid is in the unit",
    "rinsing": "drained, being rinsed and put back",
    "in_service": "back in service",
    "proved": "readings after are set against those before",
    "certified": "signed, and every bath let out or held; its certificate goes out",
    "called_off": "will not be done",
    "could_not_do": "could not be done, with the reason; a new recommendation stands in its place",
}
BEFORE_ACID = ("recommended", "priced", "agreed", "planned", "noticed", "checking")
OPEN = (*BEFORE_ACID, "acid_in", "rinsing", "in_service", "proved")
OVER = ("certified", "called_off", "could_not_do")

OFFICE, CREW, WORKER = "office", "crew", "worker"


@dataclass(frozen=True, slots=True)
class Move:
    """One arrow. `irregular` arrows are what has happened against the rule: marked, and the office told."""

    start: str
    end: str
    by: str
    when: str
    irregular: bool = False


MOVES: tuple[Move, ...] = (
    Move("recommended", "priced", OFFICE, "a price"),
    Move("priced", "agreed", OFFICE, "who said yes, when, order number"),
    Move("agreed", "planned", WORKER, "a plan that nothing refuses"),
    Move("planned", "noticed", OFFICE, "date, hours without cooling, chemical, noise, others affected"),
    Move("noticed", "checking", CREW, "a first check is recorded"),
    Move("checking", "acid_in", CREW, "every check passed, then a batch is mixed"),
    Move("acid_in", "rinsing", CREW, "drained"),
    Move("rinsing", "acid_in", CREW, "a further batch goes in"),
    Move("rinsing", "in_service", CREW, "every step done, or left open by name where that may be"),
    Move("in_service", "proved", WORKER, "readings after judged with those before"),
    Move("proved", "certified", OFFICE, "signed, and every bath let out or held"),
    *(Move(state, "called_off", OFFICE, "why") for state in BEFORE_ACID),
    *(
        Move(state, "could_not_do", CREW, "why; a new recommendation")
        for state in ("agreed", "planned", "noticed", "checking")
    ),
    *(
        Move(state, "acid_in", CREW, "acid is in already", irregular=True)
        for state in (*BEFORE_ACID, "in_service", "proved", *OVER)
    ),
)


def moves_from(state: str) -> tuple[Move, ...]:
    return tuple(move for move in MOVES if move.start == state)


def move_of(start: str, end: str, *, irregular: bool = False) -> Move | None:
    """The arrow from one state to another; None where the table has none."""
    found = [m for m in MOVES if (m.start, m.end, m.irregular) == (start, end, irregular)]
    return found[0] if found else None


def drawing() -> str:
    """The table as a state diagram, as DEVELOPERS.md shows it. Irregular arrows are drawn once."""
    lines = ["stateDiagram-v2", "    [*] --> recommended"]
    lines += [f"    {m.start} --> {m.end}: {m.by}, {m.when}" for m in MOVES if not m.irregular]
    late = ", ".join(move.start for move in MOVES if move.irregular)
    lines.append(f"    note right of acid_in: acid in before its time also comes here, from {late}")
    return "\n".join(lines)
