"""How large a machine is taken to be whose record says neither capacity nor design flow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from diagnostics.engine.causes.machines import is_evaporator
from diagnostics.engine.records import ExchangerFacts, History, ReadingSet

CAPACITY_OF_REJECTED, CAPACITY_OF_POWER = 0.8, 4.0
"""Cooling capacity over the heat given to the water, and over compressor power (common practice)."""
WATER_J_PER_M3_K, KG_PER_M3 = 4.18e6, 998.2
STEPS_A_FOLD = 20
"""Sizes are rounded to a twentieth of e-fold, so that a unit's visits share their signatures."""


def sized(facts: ExchangerFacts, reading: ReadingSet, history: History) -> ExchangerFacts:
    """The facts with a size where none is on record: by the maker's rows, else clean visits, else this visit.

    An absent size is not assumed normal: the doubt of such a unit is wide (`signatures.unit_doubts`), and its
    own flow says nothing of low flow.
    """
    if facts.capacity_w is not None or facts.design_flow_m3_per_s is not None:
        return facts
    flow = next(_flows(facts, reading, history), None)
    capacity = next(_capacities(facts, reading, history), None)
    if is_evaporator(facts, reading.mode):
        flow = None  # the record's design flow is that of the condenser
    return replace(facts, capacity_w=_rounded(capacity), design_flow_m3_per_s=_rounded(flow))


def _shown(reading: ReadingSet, history: History) -> Iterator[ReadingSet]:
    for one in history.readings:
        same = (one.unit, one.mode, one.stage) == (reading.unit, reading.mode, reading.stage)
        if same and one.purpose == "clean_reference" and one.taken_at <= reading.taken_at:
            yield one
    yield reading


def _flows(facts: ExchangerFacts, reading: ReadingSet, history: History) -> Iterator[float]:
    for row in history.tables:
        if row.unit == facts.unit and row.mode == reading.mode and row.water_flow_m3_per_s:
            yield row.water_flow_m3_per_s
    for one in _shown(reading, history):
        if flow := _flow(one):
            yield flow


def _flow(one: ReadingSet) -> float | None:
    return one.water_flow_m3_per_s or (one.water_flow_kg_per_s or 0.0) / KG_PER_M3 or None


def _capacities(facts: ExchangerFacts, reading: ReadingSet, history: History) -> Iterator[float]:
    share = CAPACITY_OF_REJECTED if reading.mode == "cooling" else 1.0
    for one in _shown(reading, history):
        flow, entering, leaving = _flow(one), one.entering_water_k, one.leaving_water_k
        if flow and entering and leaving and abs(leaving - entering) > 1.0:
            yield share * flow * WATER_J_PER_M3_K * abs(leaving - entering)
        elif one.compressor_power_w:
            yield CAPACITY_OF_POWER * one.compressor_power_w


def _rounded(value: float | None) -> float | None:
    if value is None or not math.isfinite(value) or value <= 0.0:
        return None
    return math.exp(round(math.log(value) * STEPS_A_FOLD) / STEPS_A_FOLD)
