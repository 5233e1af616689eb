"""What amps tell where neither power nor volts were read: against a clean visit that read them too."""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnostics.engine import habits
from diagnostics.engine.bench import Bench
from diagnostics.engine.observation import Channel
from diagnostics.engine.observe import Seen
from diagnostics.engine.power import heat_over_power
from diagnostics.engine.records import ReadingSet

CP = 12
"""Place of the water's specific heat among an observation's coefficients."""


def watts_per_amp(bench: Bench, visits: Sequence[ReadingSet], seen: Sequence[Seen]) -> float | None:
    """Power of a usual compressor for each amp read, as clean visits with gauges show it.

    Volts, power factor and what this compressor does differently from a usual one are all in it, so that
    they needn't be known: the same sum is undone where the amps of another day are held against it.

    Parameters
    ----------
    bench : Bench
        The unit's fluids and habits.
    visits : sequence of ReadingSet
        Clean visits of one mode, as read.
    seen : sequence of Seen
        The same visits as seen.

    Returns
    -------
    float or None
        Geometric mean over the visits that read amps and gauges; None without such a visit. [W/A]

    References
    ----------
    Supply voltage and power factor of one motor near one load stay alike (common practice; see
    `habits.SATURATION_BY_AMPS` for what is left open).
    """
    told = [
        math.log(heat_of(one) / (reading.amps_a * _ratio(bench, reading.mode, one)))
        for reading, one in zip(visits, seen, strict=True)
        if reading.amps_a is not None and reading.amps_a > 0 and _by_gauge(one)
    ]
    return math.exp(sum(told) / len(told)) if told else None


def heat_of(one: Seen) -> float:
    """Heat between the water and the refrigerant of a set as seen. [W]"""
    values = one.observation.values
    change = abs(values[Channel.LEAVING] - values[Channel.ENTERING])
    return math.exp(values[Channel.FLOW]) * one.observation.coefficients[CP] * change


def _by_gauge(one: Seen) -> bool:
    column = "head_pressure" if one.observation.mode == "cooling" else "suction_pressure"
    return column not in one.observation.assumed


def _ratio(bench: Bench, mode: str, one: Seen) -> float:
    """Heat over power of a usual compressor between this visit's saturation and the usual other side."""
    cooling = mode == "cooling"
    pair = (habits.USUAL_SUCTION_DEW_K, one.dew_k) if cooling else (one.dew_k, habits.USUAL_CONDENSING_K)
    return heat_over_power(bench.fluid, *pair, cooling, bench.superheat.value, bench.subcooling.value)
