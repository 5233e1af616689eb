"""How common each cause is before anything is read: by water source, age of the last cleaning and events
(common
practice, stated here and nowhere hidden)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from types import MappingProxyType

from diagnostics.engine.causes.background import NOTHING_KNOWN, Background, factors
from diagnostics.engine.causes.names import FOULED, NOTHING_WRONG
from diagnostics.engine.records import ExchangerFacts, History, UnitEvent, reverses

USUAL: Mapping[str, float] = MappingProxyType(
    {
        "water_flow_low": 0.09,
        "strainer_blocked": 0.11,
        "flow_control_fault": 0.04,
        "air_in_water": 0.03,
        "water_hoses_crossed": 0.01,
        "exchanger_fouled": 0.14,
        "loop_water_warm": 0.04,
        "loop_water_cold": 0.03,
        "overcharged": 0.04,
        "undercharged": 0.07,
        "non_condensables": 0.02,
        "metering_restricted": 0.04,
        "metering_overfeeding": 0.02,
        "air_side_fault": 0.09,
        "reversing_valve_leaking": 0.01,
        "compressor_weak": 0.02,
        "safety_control_fault": 0.02,
        "bad_reading": 0.03,
        "bad_record": 0.02,
        "nothing_wrong": 0.12,
        "other_fault": 0.01,
    }
)
"""Shares of causes among units somebody was called to."""

NOT_CALLED = 4.0
"""Factor on nothing wrong where the unit runs, shows no lockout and is read in passing."""
FOULED_BY_SOURCE: Mapping[str, float] = MappingProxyType(
    {
        "cooling_tower": 1.5,
        "well": 1.3,
        "pond": 1.3,
        "city_water": 1.3,
        "closed_loop": 0.6,
        "ground_loop": 0.3,
    }
)
"""Factor on a fouled exchanger: closed treated loops bring mud and magnetite, seldom carbonate."""
STRAINER_BY_SOURCE: Mapping[str, float] = MappingProxyType({"cooling_tower": 1.3, "pond": 1.5, "well": 1.2})
PAIR_SHARE: Mapping[str, float] = MappingProxyType(
    {"water_flow_low": 0.12, "non_condensables": 0.03, "overcharged": 0.05}
)
"""Share of a fouled exchanger's prior that comes together with each companion: about how common that is."""
SOON, LATER = timedelta(days=200), timedelta(days=400)
MUD_SHARE: Mapping[str, float] = MappingProxyType(
    {
        "cooling_tower": 0.2,
        "well": 0.2,
        "city_water": 0.1,
        "pond": 0.5,
        "closed_loop": 0.55,
        "ground_loop": 0.55,
    }
)
"""Share of fouled exchangers whose deposit a back-flush brings out."""
USUAL_MUD_SHARE = 0.3


def prior_of(
    facts: ExchangerFacts,
    history: History,
    at: datetime,
    background: Background = NOTHING_KNOWN,
    called: bool = True,
) -> dict[str, float]:
    """Probability of each cause before the readings; sums to one. `called` is False where nobody was: the
    unit runs and shows no lockout."""
    found = dict(USUAL)
    if not called:
        found[NOTHING_WRONG] *= NOT_CALLED
    for cause, factor in factors(background).items():
        found[cause] *= factor
    source = facts.water_source or ""
    found[FOULED] *= FOULED_BY_SOURCE.get(source, 1.0)
    found["strainer_blocked"] *= STRAINER_BY_SOURCE.get(source, 1.0)
    for event in history.events:
        _event(found, event, at, facts.unit)
    if not reverses(facts):
        found["reversing_valve_leaking"] = 0.0
        found["water_hoses_crossed"] *= 0.3
    return normalised(found)


def _event(found: dict[str, float], event: UnitEvent, at: datetime, unit: str) -> None:
    since = at - event.at
    if event.unit != unit or since < timedelta(0):
        return
    if event.what == "descaled":
        found[FOULED] *= 0.3 if since < SOON else 0.7 if since < LATER else 1.0
    elif event.what == "charge_changed" and since < SOON:
        for cause in ("overcharged", "undercharged", "non_condensables"):
            found[cause] *= 2.0


def normalised(weights: Mapping[str, float]) -> dict[str, float]:
    """The same weights, summing to one."""
    total = sum(weights.values())
    return {name: value / total for name, value in weights.items()}
