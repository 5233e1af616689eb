"""Bayes over the causes: the readings' likelihood by signature, findings and priors."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.causes.blunders import blunder_rows
from diagnostics.engine.causes.evidence import (
    Findings,
    log_entering,
    log_findings,
    log_lockout,
    log_static,
)
from diagnostics.engine.causes.names import CAUSES, FOULED, NOTHING_WRONG, OTHER_FAULT, PAIRS
from diagnostics.engine.causes.priors import PAIR_SHARE, normalised, prior_of
from diagnostics.engine.causes.probability import Array, log_density, posterior
from diagnostics.engine.causes.seen import Seen
from diagnostics.engine.records import ExchangerFacts, History, InstrumentAccuracy, ReadingSet

SHAPE_DOUBT = 0.12
"""Standard uncertainty of a signature's every change, over that change: the machine is not the model. [-]"""
DEPOSIT_DOUBT = 0.7
"""Of how much scale narrows the passage: the same resistance is a thin dense or a thick loose deposit. [-]"""
NAMED = 0.6
"""Share of a blunder's weight that one or two columns must hold to be named. [-]"""
OTHER_WIDTHS: Mapping[str, float] = {
    "flow": 0.4,
    "pressure_drop": 0.5,
    "water_change": 3.0,
    "head": 7.0,
    "suction": 6.0,
    "superheat": 6.0,
    "subcooling": 5.0,
    "discharge": 12.0,
    "power": 0.2,
    "air_change": 4.0,
}
"""How far a fault without a name may move a quantity (one standard deviation)."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One hypothesis: its causes, prior, posterior, and at its most likely severity the shift of each
    quantity and the covariance that this cause's own doubts add (a deposit narrows by no known amount).
    `columns` are the readings or entries in which a blunder most likely lies, `fits` what would fit there."""

    causes: tuple[str, ...]
    prior: float
    log_likelihood: float
    probability: float
    shift: Array
    severity: float
    extra: Array | None = None
    fits: str = ""
    columns: tuple[str, ...] = ()


def weigh(
    facts: ExchangerFacts,
    reading: ReadingSet,
    history: History,
    seen: Seen,
    findings: Findings,
    instruments: Mapping[str, InstrumentAccuracy],
    prior: Mapping[str, float] | None = None,
) -> tuple[Weighed, ...]:
    """Posterior of every hypothesis, single causes and pairs."""
    before = dict(prior) if prior is not None else prior_of(facts, history, reading.taken_at)
    rows = hypothesis_rows(seen, facts)
    logs = row_log_likelihoods(seen, rows)
    extras = np.array([_log_evidence(facts, reading, findings, instruments, row) for row in rows])
    by_causes: dict[tuple[str, ...], list[int]] = {}
    for place, row in enumerate(rows):
        by_causes.setdefault(row.causes, []).append(place)
    weights = pair_priors(before)
    kept = [causes for causes in by_causes if weights.get(causes, 0.0) > 0.0]
    totals, best, columns = [], [], []
    for causes in kept:
        places = np.array(by_causes[causes])
        both = logs[places] + extras[places]
        top = both.max()
        totals.append(top + np.log(np.mean(np.exp(both - top))))
        best.append(places[int(both.argmax())])
        columns.append(_columns([rows[at].column for at in places], np.exp(both - top)))
    priors = np.array([weights[causes] for causes in kept])
    after = posterior(priors / priors.sum(), np.array(totals))
    found = [
        Weighed(causes, weights[causes], float(total), float(chance), *_of_row(rows[at]), named)
        for causes, total, chance, at, named in zip(kept, totals, after, best, columns, strict=True)
    ]
    return tuple(sorted(found, key=lambda one: -one.probability))


def _of_row(row: Row) -> tuple[Array, float, Array, str]:
    return row.shift, row.severity, row.extra, row.fits


def _columns(names: Sequence[str], weights: Array) -> tuple[str, ...]:
    """The one or two columns that hold most of the weight, none where it is spread over more."""
    shares: dict[str, float] = {}
    for name, weight in zip(names, weights, strict=True):
        shares[name] = shares.get(name, 0.0) + float(weight) / float(weights.sum())
    found = sorted(filter(None, shares), key=lambda name: -shares[name])[:2]
    if found and shares[found[0]] >= NAMED:
        return (found[0],)
    return tuple(found) if sum(shares[name] for name in found) >= NAMED else ()


def pair_priors(before: Mapping[str, float]) -> dict[tuple[str, ...], float]:
    """Priors of single causes and pairs: a fouled exchanger lends a share to each pair it comes in."""
    found: dict[tuple[str, ...], float] = {(name,): value for name, value in normalised(before).items()}
    for pair in PAIRS:
        if before.get(pair[1], 0.0) > 0.0:
            found[pair] = PAIR_SHARE[pair[1]] * found.get((FOULED,), 0.0)
    return found


@dataclass(frozen=True, slots=True)
class Row:
    """One hypothesis at one severity: shift of the quantities seen and what it adds to their covariance."""

    causes: tuple[str, ...]
    severity: float
    shift: Array
    extra: Array
    trip: str
    column: str = ""
    fits: str = ""


def hypothesis_rows(seen: Seen, facts: ExchangerFacts) -> list[Row]:
    """Every hypothesis at every severity that runs steadily."""
    count = len(seen.names)
    none, nothing = np.zeros(count), np.zeros((count, count))
    trip = seen.signatures.clean_trip
    rows = [
        Row((name,), 0.0, none, nothing, trip)
        for name in (NOTHING_WRONG, "loop_water_warm", "loop_water_cold", "safety_control_fault")
    ]
    for curve in seen.signatures.curves:
        for size, mean, step, tripped in zip(
            curve.severities, curve.means, curve.steps, curve.trips, strict=True
        ):
            shift = (mean - seen.signatures.clean)[list(seen.places)]
            if not np.all(np.isfinite(shift)):
                continue
            part = step[list(seen.places)]
            extra = (
                np.diag((_shape_doubts(seen.names, curve.causes) * shift) ** 2) + np.outer(part, part) / 3.0
            )
            rows.append(Row(curve.causes, size[-1], shift, extra, tripped))
            if curve.causes == ("water_flow_low",):
                rows.append(Row(("flow_control_fault",), size[-1], shift, extra, tripped))
    rows += [
        Row((one.cause,), 2.0, one.shift, one.extra, trip, one.column, one.fits)
        for one in blunder_rows(seen, facts)
    ]
    wide = np.diag([OTHER_WIDTHS[name] ** 2 for name in seen.names]) if count else nothing
    rows.append(Row((OTHER_FAULT,), 2.0, none, wide, trip))
    return rows


def _shape_doubts(names: Sequence[str], causes: tuple[str, ...]) -> Array:
    """Doubt of each change, over the change; resistance does not tell how far a deposit narrows."""
    narrowed = (
        ("flow", "pressure_drop", "water_change")
        if FOULED in causes and "water_flow_low" not in causes
        else ()
    )
    return np.array([DEPOSIT_DOUBT if name in narrowed else SHAPE_DOUBT for name in names])


def row_log_likelihoods(seen: Seen, rows: Sequence[Row]) -> Array:
    """Logarithm of the density of the residuals under each row."""
    if not seen.names:
        return np.zeros(len(rows))
    residuals = seen.residuals - np.stack([row.shift for row in rows])
    return log_density(residuals, seen.covariance + np.stack([row.extra for row in rows]))


def _log_evidence(
    facts: ExchangerFacts,
    reading: ReadingSet,
    findings: Findings,
    instruments: Mapping[str, InstrumentAccuracy],
    row: Row,
) -> float:
    return (
        log_findings(facts, reading, findings, row.causes, row.severity)
        + log_static(facts, reading, instruments, row.causes, row.severity)
        + log_lockout(reading, row.causes, row.trip)
        + log_entering(facts, reading, row.causes)
    )


def by_cause(weighed: Iterable[Weighed]) -> dict[str, float]:
    """Probability of each cause; a pair counts half for each of its two, so that all sum to one."""
    found = dict.fromkeys(CAUSES, 0.0)
    for one in weighed:
        for cause in one.causes:
            found[cause] += one.probability / len(one.causes)
    return found
