"""Deposit over time between cleanings: four laws fitted by weight, compared, and the date of reaching the
limit.

Time is whatever drives growth, in days: the calendar's, or run hours over 24 where they are known. Each
result counts by its own uncertainty; gaps need nothing special; negative results are kept. A cleaning starts
a new episode: its growth rate is shared with the others, what it left behind is its own offset.
"""

from diagnostics.engine.growth.fitting import Fit, Result, aicc, fit, fits
from diagnostics.engine.growth.laws import LAWS, Law, asymptotic, falling_rate, induction, linear
from diagnostics.engine.growth.reach import FARTHEST_DAYS, Reaching, reaching

__all__ = [
    "FARTHEST_DAYS",
    "LAWS",
    "Fit",
    "Law",
    "Reaching",
    "Result",
    "aicc",
    "asymptotic",
    "falling_rate",
    "fit",
    "fits",
    "induction",
    "linear",
    "reaching",
]
