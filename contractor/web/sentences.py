"""The engine's sentences in the units, with the decimal mark and in the words of who reads them."""

from __future__ import annotations

from typing import Any

from contractor.accounts.models import DecimalMark, Units
from diagnostics.engine.causes.names import CAUSES
from reporting.documents.hand import Hand, written_by
from reporting.documents.words import for_people, plain_name

SIDES = (("for: ", "speaks for it: "), ("against: ", "speaks against it: "))


def said_to(person: Any, sentence: str | None) -> str:
    """`person` may be nobody who signed in."""
    units = getattr(person, "units", Units.INCH_POUND)
    mark = getattr(person, "decimal_mark", DecimalMark.POINT)
    with written_by(Hand(units, mark)):
        return for_people(sentence or "", resistances=True)


def reason_to(person: Any, sentence: str) -> str:
    """'for: superheat 0.0 K, ...' -> 'Speaks for it: superheat 0.0 °F, ...'"""
    for mark, words in SIDES:
        if sentence.startswith(mark):
            sentence = words + sentence.removeprefix(mark)
    return starting_large(said_to(person, sentence))


def cause_name(cause: str) -> str:
    return starting_large(CAUSES.get(cause, plain_name(cause)))


def starting_large(words: str) -> str:
    return words[:1].upper() + words[1:]
