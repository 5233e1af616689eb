"""What would help most: which reading, which source of the clean reference, and whether the charge moved."""

from __future__ import annotations

from diagnostics.engine import fouling, inference, per_cent, wording
from diagnostics.engine.gathering import Reference
from diagnostics.engine.observe import Seen
from diagnostics.engine.records import ReadingSet, ReferenceUsed

LEAST_SHARE = 0.05
MOSTLY_REFERENCE = 0.5
WORTH_ENTERING = 0.75
HARDLY_NARROWER = 0.9
OFFERS = {
    "operating_table": "Enter the operating table from the unit's manual",
    "rated_data": "Enter the rated capacity and the design flow",
    "clean_reference": "Read a clean visit when the surface is next known to be clean",
}


def decides_next(linear: inference.FirstOrder) -> str | None:
    """The column of readings whose improvement would most shrink the interval, None where none matters."""
    readings = {name: share for name, share in linear.shares.items() if name != "reference"}
    if not readings:
        return None
    name = max(readings, key=lambda one: readings[one])
    return name if readings[name] > LEAST_SHARE else None


def reference_advice(
    linear: inference.FirstOrder, used: tuple[ReferenceUsed, ...], half_width: str, scale: float, unit: str
) -> str | None:
    """Which source of the clean reference to enter next and what it would buy, where that is what is
    missing."""
    if not used:
        first = "operating_table"  # can be entered today; a clean visit must be waited for
        return (
            f"{OFFERS[first]}: without any clean reference fouling can't be told, with it to about "
            f"+-{1.96 * linear.spread_with[first] * scale:.2g} {unit}."
        )
    if linear.clean_share < MOSTLY_REFERENCE:
        return None
    have = {one.kind for one in used} - {"clean_reference"}
    worth = [
        name
        for name in OFFERS
        if name not in have and linear.spread_with[name] < WORTH_ENTERING * linear.spread_k_per_w
    ]
    best = worth[0] if worth else "clean_reference"
    left = linear.spread_with[best] / linear.spread_k_per_w
    if left > HARDLY_NARROWER:
        return None
    return (
        f"{OFFERS[best]}: {per_cent.chance(linear.clean_share)} of the doubt is about the clean surface, "
        "and the interval of "
        f"{half_width} would narrow to about {per_cent.share(left)} of that."
    )


MEASURED = {"geometry": 2.1, "operating_table": 1.1, "clean_reference": 0.5}
"""Half width of the interval over the limit with full readings, by what the clean surface is known from: the
study of reference levels (STUDIES.md), rounded."""


def without_gauges(have: set[str]) -> str | None:
    """What to enter next where the readings tell no conductance at all, and what it buys once they do."""
    if "clean_reference" in have:
        return None
    now = MEASURED["operating_table" if "operating_table" in have else "geometry"]
    known = f"about {now:g} limits wide to either side" if have else "not told at all"
    best = "clean_reference" if "operating_table" in have else "operating_table"
    return (
        f"once gauges or a line temperature are read, fouling is {known} with what is known of the clean "
        f"surface; {OFFERS[best][0].lower()}{OFFERS[best][1:]}: then about {MEASURED[best]:g} limits"
    )


DECIDES, DECIDES_HEAVY = 0.7, 1.5
"""Half width over the limit within which gauges decide most cases, and within which only heavy ones."""


def gauges_would(have: set[str]) -> str:
    """Whether connecting gauges would decide, where the water side alone tells no conductance: by what is
    known of the clean surface."""
    best = next((name for name in ("clean_reference", "operating_table") if name in have), "geometry")
    if not have:
        return "gauges alone would hardly decide, since nothing is known of the clean surface"
    width = MEASURED[best]
    then = f"fouling is then known to about {width:g} limits to either side"
    if width <= DECIDES:
        return f"gauges would probably decide, {then}"
    if width <= DECIDES_HEAVY:
        return f"gauges would decide heavy fouling only, {then}"
    return f"gauges alone would hardly decide, {then}"


def gauges_advice(
    linear: inference.FirstOrder, seen: Seen, value: float, limit: float, scale: float
) -> str | None:
    """Whether connecting gauges would decide, where the pressure was only stood in for."""
    column = next((name for name in seen.observation.assumed if name.endswith("_pressure")), None)
    if column is None:
        return None
    kept = (1 - linear.shares.get(column, 0.0)) ** 0.5
    spread = linear.spread_k_per_w * scale * kept
    decides = abs(value - limit) > fouling.NINE_IN_TEN * spread
    return (
        f"Connect gauges and read {wording.column_words(column)}: the interval would narrow to about "
        f"{per_cent.share(kept)} of what it is, which would {'probably' if decides else 'hardly'} decide."
    )


def _cooled_after(reading: ReadingSet, seen: Seen) -> bool:
    """A liquid line colder than the entering water, not used: what it tells is not the exchanger's."""
    return reading.liquid_line_k is not None and "liquid_line" in seen.observation.assumed


def charge_moved(reading: ReadingSet, seen: Seen, reference: Reference) -> str | None:
    """In words, how far subcooling or superheat stands from the clean visits of the mode, if far."""
    same = [one for one in reference.seen if one.observation.mode == reading.mode]
    for name, now, before in (
        ("subcooling", seen.subcooling_k, [one.subcooling_k for one in same]),
        ("superheat", seen.suction_superheat_k, [one.suction_superheat_k for one in same]),
    ):
        known = [value for value in before if value is not None]
        if now is None or not known or (name == "subcooling" and _cooled_after(reading, seen)):
            continue
        change = now - sum(known) / len(known)
        if abs(change) > wording.CHARGE_MOVED_K:
            return f"{name} is {abs(change):.0f} K {'above' if change > 0 else 'below'} the clean visits"
    return None
