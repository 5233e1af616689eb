"""What the deposit likely is: from water source, water test, what was brought out and what acid did."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from contractor.register.models import Exchanger, WaterTest
from contractor.visits.models import Finding
from diagnostics.engine.descaling.choice import ACID_FROM, wrong_tool
from diagnostics.engine.descaling.expected import SIGNS, expected_deposit, share_by_acid, signs_of_water
from diagnostics.engine.water_chemistry import WaterAnalysis, scaling_indices

USUAL_SKIN_K = 308.0
"""Skin of a condenser on water of 300 K, where nobody read one: common practice."""
BROUGHT_SIGNS = {"solids": "pale_flakes", "mud": "mud", "slime": "slime", "colour": "rust"}
"""What a back-flush or a strainer brought out, as the engine names it. Solids that are not mud are flakes."""
FLUSHES = ("back_flush", "strainer_cleaned")
ACID_SIGNS = {
    "solids": "acid_worked_before",
    "colour": "acid_worked_before",
    "nothing": "acid_did_nothing_before",
}


@dataclass(frozen=True, slots=True)
class Expected:
    """Probability by kind, likeliest first, and what it rests on, as names of the engine's signs."""

    kinds: tuple[tuple[str, float], ...]
    signs: tuple[str, ...]

    @property
    def by_acid(self) -> float:
        return share_by_acid(dict(self.kinds))

    @property
    def wrong_tool(self) -> str | None:
        """What is right where acid likely is not."""
        return wrong_tool(dict(self.kinds))

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(SIGNS[name].words for name in self.signs)

    @property
    def doubtful(self) -> bool:
        return self.by_acid < ACID_FROM


def expected_of(exchanger: Exchanger, water: WaterTest | None) -> Expected:
    """Two queries: findings that stand, of this unit and not of another exchanger of it."""
    shown, factors = _of_water(water)
    signs = tuple(dict.fromkeys([*shown, *_of_findings(exchanger)]))
    found = expected_deposit(exchanger.unit.site.water_source, signs, factors)
    return Expected(tuple(found.items()), signs)


def _of_water(water: WaterTest | None) -> tuple[tuple[str, ...], dict[str, float]]:
    if water is None:
        return (), {}
    return signs_of_water(
        langelier_at_skin=_langelier(water),
        calcium_mg_per_l_as_caco3=water.calcium_hardness_mg_per_l_as_caco3,
        sulphate_mg_per_l=water.sulphate_mg_per_l,
        silica_mg_per_l=water.silica_mg_per_l,
        iron_mg_per_l=water.iron_mg_per_l,
    )


def _langelier(water: WaterTest) -> float | None:
    solids, hard = water.dissolved_solids_mg_per_l, water.calcium_hardness_mg_per_l_as_caco3
    alkalinity = water.alkalinity_mg_per_l_as_caco3
    if water.ph is None or not solids or not hard or not alkalinity:
        return None
    try:
        found = scaling_indices(WaterAnalysis(water.ph, solids, hard, alkalinity), USUAL_SKIN_K)
    except ValueError:
        return None
    return float(found.langelier_by_formula)


def _of_findings(exchanger: Exchanger) -> Iterator[str]:
    """The latest back-flush or cleaned strainer, and what the latest descale that told brought out."""
    rows = Finding.objects.in_use().filter(unit=exchanger.unit_id, kind__in=(*FLUSHES, "descale"))
    of_others = rows.exclude(exchanger=None).exclude(exchanger=exchanger.pk).values("pk")
    found = list(rows.exclude(pk__in=of_others).order_by("-found_at", "pk"))
    flush = next((one for one in found if one.kind in FLUSHES), None)
    if flush is not None:
        yield from filter(
            None, (BROUGHT_SIGNS.get(flush.brought), flush.value if flush.value in SIGNS else None)
        )
    acid = next((one for one in found if one.kind == "descale" and one.brought in ACID_SIGNS), None)
    if acid is not None:
        yield ACID_SIGNS[acid.brought]
