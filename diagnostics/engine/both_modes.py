"""Results of both modes on one day: one surface, so they must agree within what they do not share."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import entries, gates, gathering, inference, references
from diagnostics.engine.bench import Bench, NotObservable
from diagnostics.engine.observe import Seen, observe
from diagnostics.engine.records import EVENTS_THAT_VOID_REFERENCES, History, ReadingSet, UnitEvent, Warning
from diagnostics.engine.uncertainty import interval

Array = NDArray[np.float64]

ONE_DAY = timedelta(hours=12)
DRAWS = 4000
DISAGREEING = 2.6
"""z from which two results are flagged: one pair of agreeing ones in a hundred."""
CLEANED = {"after_back_flush": 1, "after_descale": 2}
"""How far the surface has been cleaned on the day; sets before and after a cleaning are not compared."""
MEANINGS = {
    "cooling": "air in the refrigerant, a charge too high or the head gauge show in cooling only",
    "heating": "a charge too low, a restricted metering device or the suction gauge show in heating only",
}


def other_mode(reading: ReadingSet, history: History) -> ReadingSet | None:
    """The latest set of the other mode within hours before, with nothing done to the surface between."""
    found = [
        row
        for row in history.readings
        if row.unit == reading.unit
        and row.mode != reading.mode
        and timedelta() <= reading.taken_at - row.taken_at <= ONE_DAY
        and CLEANED.get(row.purpose) == CLEANED.get(reading.purpose)
        and not _touched(row, reading, history.events)
    ]
    return max(found, key=lambda row: (row.taken_at, row.purpose), default=None)


def _touched(first: ReadingSet, second: ReadingSet, events: Iterable[UnitEvent]) -> bool:
    done = (*EVENTS_THAT_VOID_REFERENCES, "descaled")
    return any(
        event.unit == first.unit and event.what in done and first.taken_at <= event.at <= second.taken_at
        for event in events
    )


def compare(
    bench: Bench,
    now: tuple[ReadingSet, Seen],
    other: ReadingSet,
    gathered: gathering.Reference,
    belief: references.Belief,
    seed: int,
) -> list[Warning]:
    """A warning where the two modes' fouling differs by more than what errs apart in them."""
    other = entries.cleaned(other, bench.facts)
    if gates.check(bench, other).withheld:
        return []
    try:
        seen = observe(gathering.knowing_habits(bench, gathered, other.mode), other, maybe_scaled=True)
    except NotObservable:
        return []
    area = references.area_of(bench.facts)
    _, problem = gathering.set_up(bench, [now[1], seen], gathered, belief, area)
    generator = np.random.Generator(np.random.PCG64(seed))
    one, two = inference.foulings(problem, inference.draw_unknowns(problem, DRAWS, generator))
    both = np.isfinite(one) & np.isfinite(two)
    if both.mean() < 0.5:
        return []
    scale, unit = (area, "m2K/W") if area is not None else (1.0, "K/W")
    return _told(now[0], other, one[both] * scale, two[both] * scale, unit)


def _told(reading: ReadingSet, other: ReadingSet, one: Array, two: Array, unit: str) -> list[Warning]:
    apart = one - two
    z = float(np.median(apart) / apart.std())
    if abs(z) < DISAGREEING:
        return []
    spans = [interval(one), interval(two)]
    words = [f"{span.value:.2g} ({span.low:.2g} to {span.high:.2g}) {unit}" for span in spans]
    higher = reading.mode if z > 0 else other.mode
    text = (
        f"{reading.mode} tells a fouling of {words[0]}, {other.mode} of {gathering.when(other)} {words[1]}: "
        f"one surface on one day, yet {abs(z):.1f} standard uncertainties apart; {MEANINGS[higher]}"
    )
    return [Warning("modes_disagree", text)]
