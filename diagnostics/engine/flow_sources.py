"""Water flow from every source a visit offers, compared before they are combined."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine.balance import SHELL_LOSS_LIMITS, disagreement
from diagnostics.engine.flow import FlowCurve
from diagnostics.engine.hydraulics import flow_from_pressure_drop
from diagnostics.engine.observation import NEW
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet, Warning
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
DISAGREEING = 2.6
STATES_REPEATING, STATES_RANDOM = 0.03, 0.02
"""Standard uncertainty of refrigerant flow from clamps and gauges about the compressor, as ln of flow."""
SOURCE_WORDS = {
    "meter": "the flow meter",
    "pressure_drop": "the pressure drop on the clean curve",
    "refrigerant_heat": "the refrigerant side's heat",
    "design": "the design flow",
}


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
    """One way of telling the water flow: ln of mass flow [kg/s] and the parts of its error."""

    kind: str
    ln_mass_flow: float
    parts: tuple[FlowPart, ...]

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
    reading: ReadingSet, curve: FlowCurve | None, liquid: Water, accuracy: InstrumentAccuracy, gauges: str
) -> FlowSource | None:
    """The clean curve's account, true for a clean passage."""
    drop, entering = reading.water_pressure_drop_pa, reading.entering_water_k
    if curve is None or drop is None or drop <= 0 or entering is None:
        return None
    mean = 0.5 * (entering + (reading.leaving_water_k or entering))
    density = float(liquid.density_kg_per_m3(mean))
    volume = float(
        flow_from_pressure_drop(
            drop, curve.flow_m3_per_s, curve.pressure_drop_pa, curve.exponent, liquid, mean
        )
    )
    n = curve.exponent
    scale = (1.0 if accuracy.relative else 1 / drop) / n
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
    )
    return FlowSource("pressure_drop", math.log(volume * density), parts)


def by_refrigerant_heat(
    heat_w: float | None,
    specific_heat_j_per_kg_k: float,
    change_k: float,
    power: InstrumentAccuracy,
    gauges: str,
    probes: Sequence[FlowPart],
) -> FlowSource | None:
    """The refrigerant side's heat over the water's temperature change, whose `probes` errors it carries
    along."""
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
            *probes,
        ),
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


@dataclass(frozen=True, slots=True)
class CombinedFlow:
    """Weighted mean of the sources that agree: ln of mass flow, its errors with weights, and what was said.

    `curve_weight` is the weight of the clean pressure-drop curve, whose account a deposit raises.
    """

    ln_mass_flow: float
    parts: tuple[tuple[float, FlowPart], ...]
    used: tuple[str, ...]
    by_source: Mapping[str, float]
    warnings: tuple[Warning, ...]
    curve_weight: float = 0.0


def combine(
    sources: Sequence[FlowSource], assumed: FlowSource | None, maybe_scaled: bool
) -> CombinedFlow | None:
    """Compare the sources, widen what disagrees, and take the weighted mean.

    On a surface that may be scaled the pressure drop only bears witness beside a meter and is not averaged
    in.
    """
    if not sources:
        return None if assumed is None else _assumed(assumed)
    kept = list(sources)
    metered_too = any(one.kind == "meter" for one in sources)
    if maybe_scaled and metered_too:
        kept = [one for one in sources if one.kind != "pressure_drop"]
    warnings = [
        Warning("flow_sources_disagree", _meaning(one, other)) for one, other, _ in _disagreeing(sources)
    ]
    suspect = _suspect(sources)
    if suspect is not None:
        warnings.append(Warning("flow_source_suspect", suspect))
    extra = max(
        (0.5 * abs(one.unbiased - other.unbiased) for one, other, _ in _disagreeing(kept)), default=0.0
    )
    precision = np.array([1 / one.spread**2 for one in kept])
    weights = precision / precision.sum()
    parts = [(float(w), part) for w, one in zip(weights, kept, strict=True) for part in one.parts]
    if extra > 0:
        parts.append((1.0, FlowPart(extra, "water_flow", (NEW, "disagreement"), False)))
    return CombinedFlow(
        float(sum(w * one.ln_mass_flow for w, one in zip(weights, kept, strict=True))),
        tuple(parts),
        tuple(one.kind for one in kept),
        {one.kind: math.exp(one.unbiased) for one in sources},
        tuple(warnings),
        sum(float(w) for w, one in zip(weights, kept, strict=True) if one.kind == "pressure_drop"),
    )


def _assumed(design: FlowSource) -> CombinedFlow:
    text = (
        f"water flow was not read; the design flow of {math.exp(design.ln_mass_flow):.3g} kg/s is assumed, "
        f"good to +-{ASSUMED_LIMIT:.0%}: read a flow meter or the pressure drop"
    )
    return CombinedFlow(
        design.ln_mass_flow,
        tuple((1.0, part) for part in design.parts),
        ("design",),
        {"design": math.exp(design.ln_mass_flow)},
        (Warning("flow_assumed_design", text),),
    )


def _disagreeing(sources: Sequence[FlowSource]) -> list[tuple[FlowSource, FlowSource, float]]:
    """Pairs more apart than both errors allow, the pressure drop named second."""
    ordered = sorted(sources, key=lambda one: one.kind == "pressure_drop")
    pairs = []
    for place, one in enumerate(ordered):
        for other in ordered[place + 1 :]:
            z = disagreement(one.unbiased, other.unbiased, one.spread, other.spread)
            if abs(z) >= DISAGREEING:
                pairs.append((one, other, z))
    return pairs


def _suspect(sources: Sequence[FlowSource]) -> str | None:
    """The one source whose leaving out makes all the others agree, if there is just one."""
    if len(sources) < 3 or not _disagreeing(sources):
        return None
    alone = [one for one in sources if not _disagreeing([other for other in sources if other is not one])]
    if len(alone) != 1:
        return None
    return f"without {SOURCE_WORDS[alone[0].kind]} the others agree: that is the one to look at first"


def _meaning(one: FlowSource, other: FlowSource) -> str:
    said = (
        f"{SOURCE_WORDS[one.kind]} tells {math.exp(one.unbiased):.3g} kg/s, "
        f"{SOURCE_WORDS[other.kind]} {math.exp(other.unbiased):.3g} kg/s: more apart than both errors allow; "
    )
    if other.kind == "pressure_drop" and other.unbiased > one.unbiased:
        return said + (
            "pressure drop above clean for its flow means a narrowed bore, a part-blocked passage or the "
            "wrong curve, "
            "so the curve is not averaged in"
        )
    if other.kind == "pressure_drop":
        return (
            said + "look for a wrong curve, a gauge reading low or an antifreeze strength other than stated"
        )
    if other.kind == "refrigerant_heat":
        return (
            said + "look for a wrong antifreeze strength, a power that includes the fan, a meter or probe off"
        )
    return said + "check both"
