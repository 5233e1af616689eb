"""Hypotheses that lie outside the machine: a wrong reading, a wrong record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np

from diagnostics.engine.causes.names import BAD_READING, BAD_RECORD
from diagnostics.engine.causes.probability import Array
from diagnostics.engine.causes.residuals import QUANTITIES
from diagnostics.engine.causes.seen import Seen
from diagnostics.engine.causes.signatures import VISIT_DOUBTS
from diagnostics.engine.records import ExchangerFacts
from diagnostics.engine.refrigerants import REFRIGERANTS, refrigerant

GROSS_K = 6.0
GROSS: Mapping[str, float] = {
    "water_flow": 0.35,
    "water_pressure_drop": 0.45,
    "head_pressure": 0.12,
    "suction_pressure": 0.15,
    "compressor_power": 0.25,
    "amps": 0.25,
}
"""Size of a gross error (one standard deviation): share of the reading, `GROSS_K` [K] for temperatures."""
FLOW_RECORDS: tuple[float, ...] = (0.4, 0.5, 0.6, 0.7, 1.4, 1.6, 1.8, 2.1, 2.5)
"""Design flow on record over the true one."""
OTHER_RECORD_K, OTHER_RECORD_SHARE = 1.5, 0.06
FIRST_ORDER_DOUBT = 0.12
"""Of a gross error's effect, told by what a small one moves. [-]"""


class Blunder(NamedTuple):
    """Cause, shift and added covariance; the column that would be wrong, and what would fit in its place."""

    cause: str
    shift: Array
    extra: Array
    column: str = ""
    fits: str = ""


def blunder_rows(seen: Seen, facts: ExchangerFacts) -> Iterator[Blunder]:
    """Each blunder that what was seen can show."""
    count = len(seen.names)
    if not count:
        for cause in (BAD_READING, BAD_RECORD):
            yield Blunder(cause, np.zeros(0), np.zeros((0, 0)))
        return
    yield from _bad_readings(seen)
    for flow in FLOW_RECORDS:
        yield _flow_record(seen, flow)
    yield from _refrigerant_records(seen, facts)


def _bad_readings(seen: Seen) -> Iterator[Blunder]:
    """Each reading in turn with a gross error; its effect on the quantities is known to first order."""
    for place, name in enumerate(seen.observed.readings):
        column = seen.observed.sensitivity[:, place]
        moved = column * _gross_over_spread(seen.names, name, column) if np.any(column) else column
        moved = moved - GROSS_K * _expected_by(seen, name)
        if np.any(moved):
            extra = np.outer(moved, moved) + np.diag((FIRST_ORDER_DOUBT * moved) ** 2)
            yield Blunder(BAD_READING, np.zeros(len(column)), extra, name)


def _expected_by(seen: Seen, name: str) -> Array:
    """What the clean unit would show more for each kelvin of a reading that it is asked by: with entering
    water or air misread it is asked at the wrong point."""
    asked = {"entering_water": "entering_water"}
    if seen.signatures.unit.coil is not None:
        asked["entering_air"] = "air"
    if name not in asked:
        return np.zeros(len(seen.names))
    return np.asarray(seen.signatures.visit_sensitivity[list(seen.places), VISIT_DOUBTS.index(asked[name])])


def _gross_over_spread(names: tuple[str, ...], name: str, column: Array) -> float:
    """Gross error over the standard uncertainty for which the sensitivity stands."""
    if name in GROSS:
        lead = {"head_pressure": "head", "suction_pressure": "suction"}.get(name)
        if lead is not None:
            kelvin_a_share = 40.0 if lead == "head" else 33.0
            return GROSS[name] * kelvin_a_share / abs(float(column[names.index(lead)]))
        return GROSS[name] / float(np.abs(column).max())
    return GROSS_K / float(np.abs(column).max())


def _flow_record(seen: Seen, factor: float) -> Blunder:
    """A design flow on record too large or small by a factor: flow and water temperature change are off, the
    exchanger, sized for its true flow, is not."""
    shift, extra = np.zeros(len(seen.names)), np.zeros(len(seen.names))
    change = QUANTITIES.index("water_change")
    for place, name in enumerate(seen.names):
        if name == "flow":
            shift[place] = -np.log(factor)
        elif name == "water_change":
            shift[place] = float(seen.signatures.clean[change]) * (factor - 1.0)
        extra[place] = OTHER_RECORD_SHARE if name in ("flow", "pressure_drop", "power") else OTHER_RECORD_K
    fits = f"a design flow of about {1.0 / factor:.1f} times the one on record would fit"
    return Blunder(BAD_RECORD, shift, np.diag(extra**2 + (0.1 * shift) ** 2), "design_flow", fits)


def _refrigerant_records(seen: Seen, facts: ExchangerFacts) -> Iterator[Blunder]:
    """Another refrigerant in the machine than on record: its pressures read on the record's scale."""
    if "head" not in seen.names and "suction" not in seen.names:
        return
    own = refrigerant(facts.refrigerant, errors="nan")
    head, suction = (float(seen.signatures.clean[QUANTITIES.index(n)]) for n in ("head", "suction"))
    for name in REFRIGERANTS:
        other = refrigerant(name, errors="nan")
        if other.name == own.name:
            continue
        head_off = float(own.bubble_temperature_k(other.bubble_pressure_pa(head))) - head
        suction_off = float(own.dew_temperature_k(other.dew_pressure_pa(suction))) - suction
        offs = {"head": head_off, "suction": suction_off, "superheat": -suction_off, "subcooling": head_off}
        shift = np.array([offs.get(n, 0.0) for n in seen.names])
        if not np.all(np.isfinite(shift)) or np.abs(shift).max() < 1.0:
            continue
        width = [
            OTHER_RECORD_SHARE if n in ("flow", "pressure_drop", "power") else OTHER_RECORD_K
            for n in seen.names
        ]
        fits = f"the pressures of {other.name} would fit, {own.name} is on record"
        yield Blunder(BAD_RECORD, shift, np.diag(np.array(width) ** 2), "refrigerant", fits)
