"""A hunting valve: three sets minutes apart that swing to and fro are taken as their mean, widened."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from diagnostics.engine.observation import NEW, Channel, Error
from diagnostics.engine.records import ReadingSet

SETS = 3
FIELDS: tuple[str, ...] = (
    "entering_water_k",
    "leaving_water_k",
    "water_flow_kg_per_s",
    "water_flow_m3_per_s",
    "water_pressure_drop_pa",
    "balancing_valve_pressure_drop_pa",
    "head_pressure_pa",
    "suction_pressure_pa",
    "liquid_line_k",
    "suction_line_k",
    "discharge_line_k",
    "compressor_power_w",
)


@dataclass(frozen=True, slots=True)
class Mean:
    """The mean set, and the standard uncertainty of each mean by field, in the field's unit."""

    reading: ReadingSet
    spreads: dict[str, float]


def mean_of_three(
    reading: ReadingSet, before: Sequence[ReadingSet], drifts: Callable[[ReadingSet, ReadingSet], list[str]]
) -> Mean | None:
    """The mean of this and the two sets before, where they swing; None where they agree or still settle."""
    sets = [*sorted(before, key=lambda row: row.taken_at)[1 - SETS :], reading]
    if len(sets) < SETS:
        return None
    moving = {field for one in sets[:-1] for field in drifts(reading, one)}
    moving |= set(drifts(sets[1], sets[0]))
    if not moving or any(_keeps_going([getattr(one, field) for one in sets]) for field in moving):
        return None
    values: dict[str, Any] = {}
    spreads = {}
    for field in FIELDS:
        told = [getattr(one, field) for one in sets]
        if None not in told:
            values[field] = statistics.fmean(told)
            spreads[field] = statistics.stdev(told) / SETS**0.5
    return Mean(replace(reading, **values), spreads)


def _keeps_going(values: list[float | None]) -> bool:
    """Whether a reading moves the same way twice: not hunting but settling."""
    if None in values:
        return True
    first, second, third = values
    assert first is not None and second is not None and third is not None
    return (second - first) * (third - second) > 0


def errors_of(reading: ReadingSet, spreads: Mapping[str, float]) -> list[Error]:
    """What the swing leaves open of the mean, channel by channel."""
    cooling = reading.mode == "cooling"
    places = {
        "entering_water_k": Channel.ENTERING,
        "leaving_water_k": Channel.LEAVING,
        "water_flow_kg_per_s": Channel.FLOW,
        "water_flow_m3_per_s": Channel.FLOW,
        "head_pressure_pa" if cooling else "suction_pressure_pa": Channel.PRESSURE,
        "liquid_line_k": Channel.LIQUID,
        "discharge_line_k" if cooling else "suction_line_k": Channel.THIRD,
    }
    errors = []
    for field, channel in places.items():
        spread = spreads.get(field, 0.0)
        if channel in (Channel.FLOW, Channel.PRESSURE):
            spread /= abs(getattr(reading, field) or 1.0)
        if spread > 0:
            column = field.removesuffix("_k").removesuffix("_pa").split("_kg")[0].split("_m3")[0]
            errors.append(Error(channel, 1.0, spread, column, (NEW, "hunting", field), False))
    return errors
