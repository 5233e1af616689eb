"""What the unit's past and its water say before the readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

DAYS_THAT_COUNT = 900.0
SUDDEN_DAYS, GRADUAL_SHARE = 200.0, 0.4
GRADUAL, SUDDEN = 1.6, 0.6
SUDDEN_CAUSES: tuple[str, ...] = (
    "strainer_blocked",
    "flow_control_fault",
    "water_flow_low",
    "water_hoses_crossed",
    "air_side_fault",
    "bad_reading",
)
SCALING, NOT_SCALING = 1.0, 0.0
SCALING_FACTOR, NOT_SCALING_FACTOR = 1.3, 0.8


@dataclass(frozen=True, slots=True)
class Earlier:
    """An earlier result of the same exchanger and mode: days before the reading, excess approach [K]."""

    days_before: float
    excess_approach_k: float


@dataclass(frozen=True, slots=True)
class Background:
    """Earlier results since the last cleaning or exchange, latest first; this reading's own excess approach
    [K]; the water's saturation index [-]. Empty or None where not known."""

    earlier: Sequence[Earlier] = ()
    excess_approach_k: float | None = None
    saturation_index: float | None = None


NOTHING_KNOWN = Background()


def factors(background: Background) -> dict[str, float]:
    """Factors on the priors of causes (common practice, stated here and nowhere hidden).

    Fouling grows: an approach that already stood off at the visit before, by two fifths of today's or more,
    speaks for it; one that was right within 200 days speaks for what comes suddenly. Water that tends to
    scale fouls sooner.

    Parameters
    ----------
    background : Background
        Past and water; excess approach [K], index [-].

    Returns
    -------
    dict of str to float
        Factor by cause; causes without one are left as they are. [-]

    References
    ----------
    Common practice; Langelier (1936) for the index.

    Examples
    --------
    >>> grown = Background((Earlier(180.0, 2.0),), 3.5)
    >>> factors(grown)["exchanger_fouled"]
    1.6
    """
    found: dict[str, float] = {}
    fouled = _growth(background)
    if fouled < 1.0:
        found = dict.fromkeys(SUDDEN_CAUSES, 1.0 / fouled)
    index = background.saturation_index
    if index is not None:
        fouled *= SCALING_FACTOR if index > SCALING else NOT_SCALING_FACTOR if index < NOT_SCALING else 1.0
    if fouled != 1.0:
        found["exchanger_fouled"] = fouled
    return found


def _growth(background: Background) -> float:
    now = background.excess_approach_k
    known = [one for one in background.earlier if 0.0 < one.days_before < DAYS_THAT_COUNT]
    if now is None or now < 1.0 or not known:
        return 1.0
    last = min(known, key=lambda one: one.days_before)
    if last.excess_approach_k >= GRADUAL_SHARE * now:
        return GRADUAL
    if last.excess_approach_k < 0.15 * now and last.days_before < SUDDEN_DAYS:
        return SUDDEN
    return 1.0


def told(background: Background) -> str | None:
    """The growth in words, None where nothing is told by it."""
    factor = _growth(background)
    now = background.excess_approach_k
    if factor == 1.0 or now is None:
        return None
    last = min(background.earlier, key=lambda one: one.days_before)
    mark = "for" if factor > 1.0 else "against"
    return (
        f"{mark}: {last.days_before:.0f} days ago the approach stood {last.excess_approach_k:.1f} K above "
        f"the clean unit's, now {now:.1f} K; fouling grows, it does not come at once"
    )
