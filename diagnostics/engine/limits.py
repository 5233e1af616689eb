"""Which fouling limit holds: as entered, else by consequence for this unit, else by water source."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnostics.engine import fouling, per_cent
from diagnostics.engine.consequence import Consequence, limit_by_consequence
from diagnostics.engine.exchanger import approach_from_conductance
from diagnostics.engine.records import ExchangerFacts, Limit, Warning

ENTERED, PUBLISHED = "entered", "water_source"


@dataclass(frozen=True, slots=True)
class LimitChoice:
    """The limit, what set it (entered, water_source, or a consequence), figures beside it and warnings."""

    limit: Limit
    set_by: str
    reached: dict[str, float] = field(default_factory=dict)
    warnings: tuple[Warning, ...] = ()


def limit_of(
    facts: ExchangerFacts, mode: str, area: float | None, usual_u: float, clean_k_per_w: float
) -> LimitChoice:
    """The fouling limit of this exchanger; in K/W where no area is known."""
    if facts.fouling_limit_m2k_per_w is not None:
        limit = _told(facts.fouling_limit_m2k_per_w, "as entered", area, usual_u, clean_k_per_w)
        return LimitChoice(limit, ENTERED)
    found = limit_by_consequence(facts, mode)
    if found is None:
        published = fouling.allowance(facts.water_source)
        source = f"{published.source}; {_why_not(facts)}"
        limit = _told(published.value_m2k_per_w, source, area, usual_u, clean_k_per_w)
        return LimitChoice(limit, PUBLISHED)
    limit = _told(found.value_m2k_per_w, found.source, area, usual_u, clean_k_per_w)
    reached = {f"{name}_in_{when}": scale for when, name, scale in found.reached_m2k_per_w}
    return LimitChoice(limit, found.set_by, reached, tuple(_trips(found)))


def excess_at(
    limit: Limit, area_m2: float | None, change_k: float, heat_w: float, clean_w_per_k: float
) -> float | None:
    """Approach above the clean unit's [K], at this visit's load and flow, were the fouling at its limit.

    `change_k` is the size of the water's change, `clean_w_per_k` the conductance without the fouling; None
    where they tell no exchanger. A tenth more load moves it by about a tenth, so each visit has its own.
    """
    if (limit.unit == "m2K/W" and area_m2 is None) or min(change_k, heat_w, clean_w_per_k) <= 0:
        return None
    resistance = limit.value / area_m2 if limit.unit == "m2K/W" and area_m2 else limit.value
    rate, fouled = heat_w / change_k, 1.0 / (1.0 / clean_w_per_k + resistance)
    return float(
        approach_from_conductance(change_k, rate, fouled)
        - approach_from_conductance(change_k, rate, clean_w_per_k)
    )


def _why_not(facts: ExchangerFacts) -> str:
    if facts.capacity_w is None and facts.design_flow_m3_per_s is None:
        return "enter capacity or design_flow for a limit by consequence"
    return "what the register knows makes no unit to tell a limit by consequence"


def _told(value: float, source: str, area: float | None, usual_u: float, clean_k_per_w: float) -> Limit:
    if area is not None:
        return Limit(value, "m2K/W", source)
    share = value * usual_u
    return Limit(
        share * clean_k_per_w,
        "K/W",
        f"{source}: {value:.3g} m2K/W on a usual clean surface of {usual_u:.0f} W/(m2K) is "
        f"{per_cent.share(share)} of the clean resistance that this unit's first reference or rating "
        "tells, because the area is not known",
    )


def _trips(found: Consequence) -> list[Warning]:
    return [
        Warning(
            "limit_unit_trips",
            f"by this unit's own model it trips clean on the water's {day} day in {mode}: check cut-outs, "
            "loop range, capacity and area on record; that day did not count for the limit",
        )
        for mode, day in (("cooling", "hottest"), ("heating", "coldest"))
        if mode in found.tripping
    ]
