"""An assessment as one JSON object a line, in the keys that programs rely on."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from diagnostics.engine.records import Assessment, Interval, ReadingSet, Warning

INTERVALS = (
    "water_flow_kg_per_s",
    "heat_w",
    "ua_w_per_k",
    "excess_approach_k",
    "cleanliness",
    "fouling_resistance_m2k_per_w",
    "fouling_resistance_k_per_w",
)
KEYS = (
    "line",
    "unit",
    "taken_at",
    "mode",
    *INTERVALS,
    "probability_over_limit",
    "limit",
    "verdict",
    "reference",
    "decides_next",
    "do_next",
    "warnings",
)
"""The keys of every result, in this order; further ones follow them."""


def as_json_line(line: int, reading: ReadingSet, assessment: Assessment) -> str:
    """One line of JSON, ASCII only, without NaN or infinity."""
    return json.dumps(as_object(line, reading, assessment), allow_nan=False)


def as_object(line: int, reading: ReadingSet, assessment: Assessment) -> dict[str, object]:
    """The result of one row: the promised keys, then what else the engine tells."""
    names = [one.name for one in dataclasses.fields(assessment) if one.name != "more"]
    fields: dict[str, Any] = {name: getattr(assessment, name) for name in names}
    fields |= {"line": line, "unit": reading.unit, "mode": reading.mode}
    fields["taken_at"] = reading.taken_at_as_typed or reading.taken_at.isoformat()
    for name in INTERVALS:
        if fields[name] is not None and not _finite(fields[name]):
            fields[name] = None
            text = f"{name} came out beyond what numbers can hold; look for a reading of absurd size."
            fields["warnings"] = (*fields["warnings"], Warning("not_finite", text))
    result = {key: plain(fields[key]) for key in KEYS}
    for key, value in {**assessment.more, **fields}.items():
        result.setdefault(key, plain(value))
    return result


def withheld(reading: ReadingSet, reason: Warning, do_next: str) -> Assessment:
    """A good row of which nothing can be computed: nulls, undecided, and why."""
    nothing: dict[str, Any] = dict.fromkeys(INTERVALS)
    return Assessment(
        unit=reading.unit,
        taken_at=reading.taken_at_as_typed or reading.taken_at.isoformat(),
        mode=reading.mode,
        line=None,
        **nothing,
        probability_over_limit=None,
        limit=None,
        verdict="undecided",
        reference=(),
        decides_next=None,
        do_next=do_next,
        warnings=(reason,),
    )


def _finite(interval: Interval) -> bool:
    return all(math.isfinite(end) for end in (interval.value, interval.low, interval.high))


def plain(value: object) -> object:
    """Records, arrays and numpy numbers as what JSON knows; numbers that are not finite as null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(one) for one in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str | int):
        return value
    return str(value)
