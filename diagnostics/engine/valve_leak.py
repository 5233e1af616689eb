"""A reversing valve that lets hot gas through, as an explanation of a heat balance that does not close.

What the compressor moves then does not all pass the exchangers: by the compressor the refrigerant carries
more heat than the water shows, and the suction gas is warmed between evaporator and compressor. Every reading
may be right; without this explanation a water thermometer or the flow meter would be blamed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import balance, refrigerant_side
from diagnostics.engine.bench import Bench
from diagnostics.engine.records import ReadingSet, reverses

Array = NDArray[np.float64]

LEAST_SHARE, MOST_SHARE = 0.02, 0.5
"""Shares of the compressor's gas that a valve is believed to let through; beyond, hardly any machine runs."""
STEP = 1e-3


@dataclass(frozen=True, slots=True)
class Leak:
    """Share of the compressor's gas that would explain it [-], and the sum of squares left then [-]."""

    share: float
    left: float

    def words(self) -> str:
        """As the end of a sentence on what would explain the balance."""
        return (
            f"a reversing valve that lets about {100 * self.share:.0f} % of the hot gas through to the "
            "suction side would show the same with every reading right: measure the suction line on both "
            "sides of the valve"
        )


def find(
    bench: Bench, reading: ReadingSet, residuals: Array, covariance: Array, water_accounts: int
) -> Leak | None:
    """The leak that would explain most, if the machine has a reversing valve.

    Parameters
    ----------
    bench, reading : Bench, ReadingSet
        The exchanger and the set that does not close.
    residuals, covariance : array
        From the suspects: the water's accounts of the flow against the refrigerant's heat first, superheat
        the last but one. [-]
    water_accounts : int
        How many of the residuals are the water's accounts. [-]

    Returns
    -------
    Leak or None
        None where no leak of a believable size explains anything.

    References
    ----------
    Mass balance over the valve; that the suction line is read at the compressor is common practice. Whether
    the expansion device senses before or behind the valve is not asked, so both are tried.
    """
    told = refrigerant_side.states(bench, reading) if reverses(bench.facts) else None
    if told is None:
        return None
    hot = told.after if reading.mode == "cooling" else told.before
    slopes = np.zeros((len(residuals), 2))
    tight, leaking = (balance.heat_past_leak(1.0, hot, told.at_valve, told.after, x) for x in (0.0, STEP))
    slopes[:water_accounts] = (leaking - tight) / tight / STEP
    # ideal gas: enthalpy by temperature alone, so the warming is the share of the compressor's own
    slopes[-2, 0] = (reading.discharge_line_k or 0.0) - (reading.suction_line_k or 0.0)
    _, left, shares = balance.leave_one_out(residuals, covariance, slopes)
    # the slopes are those of ln(1 - share), which is what the heat goes by
    found = [Leak(-math.expm1(-step), float(rest)) for step, rest in zip(shares, left, strict=True)]
    found = [one for one in found if LEAST_SHARE <= one.share <= MOST_SHARE]
    return min(found, key=lambda one: one.left, default=None)
