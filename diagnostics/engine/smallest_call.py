"""The smallest fouling that would be called with 90 % confidence, and what would bring it lower, in words."""

from __future__ import annotations

from collections.abc import Mapping

from diagnostics.engine import advice, fouling, inference
from diagnostics.engine.flow_combining import CombinedFlow
from diagnostics.engine.records import Limit, ReferenceUsed

BETTER = {
    "thermometers_twice_as_good": ("entering_water", "leaving_water"),
    "flow_twice_as_good": ("water_flow", "water_pressure_drop", "balancing_valve_pressure_drop"),
    "gauges_twice_as_good": ("head_pressure", "suction_pressure"),
    "clamps_twice_as_good": ("liquid_line", "suction_line", "discharge_line"),
}


METER_SPREAD = 0.021
"""Standard uncertainty of a usual flow meter, as ln of flow (3 % repeating and 2 % random, rectangular)."""


def smallest_called(
    linear: inference.FirstOrder, limit: float, scale: float, flow: CombinedFlow
) -> dict[str, float]:
    """Smallest resistance called fouled with 90 % confidence, as it is and with one thing better, in the
    limit's unit."""
    spread = linear.spread_k_per_w * scale
    found = {"as_it_is": fouling.smallest_called_fouled(limit, spread)}
    for name, columns in BETTER.items():
        share = sum(linear.shares.get(column, 0.0) for column in columns)
        found[name] = fouling.smallest_called_fouled(limit, spread * (1 - 0.75 * share) ** 0.5)
    if "meter" not in flow.used:
        share = sum(linear.shares.get(column, 0.0) for column in BETTER["flow_twice_as_good"])
        left = min(1.0, (METER_SPREAD / flow.spread) ** 2)
        found["with_a_flow_meter"] = fouling.smallest_called_fouled(
            limit, spread * (1 - share * (1 - left)) ** 0.5
        )
    for name, left in linear.spread_with.items():
        found[f"one_more_{name}"] = fouling.smallest_called_fouled(limit, left * scale)
    return found


WORDS = {
    "as_it_is": "as it is",
    "thermometers_twice_as_good": "with water thermometers twice as good",
    "with_a_flow_meter": "with a flow meter",
    "flow_twice_as_good": "with a flow reading twice as good",
    "gauges_twice_as_good": "with gauges twice as good",
    "clamps_twice_as_good": "with line clamps twice as good",
    "one_more_clean_reference": "with one more clean visit",
    "one_more_operating_table": "with the operating table entered",
    "one_more_rated_data": "with rated capacity and design flow entered",
}


ENTRIES = tuple(advice.OFFERS)


def enter_next(
    smallest: Mapping[str, float], limit: float, reference: tuple[ReferenceUsed, ...]
) -> str | None:
    """Which of table, rated data and clean visit to enter next, as `advice.reference_advice` has it: what can
    be entered today before a clean visit that must be waited for; None where nothing helps."""
    have = {one.kind for one in reference} - {"clean_reference"}
    now = smallest["as_it_is"]
    for name in advice.OFFERS:
        left = (smallest[f"one_more_{name}"] - limit) / (now - limit) if now > limit else 1.0
        if name not in have and left < advice.WORTH_ENTERING:
            return name
    return "clean_reference" if smallest["one_more_clean_reference"] < WORTH_SAYING * now else None


WORTH_SAYING = 0.95


def sentence(smallest: Mapping[str, float], limit: Limit, best: str | None) -> str:
    """One sentence: what would be called now, and what would bring it lower."""
    now = smallest["as_it_is"]
    told = (
        f"With these instruments and this clean reference, fouling from {now:.2g} {limit.unit} on would be "
        f"called with 90 % confidence (limit {limit.value:.2g} {limit.unit})"
    )
    names = ["thermometers_twice_as_good", *BETTER_FLOW, "one_more_clean_reference"]
    helping = [name for name in names if smallest.get(name, now) < WORTH_SAYING * now]
    if not set(helping) - {"one_more_clean_reference"}:
        told += "; better thermometers or a better flow reading would hardly change that"
    others = [name for name in helping if name != f"one_more_{best}"]
    better = [f"{WORDS[name]} from {smallest[name]:.2g} {limit.unit}" for name in others]
    told += "".join(f"; {words}" for words in better)
    if best is None:
        return f"{told}; nothing else entered would help much."
    lower = smallest[f"one_more_{best}"]
    return f"{told}; what to enter next for a surer number is {OFFERED[best]}: from {lower:.2g} {limit.unit}."


BETTER_FLOW = ("with_a_flow_meter", "flow_twice_as_good")
OFFERED = {
    "operating_table": "the operating table from the manual",
    "rated_data": "rated capacity and design flow",
    "clean_reference": "a clean visit, read when the surface is next known to be clean",
}
