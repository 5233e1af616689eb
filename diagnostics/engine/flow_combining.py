"""Flow sources compared before they are combined: what disagrees is named and widens the result."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnostics.engine import flow_meaning, per_cent
from diagnostics.engine.balance import disagreement
from diagnostics.engine.flow_sources import ASSUMED_LIMIT, FlowPart, FlowSource
from diagnostics.engine.observation import NEW
from diagnostics.engine.records import Warning

DISAGREEING = 2.6
HEAT, METERS = "refrigerant_heat", ("meter", "balancing_valve")
WATERS_OWN = (*METERS, "pressure_drop")
"""The water's own accounts of its flow, best first."""


@dataclass(frozen=True, slots=True)
class CombinedFlow:
    """Weighted mean of the sources that agree: ln of mass flow, its errors with weights, and what was said.

    `curve_weight` is the weight of the clean pressure-drop curve, whose account a deposit raises; `closure_z`
    how far the refrigerant's heat stands above the water's by its best flow, in standard uncertainties;
    `narrowed` whether the pressure drop tells more flow than a meter or balancing valve, beyond both errors.
    """

    ln_mass_flow: float
    parts: tuple[tuple[float, FlowPart], ...]
    used: tuple[str, ...]
    by_source: Mapping[str, float]
    warnings: tuple[Warning, ...]
    curve_weight: float = 0.0
    closure_z: float | None = None
    narrowed: bool = False

    @property
    def spread(self) -> float:
        """Standard uncertainty of ln of flow."""
        return math.sqrt(sum((w * part.weight * part.spread) ** 2 for w, part in self.parts))


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
    metered_too = any(one.kind in ("meter", "balancing_valve") for one in sources)
    if maybe_scaled and metered_too:
        kept = [one for one in sources if one.kind != "pressure_drop"]
    warnings = [
        Warning("flow_sources_disagree", flow_meaning.of_pair(one, other)) for one, other in _telling(sources)
    ]
    pattern = flow_meaning.of_all(sources) if warnings else None
    if pattern is not None:
        warnings.append(Warning("flow_sources_pattern", pattern))
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
        _closure(sources),
        any(
            one.kind in METERS and other.kind == "pressure_drop" and z < 0
            for one, other, z in _disagreeing(sources)
        ),
    )


def _closure(sources: Sequence[FlowSource]) -> float | None:
    """z of the refrigerant's heat against the water's; both over the same temperature change are flows."""
    by_kind = {one.kind: one for one in sources}
    heat = by_kind.get("refrigerant_heat")
    best = next((by_kind[kind] for kind in WATERS_OWN if kind in by_kind), None)
    if heat is None or best is None:
        return None
    return disagreement(heat.unbiased, best.unbiased, heat.spread, best.spread)


def _assumed(design: FlowSource) -> CombinedFlow:
    text = (
        f"water flow was not read; the design flow of {math.exp(design.ln_mass_flow):.3g} kg/s is assumed, "
        f"good to +-{per_cent.share(ASSUMED_LIMIT)}: read a flow meter or the pressure drop"
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


def _telling(sources: Sequence[FlowSource]) -> list[tuple[FlowSource, FlowSource]]:
    """The disagreeing pairs worth a sentence: heat against pressure drop only where heat does not already
    stand apart from what measures the water itself."""
    pairs = [(one, other) for one, other, _ in _disagreeing(sources)]
    apart = any(
        {one.kind, other.kind} & set(METERS) and HEAT in (one.kind, other.kind) for one, other in pairs
    )
    return [pair for pair in pairs if not (apart and {one.kind for one in pair} == {HEAT, "pressure_drop"})]


def _suspect(sources: Sequence[FlowSource]) -> str | None:
    """The one source whose leaving out makes all the others agree, if there is just one."""
    if len(sources) < 3 or not _disagreeing(sources):
        return None
    alone = [one for one in sources if not _disagreeing([other for other in sources if other is not one])]
    if len(alone) != 1:
        return None
    return f"without {flow_meaning.WORDS[alone[0].kind]} the others agree: that is the one to look at first"
