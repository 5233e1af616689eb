"""What a cleaning removed: two visits judged together, so that what errs in both alike cancels."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import clean_sets, entries, gates, gathering, inference, references
from diagnostics.engine.assessment import DRAWS, FALLBACK_W_PER_K_FOR_EACH_KG_PER_S
from diagnostics.engine.bench import Bench, NotObservable
from diagnostics.engine.gate import Gate
from diagnostics.engine.observe import Seen, observe
from diagnostics.engine.records import (
    ExchangerFacts,
    History,
    InstrumentAccuracy,
    Interval,
    ReadingSet,
    Warning,
)
from diagnostics.engine.uncertainty import instrument_table, interval
from diagnostics.engine.version import ENGINE_VERSION

LEAST_POSSIBLE = 0.3
WORTH_THE_NAME = 0.5
"""Share of the fouling before that a descale removes at least where it helped (common practice)."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Removal:
    """Fouling resistance removed between two visits, each with 95 % interval; None where withheld.

    `removed_m2k_per_w` where the area is known, `removed_k_per_w` always; `before_k_per_w` and
    `after_k_per_w` are the same draws apart; `width_share` is the interval's width over that of two unrelated
    values; `probability` that anything was removed.
    """

    removed_m2k_per_w: Interval | None
    removed_k_per_w: Interval | None
    before_k_per_w: Interval | None
    after_k_per_w: Interval | None
    width_share: float | None
    probability: float | None
    warnings: tuple[Warning, ...]
    engine_version: str = ENGINE_VERSION


def removed(
    facts: ExchangerFacts,
    before: ReadingSet,
    after: ReadingSet,
    history: History,
    instruments: Iterable[InstrumentAccuracy] | Mapping[str, InstrumentAccuracy] | None = None,
    draws: int = DRAWS,
    *,
    instruments_before: Iterable[InstrumentAccuracy] | Mapping[str, InstrumentAccuracy] | None = None,
) -> Removal:
    """Fouling resistance removed between two visits, from draws that share all that repeats.

    An instrument's repeating error is shared where both sets name one gauge set, or neither names any; sets
    of two gauge sets each err on their own, each by its own accuracies.

    Parameters
    ----------
    facts : ExchangerFacts
        The exchanger as the register knows it.
    before, after : ReadingSet
        The sets before and after the cleaning.
    history : History
        Everything else known; clean visits up to the first set are used.
    instruments : iterable or mapping of InstrumentAccuracy, optional
        Accuracies that replace the defaults.
    draws : int
        Monte Carlo draws. [-]
    instruments_before : iterable or mapping of InstrumentAccuracy, optional
        Those of the first set, where it was read with other gauges.

    Returns
    -------
    Removal
        Intervals [m2 K/W] and [K/W], or None with the reason.

    References
    ----------
    JCGM 101:2008; JCGM 100:2008, F.1.2.3 (errors common to two results cancel in their difference).
    """
    rows = [row for row in history.tables if row.unit == facts.unit]
    bench = gathering.bench_of(facts, rows, _table(instruments))
    earlier = bench if instruments_before is None else replace(bench, instruments=_table(instruments_before))
    benches = (earlier, bench)
    reasons = [
        warning
        for one, row in zip(benches, (before, after), strict=True)
        for warning in _stops(gates.check(one, row))
    ]
    if reasons:
        return Removal(None, None, None, None, None, None, tuple(reasons))
    area = references.area_of(bench.facts)
    before, after = (entries.cleaned(row, bench.facts) for row in (before, after))
    visits = clean_sets.steadied(references.clean_visits(before, history))
    others = gathering.other_gauges(after, visits, history.instruments, bench.instruments)
    gathered = gathering.gather(bench, visits, rows, others)
    try:
        seen = [
            observe(gathering.knowing_habits(one, gathered, row.mode), row, maybe_scaled=True)
            for one, row in zip(benches, (before, after), strict=True)
        ]
    except NotObservable as lacking:
        return Removal(None, None, None, None, None, None, (lacking.warning,))
    told = repr(
        (ENGINE_VERSION, draws, facts, before, after, gathered.visits, rows, *others.items())
    ).encode()
    seed = int(hashlib.sha256(told).hexdigest()[:16], 16)
    with np.errstate(all="ignore"):
        first, second, flagged = _draws(bench, before.mode, seen, gathered, area, draws, seed)
    possible = np.isfinite(first) & np.isfinite(second)
    if possible.mean() < LEAST_POSSIBLE:
        text = "water and refrigerant temperatures of the two sets cross: check the thermometers and gauges"
        return Removal(None, None, None, None, None, None, (Warning("readings_contradict", text),))
    return _summary(first[possible], second[possible], area, flagged)


def changed(removal: Removal) -> str | None:
    """What a cleaning changed, by what it removed.

    "better" where the interval of what was removed lies above nothing; "nothing" where it does not and less
    than half of what stood before is gone; None where it is so wide that it tells neither.

    Parameters
    ----------
    removal : Removal
        Of the visits before and after.

    Returns
    -------
    str or None
        "better", "nothing", or None where that is not known.

    References
    ----------
    JCGM 101:2008, 5.3 (coverage interval); the half is common practice.

    Examples
    --------
    >>> gone, before = Interval(0.1, -0.2, 0.4), Interval(2.0, 1.5, 2.5)
    >>> changed(Removal(None, gone, before, None, None, None, ()))
    'nothing'
    """
    gone, before = removal.removed_k_per_w, removal.before_k_per_w
    if gone is None or before is None:
        return None
    if gone.low > 0:
        return "better"
    return "nothing" if gone.value <= WORTH_THE_NAME * max(before.value, 0.0) else None


def _draws(
    bench: Bench,
    mode: str,
    seen: list[Seen],
    gathered: gathering.Reference,
    area: float | None,
    draws: int,
    seed: int,
) -> tuple[Array, Array, tuple[Warning, ...]]:
    """Fouling [K/W] of both visits at the same draws, and what was flagged in the reference."""
    fallback = -math.log(math.exp(seen[0].observation.values[2]) * FALLBACK_W_PER_K_FOR_EACH_KG_PER_S)
    belief = references.belief_before(bench.facts, area, mode, fallback)
    reference, problem = gathering.set_up(bench, seen, gathered, belief, area)
    generator = np.random.Generator(np.random.PCG64(seed))
    first, second = inference.foulings(problem, inference.draw_unknowns(problem, draws, generator))
    return first, second, reference.warnings


def _table(
    given: Iterable[InstrumentAccuracy] | Mapping[str, InstrumentAccuracy] | None,
) -> Mapping[str, InstrumentAccuracy]:
    return instrument_table(given.values() if isinstance(given, Mapping) else given)


def _stops(gate: Gate) -> list[Warning]:
    return gate.warnings if gate.withheld else []


def _summary(first: Array, second: Array, area: float | None, warnings: tuple[Warning, ...]) -> Removal:
    gone, before, after = interval(first - second), interval(first), interval(second)
    apart = math.hypot(before.high - before.low, after.high - after.low)
    return Removal(
        None if area is None else Interval(gone.value * area, gone.low * area, gone.high * area),
        gone,
        before,
        after,
        (gone.high - gone.low) / apart,
        float(np.mean(first > second)),
        warnings,
    )
