"""Water flow from every source a visit offers, each with the parts of its error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnostics.engine import ports
from diagnostics.engine.balance import SHELL_LOSS_LIMITS
from diagnostics.engine.flow import FlowCurve
from diagnostics.engine.hydraulics import flow_from_pressure_drop, flow_from_valve_coefficient
from diagnostics.engine.observation import NEW
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet
from diagnostics.engine.uncertainty import standard_uncertainty
from diagnostics.engine.unknowns import Key
from diagnostics.engine.waters import Water

CURVE_SPREAD = 0.06
"""Standard uncertainty of the flow read from a maker's clean pressure-drop curve (common practice 5 to 8
%)."""
USUAL_EXPONENT = 1.85
DEPOSIT_CONDUCTIVITY = (0.6, 2.6)
"""Limits of a deposit's conductivity [W/(m K)]: slime and porous scale to dense calcite (Bott 1995, from
memory)."""
USUAL_GAP_M = {"coaxial": 0.016, "shell_and_tube": 0.016, "brazed_plate": 0.0035, "plate_and_frame": 0.0035}
"""Bore of tubes or gap between plates where the register does not tell (common practice)."""
ASSUMED_LIMIT = 0.25
VALVE_SPREAD = 0.05
"""Standard uncertainty of the flow read from a balancing valve's curve at its position (common practice)."""
STATES_REPEATING, STATES_RANDOM = 0.03, 0.02
"""Standard uncertainty of refrigerant flow from clamps and gauges about the compressor, as ln of flow."""


@dataclass(frozen=True, slots=True)
class FlowPart:
    """One part of a flow source's error as ln of flow: weight times a quantity; its key says which
    quantity."""

    spread: float
    group: str
    key: Key
    rectangular: bool = True
    mean: float = 0.0
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class FlowSource:
    """One way of telling the water flow: ln of mass flow [kg/s] and the parts of its error; `on_record` names
    what is known of its usual mistakes (between_ports, port_rise_m, power_includes_fan)."""

    kind: str
    ln_mass_flow: float
    parts: tuple[FlowPart, ...]
    on_record: frozenset[str] = frozenset()

    @property
    def spread(self) -> float:
        """Standard uncertainty of ln of flow."""
        return math.sqrt(sum((part.weight * part.spread) ** 2 for part in self.parts))

    @property
    def unbiased(self) -> float:
        """ln of mass flow with the mean of its error taken off."""
        return self.ln_mass_flow - sum(part.weight * part.mean for part in self.parts)


def curve_of(facts: ExchangerFacts) -> FlowCurve | None:
    """The register's design point as a curve."""
    if facts.design_flow_m3_per_s is None or facts.design_pressure_drop_pa is None:
        return None
    exponent = facts.pressure_drop_exponent
    return FlowCurve(
        facts.design_flow_m3_per_s,
        facts.design_pressure_drop_pa,
        exponent if exponent is not None else USUAL_EXPONENT,
        exponent is not None,
    )


def metered(
    reading: ReadingSet, density_kg_per_m3: float, accuracy: InstrumentAccuracy, gauges: str
) -> FlowSource | None:
    """The flow meter's account."""
    if reading.water_flow_kg_per_s is not None:
        mass = reading.water_flow_kg_per_s
    elif reading.water_flow_m3_per_s is not None:
        mass = reading.water_flow_m3_per_s * density_kg_per_m3
    else:
        return None
    if mass <= 0:
        return None
    scale = 1.0 if accuracy.relative else 1 / mass
    flat = accuracy.distribution == "rectangular"
    repeating, random = (
        scale * standard_uncertainty(part, accuracy.distribution)
        for part in (accuracy.repeating, accuracy.random)
    )
    return FlowSource(
        "meter",
        math.log(mass),
        (
            FlowPart(repeating, "water_flow", ("instrument", gauges, "water_flow"), flat),
            FlowPart(random, "water_flow", (NEW, "water_flow"), flat),
        ),
    )


def by_pressure_drop(
    reading: ReadingSet,
    curve: FlowCurve | None,
    liquid: Water,
    accuracy: InstrumentAccuracy,
    gauges: str,
    facts: ExchangerFacts,
) -> FlowSource | None:
    """The clean curve's account of the exchanger's own drop, true for a clean passage."""
    entering = reading.entering_water_k
    if curve is None or entering is None:
        return None
    mean = 0.5 * (entering + (reading.leaving_water_k or entering))
    density = float(liquid.density_kg_per_m3(mean))
    own = ports.own_drop(facts, reading, density)
    if own is None:
        return None
    volume = float(
        flow_from_pressure_drop(
            own.drop_pa, curve.flow_m3_per_s, curve.pressure_drop_pa, curve.exponent, liquid, mean
        )
    )
    n = curve.exponent
    read = abs(reading.water_pressure_drop_pa or 0.0)
    scale = (read if accuracy.relative else 1.0) / own.left_pa / n
    unknown_exponent = 0.0 if curve.exponent_known else 0.05 * abs(math.log(volume / curve.flow_m3_per_s)) / n
    parts = (
        FlowPart(math.hypot(CURVE_SPREAD, unknown_exponent), "water_flow", ("curve",), False),
        FlowPart(
            scale * standard_uncertainty(accuracy.repeating, accuracy.distribution),
            "water_pressure_drop",
            ("instrument", gauges, "water_pressure_drop"),
        ),
        FlowPart(
            scale * standard_uncertainty(accuracy.random, accuracy.distribution),
            "water_pressure_drop",
            (NEW, "water_pressure_drop"),
        ),
        *(FlowPart(one.spread / n, "water_pressure_drop", one.key) for one in own.left_open),
    )
    return FlowSource("pressure_drop", math.log(volume * density), parts, own.on_record)


def by_balancing_valve(
    reading: ReadingSet,
    kv_m3_per_h: float | None,
    density_kg_per_m3: float,
    accuracy: InstrumentAccuracy,
    gauges: str,
) -> FlowSource | None:
    """The balancing valve's account; the gauge that reads its drop is the one that reads the coil's."""
    drop = reading.balancing_valve_pressure_drop_pa
    if kv_m3_per_h is None or drop is None or drop <= 0:
        return None
    volume = float(flow_from_valve_coefficient(drop, kv_m3_per_h, density_kg_per_m3))
    scale = 0.5 if accuracy.relative else 0.5 / drop
    flat = accuracy.distribution == "rectangular"
    column = "balancing_valve_pressure_drop"
    repeating, random = (
        scale * standard_uncertainty(part, accuracy.distribution)
        for part in (accuracy.repeating, accuracy.random)
    )
    parts = (
        FlowPart(VALVE_SPREAD, "water_flow", ("balancing_valve",), False),
        FlowPart(repeating, column, ("instrument", gauges, "water_pressure_drop"), flat),
        FlowPart(random, column, (NEW, column), flat),
    )
    return FlowSource("balancing_valve", math.log(volume * density_kg_per_m3), parts)


def by_refrigerant_heat(
    heat_w: float | None,
    specific_heat_j_per_kg_k: float,
    change_k: float,
    power: InstrumentAccuracy,
    gauges: str,
    carried: Sequence[FlowPart],
    on_record: frozenset[str] = frozenset(),
) -> FlowSource | None:
    """The refrigerant side's heat over the water's temperature change; `carried` are the errors of the
    probes, and of a fan taken off the power."""
    if heat_w is None or heat_w <= 0 or change_k < 0.5:
        return None
    low, high = SHELL_LOSS_LIMITS
    flat = power.distribution == "rectangular"
    repeating = standard_uncertainty(power.repeating, power.distribution)
    random = standard_uncertainty(power.random, power.distribution)
    return FlowSource(
        "refrigerant_heat",
        math.log(heat_w / (specific_heat_j_per_kg_k * change_k)),
        (
            FlowPart((high - low) / 12**0.5, "compressor_power", ("shell_loss",)),
            FlowPart(repeating, "compressor_power", ("instrument", gauges, "compressor_power"), flat),
            FlowPart(random, "compressor_power", (NEW, "compressor_power"), flat),
            FlowPart(STATES_REPEATING, "discharge_line", ("states", gauges), False),
            FlowPart(STATES_RANDOM, "discharge_line", (NEW, "states"), False),
            *carried,
        ),
        on_record,
    )


def by_design(design_flow_m3_per_s: float | None, density_kg_per_m3: float) -> FlowSource | None:
    """The design flow, taken where nothing was read: most of what is not known of it repeats."""
    if design_flow_m3_per_s is None:
        return None
    spread = ASSUMED_LIMIT / 3**0.5
    return FlowSource(
        "design",
        math.log(design_flow_m3_per_s * density_kg_per_m3),
        (
            FlowPart(0.75 * spread, "water_flow", ("design_flow",)),
            FlowPart(0.66 * spread, "water_flow", (NEW, "design_flow")),
        ),
    )
