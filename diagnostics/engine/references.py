"""The clean reference: what is believed beforehand, and the evidence that sharpens it, combined."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnostics.engine.observation import Observation
from diagnostics.engine.records import (
    EVENTS_THAT_VOID_REFERENCES,
    ExchangerFacts,
    History,
    ReadingSet,
    ReferenceUsed,
)
from diagnostics.engine.unknowns import Unknowns

WATER_DENSITY_KG_PER_M3 = 997.0
"""Of a design flow, at 25 degC."""
WATER_SHARE = (0.2, 0.5)
WALL_SHARE = (0.005, 0.06)
VAPOUR_RATIO_CONDENSING = (0.15, 0.4)
LIQUID_RATIO = (0.3, 0.6)
VAPOUR_RATIO_EVAPORATING = (0.1, 0.2)
LOAD_EXPONENT = {"cooling": (-0.40, 0.35), "heating": (-0.65, 0.10)}
"""Refrigerant resistance goes with heat to this power: films condensing by gravity +1/3, by shear -0.8 in
part; boiling -0.7 to 0 (Nusselt; Shah; Cooper)."""
TEMPERATURE_SLOPE = 0.002
OTHER_MODE_SPREAD = 0.3
OTHER_STAGE_SPREAD = 0.15
UNIT_AGAINST_TABLE = 0.04
SET_SPREAD = 0.012
SINGLE_PHASE_SPREAD = 0.05
"""What the model leaves out from set to set, as ln: of the whole, and of the vapour's and liquid's films."""
ROW_SPREAD = 0.02


@dataclass(frozen=True, slots=True)
class KindPrior:
    """What is usual for a kind of exchanger: limits of the water exponent [-], clean U [W/(m2 K)] with ln
    spread."""

    exponent_low: float
    exponent_high: float
    usual_u_w_per_m2k: float
    u_spread: float


KINDS: dict[str, KindPrior] = {
    "coaxial": KindPrior(0.68, 0.92, 2100.0, 0.50),
    "brazed_plate": KindPrior(0.60, 0.78, 2500.0, 0.50),
    "shell_and_tube": KindPrior(0.68, 0.88, 2300.0, 0.50),
    "plate_and_frame": KindPrior(0.60, 0.78, 2500.0, 0.50),
}
"""Common practice; plates Nu ~ Re^0.65..0.72, tubes 0.8 (Dittus and Boelter 1930), fluted tubes either
side. U of refrigerant to water is printed from 1000 to 4500 W/(m2 K) by handbooks and makers: wide on
purpose, and never narrowed to what our own virtual unit draws."""

RATED_DIFFERENCE_K = {"cooling": 6.0, "heating": 5.0}
"""Usual mean temperature difference of a new machine at its rating (common practice)."""
RATED_HEAT = {"cooling": 1.25, "heating": 0.85}
"""Heat through the water-side exchanger over rated cooling capacity (common practice)."""
RATED_SPREAD = 0.40


def kind_prior(kind: str) -> KindPrior:
    """What is usual for this kind; the message of the error lists the kinds known."""
    if kind not in KINDS:
        raise ValueError(f"exchanger {kind!r} is not one of {', '.join(KINDS)}")
    return KINDS[kind]


@dataclass(frozen=True, slots=True)
class Belief:
    """ln of clean resistance [K/W] beforehand, with its standard uncertainty and what it stands on."""

    ln_resistance: float
    spread: float
    used: tuple[ReferenceUsed, ...]


RATED_ALLOWANCE_M2K_PER_W = {"cooling": 4.403e-5, "heating": 1.761e-5}
"""AHRI 550/590 (from memory): 0.00025 h ft2 F/Btu for condensers, 0.0001 for evaporators."""


def rating_allowance_k_per_w(facts: ExchangerFacts, mode: str) -> float:
    """Fouling allowance in a maker's rating or table, where the register says that it holds one. [K/W]"""
    area = area_of(facts)
    if not facts.rating_includes_fouling or area is None:
        return 0.0
    return RATED_ALLOWANCE_M2K_PER_W[mode] / area


def belief_before(facts: ExchangerFacts, area_m2: float | None, mode: str, fallback_ln: float) -> Belief:
    """Clean resistance from geometry and rated data, combined by their precision; very wide without
    either."""
    kind = kind_prior(facts.exchanger)
    parts: list[tuple[float, float, str]] = []
    if area_m2 is not None:
        parts.append((-math.log(kind.usual_u_w_per_m2k * area_m2), kind.u_spread, "geometry"))
    if facts.capacity_w is not None:
        heat = RATED_HEAT[mode] * facts.capacity_w
        rated = RATED_DIFFERENCE_K[mode] / heat
        clean = max(rated - rating_allowance_k_per_w(facts, mode), 0.3 * rated)
        parts.append((math.log(clean), RATED_SPREAD, "rated_data"))
    if not parts:
        return Belief(fallback_ln, 1.5, ())
    precision = [1 / spread**2 for _, spread, _ in parts]
    mean = sum(w * value for w, (value, _, _) in zip(precision, parts, strict=True)) / sum(precision)
    return Belief(mean, sum(precision) ** -0.5, tuple(ReferenceUsed(name) for _, _, name in parts))


def area_of(facts: ExchangerFacts) -> float | None:
    """Wetted area [m2] as entered, or from bore, length and count of tubes."""
    if facts.area_m2 is not None:
        return facts.area_m2
    tubes = facts.exchanger in ("coaxial", "shell_and_tube")
    if not tubes or facts.bore_m is None or facts.length_m is None:
        return None
    if facts.exchanger == "shell_and_tube" and facts.count is None:
        return None
    return math.pi * facts.bore_m * facts.length_m * (facts.count or 1)


def clean_visits(reading: ReadingSet, history: History) -> list[ReadingSet]:
    """Clean visits that may judge this reading: earlier or equal, not voided since, never the row itself."""
    voided_at = [
        event.at
        for event in history.events
        if event.what in EVENTS_THAT_VOID_REFERENCES
        and event.unit == reading.unit
        and event.at <= reading.taken_at
    ]
    return sorted(
        (
            row
            for row in history.readings
            if row.purpose == "clean_reference"
            and row.unit == reading.unit
            and row.taken_at <= reading.taken_at
            and row is not reading
            and row != reading
            and not any(row.taken_at <= at for at in voided_at)
        ),
        key=lambda row: (row.taken_at, row.line or 0),
    )


def voided_words(reading: ReadingSet, history: History) -> str | None:
    """Which clean visit an event voided, where it would have served this reading; None where none did."""
    without = clean_visits(reading, replace(history, events=()))
    if not without:
        return None
    last = without[-1]
    voiding = (
        event
        for event in history.events
        if event.what in EVENTS_THAT_VOID_REFERENCES
        and event.unit == reading.unit
        and last.taken_at <= event.at <= reading.taken_at
    )
    first = min(voiding, key=lambda event: event.at, default=None)
    if first is None:
        return None
    return (
        f"clean visit of {last.taken_at_as_typed or last.taken_at.isoformat()} is voided by "
        f"{first.what.replace('_', ' ')} on {first.at:%Y-%m-%d}: read a clean visit when the surface is next "
        "known to be clean"
    )


@dataclass(frozen=True, slots=True)
class SurfacePlaces:
    """Places of the clean surface's quantities among the unknowns, for one mode and stage."""

    ln_total: int
    water_share: int
    wall_share: int
    water_exponent: int
    ratios: tuple[int, ...]
    load_exponent: int
    temperature_slope: int
    vapour_ratio: int
    liquid_ratio: int


def surface_places(
    unknowns: Unknowns, belief: Belief, kind: KindPrior, own: tuple[str, str], seen: tuple[str, str]
) -> SurfacePlaces:
    """Ask for the clean surface's quantities: wall and water shared, the refrigerant side own to mode and
    stage."""
    (own_mode, own_stage), (mode, stage) = own, seen
    ratios = []
    if mode != own_mode:
        ratios.append(unknowns.add(("mode", mode), 0.0, OTHER_MODE_SPREAD, "reference"))
    if stage != own_stage:
        ratios.append(unknowns.add(("stage", mode, stage), 0.0, OTHER_STAGE_SPREAD, "reference"))
    vapour = VAPOUR_RATIO_CONDENSING if mode == "cooling" else VAPOUR_RATIO_EVAPORATING
    return SurfacePlaces(
        unknowns.add(("ln_total",), belief.ln_resistance, belief.spread, "reference"),
        unknowns.limits(("water_share",), *WATER_SHARE, "reference"),
        unknowns.limits(("wall_share",), *WALL_SHARE, "reference"),
        unknowns.limits(("water_exponent",), kind.exponent_low, kind.exponent_high, "reference"),
        tuple(ratios),
        unknowns.limits(("load_exponent", mode), *LOAD_EXPONENT[mode], "reference"),
        unknowns.add(("temperature_slope", mode), 0.0, TEMPERATURE_SLOPE, "reference"),
        unknowns.limits(("vapour_ratio", mode), *vapour, "reference"),
        unknowns.limits(("liquid_ratio",), *LIQUID_RATIO, "reference"),
    )


def reference_kinds(visits: Sequence[ReadingSet], tables: bool, before: Belief) -> tuple[ReferenceUsed, ...]:
    """What the clean reference stood on, best first."""
    used = [
        ReferenceUsed("clean_reference", row.taken_at_as_typed or row.taken_at.isoformat()) for row in visits
    ]
    if tables:
        used.append(ReferenceUsed("operating_table"))
    return (*used, *before.used)


def set_spread(seen: Observation) -> float:
    """Standard uncertainty, as ln, of what the model leaves out from set to set."""
    return ROW_SPREAD if seen.is_table else SET_SPREAD
