"""What the acid has dissolved, as titration tells it: acid put in less acid left, by stoichiometry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from contractor.descales.models import Batch, Descale, Look
from contractor.descales.services.baths import batches_of, sheet_of_batch
from diagnostics.engine.descaling.acids import deposit_per_acid
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.records import Interval

MIXED_WITHIN = 0.05
"""Limit of error of a strength that was weighed and measured beside a tank: common practice."""
DROPS_WITHIN = 1.0
"""Limit of error of a count of drops [-]: one drop, common practice."""
WIDE = 1.96 / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Dissolved:
    """Deposit [kg] as calcium carbonate with its 95 % interval; of how many of the batches it tells."""

    mass_kg: Interval
    titrated: int
    batches: int


def dissolved_by_titration(descale: Descale) -> Dissolved | None:
    """Over the batches that were titrated while they were in; None where none was."""
    batches = batches_of(descale)
    looks = list(Look.objects.filter(descale=descale, strength__isnull=False).order_by("at", "received_at"))
    found = [one for batch in batches if (one := _of(batch, _last_of(batch, batches, looks))) is not None]
    if not found:
        return None
    mass = sum(value for value, _ in found)
    half = math.sqrt(sum(half**2 for _, half in found))
    return Dissolved(Interval(mass, max(mass - half, 0.0), mass + half), len(found), len(batches))


def _last_of(batch: Batch, batches: Sequence[Batch], looks: Sequence[Look]) -> Look | None:
    """The last titration of this batch: before it was out, and before the next was mixed."""
    after = [one.at for one in batches if one.at > batch.at]
    until = min([*after, *([batch.out_at] if batch.out_at else [])], default=None)
    mine = [one for one in looks if one.at >= batch.at and (until is None or one.at <= until)]
    return mine[-1] if mine else None


def _of(batch: Batch, last: Look | None) -> tuple[float, float] | None:
    """Deposit that one batch dissolved, and the half-width of its interval [kg]."""
    sheet = sheet_of_batch(batch)
    solution = _solution_kg(batch, sheet) if sheet is not None else None
    if sheet is None or solution is None or last is None or last.strength is None or batch.strength is None:
        return None
    pairs = zip(sheet.acids, sheet.acid_shares, strict=True)
    an_acid = sum(share * deposit_per_acid(name) for name, share in pairs)
    used = max(batch.strength - last.strength, 0.0)
    a_drop = last.strength / last.drops if last.drops else 0.0
    doubt = WIDE * math.hypot(MIXED_WITHIN * batch.strength, DROPS_WITHIN * a_drop)
    return solution * used * an_acid, solution * doubt * an_acid


def _solution_kg(batch: Batch, sheet: CleanerSheet) -> float | None:
    product = batch.product_kg
    if product is None and batch.product_m3 is not None and sheet.product_density_kg_per_m3 is not None:
        product = batch.product_m3 * sheet.product_density_kg_per_m3
    if product is None or batch.water_m3 is None:
        return None
    return product + batch.water_m3 * 1000.0
