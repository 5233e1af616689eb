"""What of a reading set counts as evidence where the machine had not settled: findings, lockout, entering
water."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from diagnostics.engine import gates
from diagnostics.engine.gate import Gate
from diagnostics.engine.records import ReadingSet

UNSETTLED: tuple[str, ...] = (
    "leaving_water_k",
    "water_flow_m3_per_s",
    "water_flow_kg_per_s",
    "water_pressure_drop_pa",
    "balancing_valve_pressure_drop_pa",
    "head_pressure_pa",
    "suction_pressure_pa",
    "liquid_line_k",
    "suction_line_k",
    "discharge_line_k",
    "compressor_power_w",
    "amps_a",
    "volts_v",
    "power_factor",
    "leaving_air_k",
)
"""What still moves while a machine runs in, or swings, and so tells no cause."""


def settled_part(reading: ReadingSet, others: Iterable[ReadingSet]) -> ReadingSet:
    """The set as read where it was steady; else without all that a running machine moves.

    Parameters
    ----------
    reading : ReadingSet
        What was read. [SI]
    others : iterable of ReadingSet
        Sets read minutes before among them.

    Returns
    -------
    ReadingSet
        Findings, lockout, static test and the entering water and air always stay. [SI]

    References
    ----------
    Common practice: readings count from ten minutes of steady running; the same gate as the number's.

    Examples
    --------
    >>> from datetime import datetime
    >>> early = ReadingSet("HP-1", datetime(2024, 5, 1), "cooling", minutes_running=4.0, head_pressure_pa=2e6)
    >>> settled_part(early, ()).head_pressure_pa is None
    True
    """
    left_out: dict[str, Any] = dict.fromkeys(UNSETTLED)
    return replace(reading, **left_out) if _moves(reading, others) else reading


def _moves(reading: ReadingSet, others: Iterable[ReadingSet]) -> bool:
    if reading.minutes_running is not None and reading.minutes_running < gates.LEAST_MINUTES:
        return True
    gate = Gate()
    gates.check_drift(gate, reading, others)
    return gate.withheld
