"""What of a pressure drop read is the exchanger's own: ports at two levels, other things between them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from diagnostics.engine import per_cent
from diagnostics.engine.hydraulics import pressure_of_height_pa
from diagnostics.engine.observation import NEW
from diagnostics.engine.records import ExchangerFacts, ReadingSet, Warning
from diagnostics.engine.unknowns import Key

BESIDE: dict[str, tuple[float, float]] = {
    "coil_only": (0.0, 0.0),
    "hoses": (0.05, 0.25),
    "strainer": (0.08, 0.35),
    "valve": (0.03, 0.40),
    "strainer_and_valve": (0.10, 0.55),
}
"""Lowest and highest share of the drop read that is not the exchanger's (common practice: two short hoses, a
clean strainer, an open valve of the coil's own size, beside a coil of 15 to 50 kPa). It repeats from visit to
visit."""
STRAINER_NOT_SEEN = 0.6
"""Highest share where a strainer lies between the ports and nobody looked at it (common practice)."""
RISE_LIMIT_M = 0.05
"""Limit of error of the height on record, as measured with a rule (common practice)."""
LEVEL_LIMIT_M = 0.2
"""By how much two ports of an exchanger that count as level may stand apart (common practice)."""
LEAST_LEFT = 2.0
"""What is left must be this many times the limit of error of the level, or it tells no flow."""
DIRTY = ("dirty", "blocked")
WORDS = {
    "hoses": "in the hoses",
    "strainer": "in the strainer",
    "valve": "in the valve",
    "strainer_and_valve": "in the strainer and the valve",
}


@dataclass(frozen=True, slots=True)
class Open:
    """What a correction leaves open: standard uncertainty as ln of the drop, and which quantity it is."""

    spread: float
    key: Key


@dataclass(frozen=True, slots=True)
class Own:
    """The exchanger's own drop [Pa], the drop read less the level of the ports [Pa], what is left open, and
    which of level and things between are on record."""

    drop_pa: float
    left_pa: float
    left_open: tuple[Open, ...]
    on_record: frozenset[str]


@dataclass(frozen=True, slots=True)
class Level:
    """How much of the drop read is level [Pa], within which limit [Pa], and which quantity that is."""

    head_pa: float
    limit_pa: float
    key: Key


def own_drop(facts: ExchangerFacts, reading: ReadingSet, density_kg_per_m3: float) -> Own | None:
    """The drop read less what isn't the exchanger's; None where it wasn't read or tells no flow."""
    read = reading.water_pressure_drop_pa
    if read is None or strainer_counts(facts, reading):
        return None
    level = level_of(facts, reading, density_kg_per_m3)
    left = read - level.head_pa
    if left <= LEAST_LEFT * level.limit_pa:
        return None
    (low, high), key = _beside(facts, reading)
    ends = math.log(1 - high), math.log(1 - low)
    parts = (
        Open(level.limit_pa / left / 3**0.5, level.key),
        Open((ends[1] - ends[0]) / 12**0.5, key),
    )
    return Own(
        left * math.exp(0.5 * sum(ends)),
        left,
        tuple(part for part in parts if part.spread > 0),
        frozenset(name for name in ("between_ports", "port_rise_m") if getattr(facts, name) is not None),
    )


def strainer_counts(facts: ExchangerFacts, reading: ReadingSet) -> bool:
    """A strainer that was found dirty or blocked lies between the ports: the drop is no longer the coil's."""
    return "strainer" in (facts.between_ports or "") and reading.strainer in DIRTY


def level_of(facts: ExchangerFacts, reading: ReadingSet, density_kg_per_m3: float) -> Level:
    """How much of the drop read is the leaving port's height above the entering one.

    Half of it, good to that half, where nobody said how the drop was read.
    """
    rise, by = facts.port_rise_m, reading.drop_read_by
    if by == "differential_gauge" or (rise is None and by is None):
        return Level(0.0, 0.0, ("port_rise",))
    if rise is None:
        return Level(0.0, float(pressure_of_height_pa(LEVEL_LIMIT_M, density_kg_per_m3)), ("port_rise",))
    head = float(pressure_of_height_pa(rise, density_kg_per_m3))
    limit = float(pressure_of_height_pa(RISE_LIMIT_M, density_kg_per_m3))
    if by is None:
        return Level(0.5 * head, 0.5 * abs(head) + limit, (NEW, "drop_read_by"))
    return Level(head, limit, ("port_rise",))


def least_possible_pa(facts: ExchangerFacts, reading: ReadingSet) -> float:
    """A drop read at or below this [Pa] is none: 0, or less where the leaving port stands below."""
    if reading.drop_read_by == "differential_gauge":
        return 0.0
    return min(0.0, float(pressure_of_height_pa(facts.port_rise_m or 0.0, 1000.0)))


def _beside(facts: ExchangerFacts, reading: ReadingSet) -> tuple[tuple[float, float], Key]:
    """Share of the drop that lies beside the exchanger, and which quantity it is."""
    between = facts.between_ports or "coil_only"
    low, high = BESIDE[between]
    if "strainer" in between and reading.strainer is None:
        return (low, STRAINER_NOT_SEEN), (NEW, "strainer_between_ports")
    return (low, high), ("between_ports",)


def said(facts: ExchangerFacts, reading: ReadingSet, density_kg_per_m3: float) -> Iterator[Warning]:
    """What was taken off the drop read, or why it is not used; nothing where it is all the exchanger's."""
    read = reading.water_pressure_drop_pa
    if read is None:
        return
    if strainer_counts(facts, reading):
        yield Warning(
            "strainer_between_ports",
            f"the strainer was found {reading.strainer} and lies between the pressure ports: its own drop is "
            f"in the {_kpa(read)} read, which so tells neither flow nor bore; clean it and read again",
        )
        return
    level, own = level_of(facts, reading, density_kg_per_m3), own_drop(facts, reading, density_kg_per_m3)
    if own is None:
        if level.limit_pa > 0:
            yield Warning("port_rise_leaves_nothing", _nothing_left(facts, read, level))
        return
    if facts.port_rise_m is None and level.limit_pa > 0:
        yield Warning(
            "port_rise_missing",
            "the drop was read with a gauge at each port, and port_rise (the leaving port above the entering "
            f"one) is not on record: they count as level within {LEVEL_LIMIT_M:g} m, where each 0.1 m is "
            f"{_kpa(float(pressure_of_height_pa(0.1, density_kg_per_m3)))}",
        )
    if level.head_pa or facts.between_ports in WORDS:
        yield Warning("pressure_drop_corrected", _corrected(facts, reading, read, level, own))


def _kpa(pascal: float) -> str:
    return f"{pascal / 1000:.3g} kPa"


def _nothing_left(facts: ExchangerFacts, read: float, level: Level) -> str:
    why = "which of the two is higher" if facts.port_rise_m else "how high each port stands (port_rise)"
    return (
        f"water_pressure_drop is {_kpa(read)}, of which {_kpa(level.head_pa)} within {_kpa(level.limit_pa)} "
        f"is the level of the two ports: what is left tells no flow; check {why} and how the drop was read"
    )


def _corrected(facts: ExchangerFacts, reading: ReadingSet, read: float, level: Level, own: Own) -> str:
    taken = [*_level_words(facts, reading, level), *_beside_words(facts, reading)]
    return (
        f"the pressure drop of {_kpa(read)} read is not all the exchanger's: {' and '.join(taken)}; about "
        f"{_kpa(own.drop_pa)} counts as its own"
    )


def _level_words(facts: ExchangerFacts, reading: ReadingSet, level: Level) -> Iterator[str]:
    if not level.head_pa:
        return
    side, done = ("above", "taken off") if level.head_pa > 0 else ("below", "added")
    half = ", half of what that makes, as nobody said whether the gauge sees it (drop_read_by)"
    rise = f"{abs(facts.port_rise_m or 0.0):g} m"
    yield (
        f"{_kpa(abs(level.head_pa))} is {done} for the leaving port standing {rise} {side} the "
        f"entering one{half if reading.drop_read_by is None else ''}"
    )


def _beside_words(facts: ExchangerFacts, reading: ReadingSet) -> Iterator[str]:
    if facts.between_ports not in WORDS:
        return
    low, high = _beside(facts, reading)[0]
    seen = " that nobody looked at" if high == STRAINER_NOT_SEEN else ""
    lost = f"what is lost {WORDS[facts.between_ports]}{seen}"
    yield f"{per_cent.share(low)} to {per_cent.share(high)} is taken off for {lost}"
