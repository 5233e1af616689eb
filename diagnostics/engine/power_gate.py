"""Compressor power that the water's heat can't hold: the readings contradict each other."""

from __future__ import annotations

from collections.abc import Mapping

from diagnostics.engine import fan
from diagnostics.engine.bench import Bench, NotObservable
from diagnostics.engine.records import ReadingSet

MOST_OF_THE_HEAT = 0.8
USUAL_OF_THE_HEAT = (0.1, 0.45)
"""Compressor power over heat to the water while cooling: at most, and as usual (common practice)."""
MEASURED = ("meter", "balancing_valve")


def check(bench: Bench, reading: ReadingSet, by_source: Mapping[str, float]) -> None:
    """Withhold where the compressor alone would give the water most of its heat, or more than all of it."""
    alone = fan.compressor_power(bench.facts, reading)
    flow = next((by_source[kind] for kind in MEASURED if kind in by_source), None)
    entering, leaving = reading.entering_water_k, reading.leaving_water_k
    if alone is None or flow is None or entering is None or leaving is None or reading.mode != "cooling":
        return
    cp = float(bench.liquid.specific_heat_j_per_kg_k(0.5 * (entering + leaving)))
    heat = flow * cp * (leaving - entering)
    power = alone.power_w
    if power <= MOST_OF_THE_HEAT * heat:
        return
    low, high = (share * heat / 1000 for share in USUAL_OF_THE_HEAT)
    column = "compressor_power" if reading.compressor_power_w is not None else "amps"
    raise NotObservable(
        "power_beyond_heat",
        f"{column} tells {power / 1000:.3g} kW, but the water takes up only {heat / 1000:.3g} kW, "
        f"which holds the compressor's power and the heat of the space: right would be {low:.2g} to "
        f"{high:.2g} kW of power, or more flow or temperature change of the water; check the meter and "
        "its unit",
        column,
    )
