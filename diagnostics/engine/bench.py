"""The bench: everything of a unit that its reading sets are seen through, and how instruments err."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnostics.engine import balance, habits
from diagnostics.engine.entries import Stop
from diagnostics.engine.flow import FlowCurve
from diagnostics.engine.habits import Habit
from diagnostics.engine.observation import NEW, Channel, Error
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet, Warning
from diagnostics.engine.refrigerants import Refrigerant
from diagnostics.engine.uncertainty import standard_uncertainty
from diagnostics.engine.waters import Water


class NotObservable(Exception):
    """The set lacks what no assumption can stand in for; carries the warning to show."""

    def __init__(self, code: str, text: str, suspect: str | None = None) -> None:
        super().__init__(text)
        self.warning = Warning(code, text)
        self.suspect = suspect


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything of the unit that reading sets are seen through.

    `odd` are entries of the register set aside, `stop` is one without which no number can be told,
    `unsteady` what a mean of swinging sets leaves open, by field; `watts_per_amp` is what a clean visit
    teaches (see `amps`). [W/A]
    """

    facts: ExchangerFacts
    fluid: Refrigerant
    liquid: Water
    plain: Water
    instruments: Mapping[str, InstrumentAccuracy]
    curve: FlowCurve | None
    odd: tuple[Warning, ...] = ()
    stop: Stop | None = None
    unsteady: Mapping[str, float] | None = None
    superheat: Habit = habits.SUPERHEAT
    subcooling: Habit = habits.SUBCOOLING
    watts_per_amp: float | None = None


def gauges_of(reading: ReadingSet) -> str:
    """The gauge set's name; rows of a unit share one unless told otherwise."""
    return reading.gauge_set or ""


def instrument_errors(
    channel: Channel,
    accuracy: InstrumentAccuracy,
    gauges: str,
    scale: float,
    column: str,
    repeats_as: str = "",
) -> list[Error]:
    """Repeating and random part of one instrument's error on a channel."""
    flat = accuracy.distribution == "rectangular"
    repeating = standard_uncertainty(accuracy.repeating, accuracy.distribution) * scale
    random = standard_uncertainty(accuracy.random, accuracy.distribution) * scale
    key = ("instrument", gauges, repeats_as or column)
    parts = [
        Error(channel, 1.0, repeating, column, key, flat),
        Error(channel, 1.0, random, column, (NEW, column), flat),
    ]
    return [part for part in parts if part.spread > 0]


def habit_errors(channel: Channel, habit: Habit, scale: float, column: str) -> list[Error]:
    """Repeating and new part of an assumed value's error."""
    return [
        Error(channel, scale, habit.repeating, column, ("habit", habit.name), False),
        Error(channel, scale, habit.random, column, (NEW, habit.name), False),
    ]


def scale_of(accuracy: InstrumentAccuracy, value: float | None) -> float:
    """Factor from an instrument's limits to the reading's unit."""
    return float(value or 0.0) if accuracy.relative else 1.0


def power_of(reading: ReadingSet) -> float | None:
    """Compressor power [W] as read, or from volts, amps and power factor."""
    if reading.compressor_power_w is not None:
        return reading.compressor_power_w
    if reading.volts_v is None or reading.amps_a is None or reading.power_factor is None:
        return None
    power = balance.electrical_power(
        reading.volts_v, reading.amps_a, reading.phases or 1, reading.power_factor
    )
    return float(power)
