"""What was seen against what the clean unit would show: residuals, their covariance, clean visits
learned from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.causes.machines import may_be_plain
from diagnostics.engine.causes.printed import Printed, printed_rows
from diagnostics.engine.causes.probability import Array, conditioned
from diagnostics.engine.causes.residuals import (
    AMPS_ALONE,
    QUANTITIES,
    Observed,
    amps_alone,
    by_amps_alone,
    observed,
)
from diagnostics.engine.causes.shapes import Signatures
from diagnostics.engine.causes.signatures import (
    UNIT_DOUBTS,
    point_of,
    signatures,
    unit_doubts,
    visit_doubts,
    visit_offsets,
)
from diagnostics.engine.records import (
    EVENTS_THAT_VOID_REFERENCES,
    ExchangerFacts,
    History,
    InstrumentAccuracy,
    ReadingSet,
)
from diagnostics.engine.uncertainty import instrument_table

MOST_CLEAN_VISITS = 4
VISIT_WIDTHS: Mapping[str, float] = {
    "flow": 0.02,
    "pressure_drop": 0.03,
    "water_change": 0.15,
    "head": 0.3,
    "suction": 0.4,
    "superheat": 0.6,
    "subcooling": 0.5,
    "discharge": 1.2,
    "power": 0.015,
    "air_change": 0.4,
}
"""Standard uncertainty of what a sound unit does differently from visit to visit (common practice)."""
PLAIN_WIDTHS: Mapping[str, float] = {"superheat": 5.0, "discharge": 8.0, "subcooling": 2.0}
"""The same of a plain condenser: a warm room opens the valve wide, a cold one nearly shuts it (common
practice)."""
UNIT_WIDTHS: Mapping[str, float] = {
    "flow": 0.01,
    "pressure_drop": 0.03,
    "water_change": 0.2,
    "head": 0.5,
    "suction": 0.7,
    "superheat": 1.2,
    "subcooling": 1.2,
    "discharge": 2.5,
    "power": 0.03,
    "air_change": 0.6,
}
"""Standard uncertainty of what a sound unit always does differently, beyond the doubts of its record;
clean visits
teach it."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Residuals of the quantities read [K or -], the covariance of the clean unit's, and what they rest
    on."""

    names: tuple[str, ...]
    places: tuple[int, ...]
    residuals: Array
    covariance: Array
    observed: Observed
    signatures: Signatures
    expected: Array
    clean_visits: int


def seen_of(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    clean: ReadingSet | Sequence[ReadingSet] | None,
    instruments: Mapping[str, InstrumentAccuracy],
    on_record: ExchangerFacts | None = None,
) -> Seen:
    """The reading set's residuals against the clean unit, as far as its record and clean visits tell it.

    `on_record` are the facts before a size that no record tells was put among them.
    """
    point = point_of(reading)
    signs = signatures(facts, point)
    read = observed(facts, reading, signs.unit, instruments)
    places = tuple(
        QUANTITIES.index(name) for name in read.names if np.isfinite(signs.clean[QUANTITIES.index(name)])
    )
    read = _only(read, tuple(QUANTITIES[place] for place in places))
    visits = clean_visits(facts, reading, history, clean)
    printed = printed_rows(facts, reading, history)
    doubts = unit_doubts(on_record or facts)
    gauges = {name: instrument_table(known) for name, known in history.instruments.items()}
    mean, covariance = _learned(facts, reading, read, visits, instruments, printed, doubts, gauges)
    rows = list(places)
    link = np.hstack([signs.unit_sensitivity, np.eye(len(QUANTITIES))])[rows]
    offsets = signs.visit_sensitivity @ visit_offsets(point, reading)
    expected = signs.clean[rows] + offsets[rows] + link @ mean
    total = link @ covariance @ link.T + read.random + _visit_noise(signs, reading, facts)[np.ix_(rows, rows)]
    return Seen(read.names, places, read.values - expected, total, read, signs, expected, len(visits))


def clean_visits(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    clean: ReadingSet | Sequence[ReadingSet] | None,
) -> tuple[ReadingSet, ...]:
    """Clean visits of this mode and stage that no event has voided, latest first."""
    if clean is None:
        known = [
            one for one in history.readings if one.purpose == "clean_reference" and one.unit == reading.unit
        ]
    else:
        known = [clean] if isinstance(clean, ReadingSet) else list(clean)
    voids = [
        one.at for one in history.events if one.what in EVENTS_THAT_VOID_REFERENCES and one.unit == facts.unit
    ]
    kept = [
        one
        for one in known
        if one.mode == reading.mode
        and one.stage == reading.stage
        and one.taken_at < reading.taken_at
        and not any(one.taken_at <= at <= reading.taken_at for at in voids)
    ]
    return tuple(sorted(kept, key=lambda one: one.taken_at, reverse=True)[:MOST_CLEAN_VISITS])


def _only(read: Observed, names: tuple[str, ...]) -> Observed:
    keep = [read.names.index(name) for name in names]
    return Observed(
        names,
        read.values[keep],
        read.random[np.ix_(keep, keep)],
        read.repeating[np.ix_(keep, keep)],
        read.readings,
        read.sensitivity[keep],
    )


def _learned(
    facts: ExchangerFacts,
    reading: ReadingSet,
    read: Observed,
    visits: Sequence[ReadingSet],
    instruments: Mapping[str, InstrumentAccuracy],
    printed: Iterable[Printed],
    unit_doubts: Array,
    gauges: Mapping[str, Mapping[str, InstrumentAccuracy]],
) -> tuple[Array, Array]:
    """Unit doubts and standing offsets after the maker's rows and the clean visits; offsets hold the
    instruments' repeating errors."""
    doubts, count = len(UNIT_DOUBTS), len(QUANTITIES)
    covariance = np.zeros((doubts + count, doubts + count))
    covariance[:doubts, :doubts] = np.diag(unit_doubts**2)
    own = np.diag([UNIT_WIDTHS[name] ** 2 for name in QUANTITIES])
    if amps_alone(reading):
        own[QUANTITIES.index("power"), QUANTITIES.index("power")] = AMPS_ALONE**2
        visits = [by_amps_alone(visit) for visit in visits]
    covariance[doubts:, doubts:] = own + _spread(read.names, read.repeating)
    mean = np.zeros(doubts + count)
    for row in printed:
        mean, covariance = conditioned(mean, covariance, *_taught(row, doubts, count))
    for visit in visits:
        point = point_of(visit)
        signs = signatures(facts, point, curves=False)
        same = visit.gauge_set == reading.gauge_set
        theirs = instruments if same else gauges.get(visit.gauge_set or "", instruments)
        then = observed(facts, visit, signs.unit, theirs)
        shared = [n for n in then.names if n in read.names and np.isfinite(signs.clean[QUANTITIES.index(n)])]
        if not shared:
            continue
        then = _only(then, tuple(shared))
        rows = [QUANTITIES.index(name) for name in shared]
        link = np.hstack([signs.unit_sensitivity, np.eye(count)])[rows]
        offsets = (signs.visit_sensitivity @ visit_offsets(point, visit))[rows]
        noise = then.random + _visit_noise(signs, visit, facts)[np.ix_(rows, rows)]
        if visit.gauge_set != reading.gauge_set:
            noise = noise + then.repeating
        mean, covariance = conditioned(
            mean, covariance, link, then.values - signs.clean[rows] - offsets, noise
        )
    return mean, covariance


def _taught(row: Printed, doubts: int, count: int) -> tuple[Array, Array, Array]:
    """A printed row as an observation of the unit doubts: the model's, not this unit's own ways."""
    rows = list(row.places)
    link = np.hstack([row.signs.unit_sensitivity, np.zeros((count, count))])[rows]
    own = [UNIT_WIDTHS[QUANTITIES[place]] ** 2 + VISIT_WIDTHS[QUANTITIES[place]] ** 2 for place in rows]
    return link, row.residuals, np.diag(row.variances + np.array(own))


def _spread(names: Sequence[str], part: Array) -> Array:
    whole = np.zeros((len(QUANTITIES), len(QUANTITIES)))
    rows = [QUANTITIES.index(name) for name in names]
    whole[np.ix_(rows, rows)] = part
    return whole


def _visit_noise(signs: Signatures, reading: ReadingSet, facts: ExchangerFacts) -> Array:
    plain = may_be_plain(facts)
    moved = signs.visit_sensitivity * visit_doubts(signs.unit, reading, plain)
    widths = {**VISIT_WIDTHS, **PLAIN_WIDTHS} if plain else VISIT_WIDTHS
    return np.asarray(moved @ moved.T + np.diag([widths[name] ** 2 for name in QUANTITIES]))
