"""Why a surface is not called fouled, or clean, though its probability looks like it: in plain words."""

from __future__ import annotations

from diagnostics.engine import fouling, per_cent
from diagnostics.engine.records import Interval, Limit, Warning


def why(
    probability: float | None, span: Interval, limit: Limit, held: str | None, told_elsewhere: bool
) -> Warning | None:
    """The rule that keeps a telling probability from a verdict; `held` in words where a finding does.

    `span` in the limit's unit. None where the probability itself is undecided.
    """
    if probability is None:
        return None
    fouled = probability >= fouling.FOULED_FROM_PROBABILITY
    if not fouled and probability > fouling.CLEAN_UP_TO_PROBABILITY:
        return None
    word = "fouled" if fouled else "clean"
    half = (span.high - span.low) / 2
    if half > limit.value and (not fouled or span.low <= limit.value):
        rule = "only once all of the interval lies beyond the limit" if fouled else "on no such interval"
        reason = (
            f"the interval's half width of {half:.2g} {limit.unit} exceeds the limit of "
            f"{limit.value:.2g} {limit.unit}, and a surface is called {word} {rule}"
        )
    elif held is not None:
        reason = held
    elif told_elsewhere:
        reason = "what is said of the readings here leaves the number in doubt"
    else:
        return None
    chance = per_cent.chance(probability)
    return Warning(
        "why_undecided", f"{chance[:1].upper()}{chance[1:]} beyond the limit, yet undecided: {reason}"
    )
