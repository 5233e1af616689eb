"""In which units and with which decimal mark a document is written: those of whoever it is written for."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Hand:
    """`inch_pound` or `si`; `point` or `comma`: the words of a person's settings."""

    units: str = "si"
    mark: str = "point"

    @property
    def inch_pound(self) -> bool:
        return self.units == "inch_pound"

    def marked(self, digits: str) -> str:
        """Digits written with a point, with the mark of this hand."""
        return digits.replace(".", ",") if self.mark == "comma" else digits

    def difference(self) -> tuple[str, float]:
        """Unit of a temperature difference, and how many of it make a kelvin."""
        return ("°F", 1.8) if self.inch_pound else ("K", 1.0)


PLAIN = Hand()
_now: ContextVar[Hand] = ContextVar("hand", default=PLAIN)


def hand() -> Hand:
    return _now.get()


@contextmanager
def written_by(one: Hand) -> Iterator[None]:
    before = _now.set(one)
    try:
        yield
    finally:
        _now.reset(before)
