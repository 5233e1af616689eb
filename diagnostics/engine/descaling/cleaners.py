"""Cleaner sheets as plain data: generic kinds only. A real label and its safety sheet go before these.

Strengths are acid by mass, temperatures in K, times in seconds, densities in kg/m3. `from memory` marks
common practice nobody was read for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnostics.engine.descaling.metals import STATES, Compatibility, State, compatibility
from diagnostics.engine.errors import UnknownName

_MEMORY = "from memory"
_UFC_STRENGTH = "UFC 3-240-13FN (2005), 9-2.6: 5 to 20 %, 10 % typical, discard below 3 %, as read"
_UFC_SULFAMIC = "UFC 3-240-13FN (2005), 9-2.3: 5 to 20 %, as read"
_BRAZED = "maker's handbook for brazed plate exchangers, cleaning chapter: 5 % phosphoric"


@dataclass(frozen=True, slots=True)
class CleanerSheet:
    """A cleaner's label and safety sheet, as far as the arithmetic needs it.

    `product_strength` [-] and `product_density_kg_per_m3` are of the product as sold (density None for
    powders); `strengths` lowest, usual and highest of the bath [-]; `renew_below_share` the strength left,
    over the start, at which it is spent; `renewal_ph` for weak acids; `highest_temperature_k` [K];
    `longest_time_s` [s]; `copper_limit_mg_per_l` and `iron_limit_mg_per_l` of the bath [mg/L]. `sources`
    names who says each property.
    """

    name: str
    acids: tuple[str, ...]
    acid_shares: tuple[float, ...]
    form: str
    product_strength: float
    product_density_kg_per_m3: float | None
    strengths: tuple[float, float, float]
    renew_below_share: float
    renewal_ph: float | None
    inhibited: bool
    highest_temperature_k: float
    longest_time_s: float
    copper_limit_mg_per_l: float
    iron_limit_mg_per_l: float
    neutralisers: tuple[str, ...]
    protection: tuple[str, ...]
    forbids: tuple[str, ...]
    disposal: str
    storage: str
    sources: tuple[tuple[str, str], ...]


_PROTECTION = ("goggles and face shield", "acid-proof gloves", "apron", "boots")
_DISPOSAL = (
    "Never to storm drain, ground, well or septic tank. Neutralise in the tank; sewer only within the "
    "label's and "
    "the authority's limits for pH, temperature, metals and solids."
)
_STORAGE = "Closed, upright, cool, apart from alkalis, bleach and metals; within its expiry date."
_NEUTRALISERS = ("sodium_bicarbonate", "sodium_carbonate")
_COMMON_SOURCES = (
    ("copper_limit_mg_per_l", f"{_MEMORY}; the sheet's figure goes before"),
    ("iron_limit_mg_per_l", f"{_MEMORY}; the sheet's figure goes before"),
    ("neutralisers", "UFC 3-240-13FN (2005), 9-2.5.2 (soda ash); bicarbonate from memory"),
    ("protection", _MEMORY),
    ("disposal", "40 CFR 403.5(b); rest from memory"),
    ("storage", _MEMORY),
    ("highest_temperature_k", _MEMORY),
    ("longest_time_s", _MEMORY),
    ("product_strength", _MEMORY),
    ("product_density_kg_per_m3", _MEMORY),
    ("inhibited", _MEMORY),
    ("forbids", "the table of metals and acids"),
)
_HOUR = 3600.0

CLEANERS: dict[str, CleanerSheet] = {
    sheet.name: sheet
    for sheet in (
        CleanerSheet(
            name="inhibited_hydrochloric",
            acids=("hydrochloric",),
            acid_shares=(1.0,),
            form="liquid",
            product_strength=0.28,
            product_density_kg_per_m3=1140.0,
            strengths=(0.05, 0.10, 0.20),
            renew_below_share=0.3,
            renewal_ph=None,
            inhibited=True,
            highest_temperature_k=323.15,
            longest_time_s=4 * _HOUR,
            copper_limit_mg_per_l=300.0,
            iron_limit_mg_per_l=3000.0,
            neutralisers=_NEUTRALISERS,
            protection=(*_PROTECTION, "ventilation against fumes"),
            forbids=("aluminium", "galvanised_steel", "stainless_304", "stainless_316", "titanium"),
            disposal=_DISPOSAL,
            storage=_STORAGE,
            sources=(
                ("strengths", _UFC_STRENGTH),
                ("renew_below_share", _UFC_STRENGTH),
                *_COMMON_SOURCES,
            ),
        ),
        CleanerSheet(
            name="phosphoric",
            acids=("phosphoric",),
            acid_shares=(1.0,),
            form="liquid",
            product_strength=0.50,
            product_density_kg_per_m3=1335.0,
            strengths=(0.03, 0.05, 0.10),
            renew_below_share=1 / 3,
            renewal_ph=4.0,
            inhibited=True,
            highest_temperature_k=333.15,
            longest_time_s=8 * _HOUR,
            copper_limit_mg_per_l=300.0,
            iron_limit_mg_per_l=3000.0,
            neutralisers=_NEUTRALISERS,
            protection=_PROTECTION,
            forbids=("titanium", "aluminium", "galvanised_steel"),
            disposal=_DISPOSAL,
            storage=_STORAGE,
            sources=(
                ("strengths", _BRAZED),
                ("renew_below_share", "a third of the start, common practice"),
                ("renewal_ph", _MEMORY),
                *_COMMON_SOURCES,
            ),
        ),
        CleanerSheet(
            name="sulfamic",
            acids=("sulfamic",),
            acid_shares=(1.0,),
            form="powder",
            product_strength=0.95,
            product_density_kg_per_m3=None,
            strengths=(0.05, 0.10, 0.20),
            renew_below_share=1 / 3,
            renewal_ph=None,
            inhibited=True,
            highest_temperature_k=328.15,
            longest_time_s=6 * _HOUR,
            copper_limit_mg_per_l=300.0,
            iron_limit_mg_per_l=3000.0,
            neutralisers=_NEUTRALISERS,
            protection=(*_PROTECTION, "dust mask while weighing"),
            forbids=("aluminium",),
            disposal=_DISPOSAL,
            storage=f"{_STORAGE} Dry.",
            sources=(
                ("strengths", _UFC_SULFAMIC),
                ("renew_below_share", "a third of the start, common practice"),
                *_COMMON_SOURCES,
            ),
        ),
        CleanerSheet(
            name="citric",
            acids=("citric",),
            acid_shares=(1.0,),
            form="powder",
            product_strength=0.99,
            product_density_kg_per_m3=None,
            strengths=(0.02, 0.04, 0.05),
            renew_below_share=1 / 3,
            renewal_ph=4.0,
            inhibited=False,
            highest_temperature_k=333.15,
            longest_time_s=12 * _HOUR,
            copper_limit_mg_per_l=300.0,
            iron_limit_mg_per_l=3000.0,
            neutralisers=_NEUTRALISERS,
            protection=_PROTECTION,
            forbids=("galvanised_steel", "carbon_steel", "cast_iron", "aluminium"),
            disposal=_DISPOSAL,
            storage=f"{_STORAGE} Dry.",
            sources=(
                (
                    "strengths",
                    "below 5 %, above which calcium citrate comes down: Alkhaldi et al., CIPC 2009-015",
                ),
                ("renew_below_share", "a third of the start, common practice"),
                ("renewal_ph", _MEMORY),
                *_COMMON_SOURCES,
            ),
        ),
        CleanerSheet(
            name="glycolic_formic",
            acids=("glycolic", "formic"),
            acid_shares=(2 / 3, 1 / 3),
            form="liquid",
            product_strength=0.45,
            product_density_kg_per_m3=1170.0,
            strengths=(0.02, 0.04, 0.06),
            renew_below_share=1 / 3,
            renewal_ph=4.0,
            inhibited=True,
            highest_temperature_k=333.15,
            longest_time_s=12 * _HOUR,
            copper_limit_mg_per_l=300.0,
            iron_limit_mg_per_l=3000.0,
            neutralisers=_NEUTRALISERS,
            protection=_PROTECTION,
            forbids=("titanium", "aluminium", "galvanised_steel"),
            disposal=_DISPOSAL,
            storage=_STORAGE,
            sources=(
                ("strengths", "2 parts glycolic to 1 part formic, 3 % usual in plant cleaning, from memory"),
                ("renew_below_share", "a third of the start, common practice"),
                ("renewal_ph", _MEMORY),
                *_COMMON_SOURCES,
            ),
        ),
    )
}


def cleaner(name: str) -> CleanerSheet:
    """Return the generic sheet of this name; `UnknownName` lists those there are."""
    if name not in CLEANERS:
        raise UnknownName("cleaner", name, CLEANERS)
    return CLEANERS[name]


@dataclass(frozen=True, slots=True)
class Fitness:
    """Whether a cleaner may be used on what it would touch, and every row that stands against it."""

    usable: bool
    strictest: State
    against: tuple[Compatibility, ...]


def fitness(sheet: CleanerSheet, materials: Iterable[str]) -> Fitness:
    """Judge a cleaner against every wetted metal and seal: a refusal, not a warning, where one forbids it.

    `against` holds what refuses it: forbidden pairs, pairs allowed only inhibited where the sheet has no
    inhibitor, and what the sheet itself forbids. `UnknownName` for a material that nobody knows.
    """
    touched = tuple(dict.fromkeys(materials))
    if not touched:
        raise ValueError("no wetted material named; expected every metal and seal that the bath would touch")
    rows = [compatibility(one, name) for one in touched for name in sheet.acids]
    against = [row for row in rows if row.state == "forbidden"]
    against += [row for row in rows if row.state == "only_inhibited" and not sheet.inhibited]
    against += [
        Compatibility(one, sheet.acids[0], "forbidden", "the cleaner's own sheet forbids it", "the sheet")
        for one in touched
        if one in sheet.forbids and not any(row.material == one for row in against)
    ]
    states = [row.state for row in rows] + [row.state for row in against]
    return Fitness(not against, max(states, key=STATES.index), tuple(against))
