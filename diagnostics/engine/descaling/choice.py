"""Which cleaner for this surface and this deposit: refused and why, what fits and in which order, or no acid.

A deposit that acid does not dissolve gets told what does. Mild comes before strong; strong comes first where
the deposit is heavy or old and every metal allows it. Strength, quantity and time are told for each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnostics.engine.descaling.acids import acid, acid_per_deposit, used_of_strong, utilisation
from diagnostics.engine.descaling.cleaners import CleanerSheet, fitness
from diagnostics.engine.descaling.dissolving import STRONG_ACIDS, circulating_time_s
from diagnostics.engine.descaling.doses import (
    Batches,
    acid_in_solution_kg,
    batches,
    product_mass_kg,
    product_volume_m3,
)
from diagnostics.engine.descaling.expected import share_by_acid
from diagnostics.engine.descaling.gates import Gate, exchanger_gates, water_gates
from diagnostics.engine.descaling.metals import strictest
from diagnostics.engine.records import Interval

ACID_FROM = 0.5
"""Probability of a deposit that acid dissolves from which acid is offered at all: common practice."""
HEAVY_M, OLD_YEARS = 0.5e-3, 5.0
"""Thickness and years since the last cleaning from which strong comes first: common practice."""
MILDNESS: Mapping[str, int] = {
    "citric": 1, "citric_monohydrate": 1, "lactic": 1, "acetic": 1, "glycolic": 2, "formic": 2,
    "phosphoric": 2, "sulfamic": 3, "hydrochloric": 4, "nitric": 5,
}  # fmt: skip
"""From mild to strong, by what it does to skin and metal: common practice."""
POOR_ON: Mapping[tuple[str, str], str] = {
    ("sulfamic", "iron"): "sulfamic acid dissolves rust slowly",
    ("citric", "carbonate"): "citric acid is slow on carbonate and makes calcium citrate above 5 %",
    ("phosphoric", "carbonate"): "only one of phosphoric acid's protons counts before phosphate comes down",
}
"""Fits, but not well: from memory; citrate by Alkhaldi et al., CIPC 2009-015."""
RIGHT_TOOL: Mapping[str, str] = {
    "silica": "Acid does not dissolve silica. Brush or drill where the tubes are straight; hydrofluoric or "
    "bifluoride mixtures are for a licensed chemical cleaning firm only; else a new exchanger.",
    "sulphate": "Acid does not dissolve calcium sulphate. A chelant at the pH on its label, or soda ash that "
    "turns it into carbonate first, under a water treater's hand; or brushing where the tubes are straight.",
    "slime": "Slime is alive and not scale. Have the water treater clean it with a dispersant and a biocide, "
    "then flush; look again before acid.",
    "mud": "Mud is flushed, not dissolved: back-flush at the highest flow the exchanger takes, clean the "
    "strainer, filter the loop.",
}
"""What is right where acid is wrong: common practice."""


@dataclass(frozen=True, slots=True)
class Situation:
    """What the choice rests on: wetted materials and unknown parts, deposit and its amount, solution.

    `deposit` [kg] with its interval; `thickness_m` [m] and `years_since` the last cleaning [a] where known;
    `solution_m3` [m3]; `bath_k` [K] the temperature that the bath will have; `longest_s` per batch from the
    sheet. `treatments` None where nobody asked.
    """

    materials: tuple[str, ...]
    unknown_parts: tuple[str, ...]
    expected: Mapping[str, float]
    deposit: Interval
    solution_m3: float
    bath_k: float = 298.15
    thickness_m: float | None = None
    years_since: float | None = None
    treatments: tuple[str, ...] | None = None
    black_slime: bool | None = None
    heats_drinking_water: bool | None = None


@dataclass(frozen=True, slots=True)
class Refusal:
    """A cleaner that may not be used here, and every reason."""

    cleaner: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Option:
    """A cleaner that fits: strength [-], bath [K], acid, batches, product of one batch, time [s], remarks."""

    cleaner: str
    strength: float
    bath_k: float
    batches: Batches
    product_in_a_batch_kg: float
    product_in_a_batch_m3: float | None
    utilisation: float
    time_s: Interval
    one_batch_is_enough: bool
    remarks: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer: gates, refusals, what fits in the order to try, and whether acid is the wrong tool."""

    gates: tuple[Gate, ...]
    refusals: tuple[Refusal, ...]
    options: tuple[Option, ...]
    strong_first: bool
    wrong_tool: str | None

    @property
    def refused(self) -> bool:
        """Whether nothing may be poured as things are."""
        return bool(self.wrong_tool) or not self.options or any(one.weight == "refused" for one in self.gates)


def choose(sheets: Sequence[CleanerSheet], of: Situation) -> Choice:
    """Judge every sheet for a situation. An unknown part refuses all of them."""
    options, refusals = [], []
    for sheet in sheets:
        if reasons := _against(sheet, of):
            refusals.append(Refusal(sheet.name, reasons))
        else:
            options.append((sheet, _option(sheet, of)))
    strong_first = _heavy(of)
    options.sort(key=lambda pair: _order(pair[0], of, strong_first))
    acids = {name for sheet, _ in options for name in sheet.acids}
    gates = exchanger_gates(
        heats_drinking_water=of.heats_drinking_water,
        black_slime=of.black_slime,
        unknown_parts=of.unknown_parts,
    )
    gates += water_gates(of.treatments, sorted(acids))
    return Choice(
        tuple(gates), tuple(refusals), tuple(option for _, option in options), strong_first,
        wrong_tool(of.expected),
    )  # fmt: skip


def wrong_tool(expected: Mapping[str, float]) -> str | None:
    """What is right instead of acid where acid likely does not dissolve the deposit; else None."""
    if share_by_acid(expected) >= ACID_FROM:
        return None
    kind = max((name for name in RIGHT_TOOL), key=lambda name: expected.get(name, 0.0))
    return RIGHT_TOOL[kind]


def _against(sheet: CleanerSheet, of: Situation) -> tuple[str, ...]:
    if of.unknown_parts:
        return ("what it would touch is not all known",)
    judged = fitness(sheet, of.materials)
    reasons = [
        f"{row.acid} on {row.material.replace('_', ' ')}: {row.reason} ({row.source})"
        for row in judged.against
    ]
    if of.bath_k > sheet.highest_temperature_k + 1e-9:
        reasons.append(
            f"the bath of {of.bath_k - 273.15:.0f} degC is above its label's "
            f"{sheet.highest_temperature_k - 273.15:.0f} degC"
        )
    return tuple(dict.fromkeys(reasons))


def share_used(sheet: CleanerSheet, strength: float, bath_k: float) -> float:
    """Share of a bath's acid [-] that dissolves deposit before the bath is renewed, its acids weighed."""
    total = 0.0
    for name, share in zip(sheet.acids, sheet.acid_shares, strict=True):
        if sheet.renewal_ph is None or name in STRONG_ACIDS:
            total += share * float(used_of_strong(sheet.renew_below_share))
        else:
            mol_per_l = max(strength * share / acid(name).molar_mass_kg_per_mol, 0.011)
            total += share * min(float(utilisation(name, sheet.renewal_ph, mol_per_l, bath_k)), 1.0)
    return max(total, 0.02)


def acid_for_deposit(sheet: CleanerSheet) -> float:
    """Pure acid of the cleaner's mixture for one of carbonate, all of it used [kg/kg]."""
    dissolved = sum(
        share / acid_per_deposit(name) for name, share in zip(sheet.acids, sheet.acid_shares, strict=True)
    )
    return 1.0 / dissolved


def _option(sheet: CleanerSheet, of: Situation) -> Option:
    strength = sheet.strengths[2] if _heavy(of) else sheet.strengths[1]
    used = share_used(sheet, strength, of.bath_k)
    factor = acid_for_deposit(sheet) / used
    demand = Interval(of.deposit.value * factor, of.deposit.low * factor, of.deposit.high * factor)
    in_batch = acid_in_solution_kg(of.solution_m3, strength)
    needed = batches(demand, in_batch)
    time = circulating_time_s(sheet.acids, of.bath_k, (needed.fewest, needed.likely, needed.most))
    density = sheet.product_density_kg_per_m3
    volume = product_volume_m3(in_batch, sheet.product_strength, density) if density else None
    return Option(
        sheet.name, strength, of.bath_k, needed, product_mass_kg(in_batch, sheet.product_strength), volume,
        used, time, needed.most == 1, _remarks(sheet, of, needed, time),
    )  # fmt: skip


def _remarks(sheet: CleanerSheet, of: Situation, needed: Batches, time: Interval) -> tuple[str, ...]:
    kind = max(of.expected, key=lambda name: of.expected[name]) if of.expected else "carbonate"
    remarks = [POOR_ON[name, kind] for name in sheet.acids if (name, kind) in POOR_ON]
    if needed.likely > 2:
        remarks.append(f"likely {needed.likely} batches: a stronger cleaner or a larger tank takes fewer")
    if time.value / needed.likely > sheet.longest_time_s:
        remarks.append(
            f"a batch may take longer than its label's {sheet.longest_time_s / 3600:g} h: renew it by then"
        )
    if strictest(of.materials, sheet.acids) == "only_inhibited":
        remarks.append("allowed only with its inhibitor, within its label")
    return tuple(remarks)


def _heavy(of: Situation) -> bool:
    thick = of.thickness_m is not None and of.thickness_m > HEAVY_M
    return thick or (of.years_since is not None and of.years_since > OLD_YEARS)


def _order(sheet: CleanerSheet, of: Situation, strong_first: bool) -> tuple[float, ...]:
    kind = max(of.expected, key=lambda name: of.expected[name]) if of.expected else "carbonate"
    poor = float(any((name, kind) in POOR_ON for name in sheet.acids))
    mildness = max(MILDNESS.get(name, 3) for name in sheet.acids)
    return (poor, -mildness) if strong_first else (mildness, poor)
