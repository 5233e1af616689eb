"""A reading set that could be judged, with everything the answer is made of."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine import inference
from diagnostics.engine.bench import Bench
from diagnostics.engine.gate import Gate
from diagnostics.engine.gathering import Reference
from diagnostics.engine.observe import Seen
from diagnostics.engine.records import ReadingSet, ReferenceUsed


@dataclass(frozen=True, slots=True)
class Judged:
    """Everything the answer is made of."""

    bench: Bench
    reading: ReadingSet
    reference: Reference
    seen: Seen
    gate: Gate
    out: inference.Outcome
    linear: inference.FirstOrder
    used: tuple[ReferenceUsed, ...]
    area_m2: float | None
    belief_ln_resistance: float
