"""What it likely means that two ways of telling the water flow disagree, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnostics.engine.flow_sources import FlowSource

WORDS = {
    "meter": "the flow meter",
    "balancing_valve": "the balancing valve's curve",
    "pressure_drop": "the pressure drop on the clean curve",
    "refrigerant_heat": "the refrigerant side's heat",
    "design": "the design flow",
}
APART = 2.0
"""Standard uncertainties from which a source counts as above or below another when a pattern is sought."""


def of_pair(one: FlowSource, other: FlowSource) -> str:
    """Two sources more apart than both errors allow; a pressure drop stands second."""
    said = (
        f"{WORDS[one.kind]} tells {math.exp(one.unbiased):.3g} kg/s, "
        f"{WORDS[other.kind]} {math.exp(other.unbiased):.3g} kg/s: more apart than both errors allow; "
    )
    above = other.unbiased > one.unbiased
    kinds = {one.kind, other.kind}
    if other.kind == "pressure_drop":
        return said + (_DROP_ABOVE + _not_on_record(other) if above else _DROP_BELOW)
    if "refrigerant_heat" in kinds:
        more_heat = above if other.kind == "refrigerant_heat" else not above
        told = {"power_includes_fan"} & (one.on_record | other.on_record)
        return said + ((_HEAT_ABOVE if told else _FAN_OR + _HEAT_ABOVE) if more_heat else _HEAT_BELOW)
    if "balancing_valve" in kinds:
        return said + _VALVE
    return said + "check both"


_DROP_ABOVE = (
    "pressure drop above clean for its flow means a narrowed bore, a part-blocked passage or the wrong "
    "curve, so the curve is not averaged in"
)
_DROP_BELOW = "look for a wrong curve, a gauge reading low or antifreeze other than on record"
_FAN_OR = "look for a power that includes the fan (then say so: power_includes_fan), or "
_HEAT_ABOVE = (
    "look for antifreeze other than on record, hot gas going elsewhere (reheat, bypass, desuperheater coil), "
    "or a meter or probe off"
)
_HEAT_BELOW = "look for antifreeze other than on record, a clamp on the wrong pipe, or a meter or probe off"
_VALVE = (
    "the valve may stand at another position than on record, be partly blocked, or the gauge be off; the "
    "position is noted, not moved"
)


def _not_on_record(drop: FlowSource) -> str:
    """What else would make the drop too high, where the exchanger's record does not tell it."""
    may_be = {
        "between_ports": "something lies between the ports (strainer, valve, hose)",
        "port_rise_m": "the ports stand at different levels",
    }
    lacking = [words for name, words in may_be.items() if name not in drop.on_record]
    return f"; or {' or '.join(lacking)}: put it on the exchanger's record" if lacking else ""


def of_all(sources: Sequence[FlowSource]) -> str | None:
    """What three or more sources mean together, where their order is that of a known mistake."""
    by_kind = {one.kind: one for one in sources}
    anchor = by_kind.get("meter") or by_kind.get("balancing_valve")
    drop, heat = by_kind.get("pressure_drop"), by_kind.get("refrigerant_heat")
    if anchor is None or drop is None:
        return None
    drop_side = _side(drop, anchor)
    heat_side = 0 if heat is None else _side(heat, anchor)
    if drop_side and heat_side == -drop_side:
        strength = "stronger" if drop_side > 0 else "weaker"
        return (
            f"pressure drop tells {'more' if drop_side > 0 else 'less'} and heat "
            f"{'less' if drop_side > 0 else 'more'} flow than {WORDS[anchor.kind]}: as an antifreeze "
            f"{strength} than stated would do; measure it (refractometer)"
        )
    valve = by_kind.get("balancing_valve")
    if valve is not None and valve is not anchor and drop_side and _side(valve, anchor) == drop_side:
        way = "high" if drop_side > 0 else "low"
        return (
            f"both pressure drops, of coil and balancing valve, tell {'more' if drop_side > 0 else 'less'} "
            f"flow than the meter: one gauge that reads {way}, or the meter"
        )
    if heat is not None and drop_side and heat_side == drop_side:
        return (
            f"pressure drop and heat both tell {'more' if drop_side > 0 else 'less'} flow than "
            f"{WORDS[anchor.kind]}: that is the one to look at first"
        )
    return None


def _side(one: FlowSource, other: FlowSource) -> int:
    """1 where the first lies above the second by more than their errors, -1 below, else 0."""
    z = (one.unbiased - other.unbiased) / math.hypot(one.spread, other.spread)
    return 0 if abs(z) < APART else int(math.copysign(1, z))
