"""Batches in the order of their clocks, and what makes one unsafe."""

from __future__ import annotations

from contractor.descales.models import Batch, Descale, DescalePlan
from contractor.register.sheets import missing_fields, sheet_of
from diagnostics.engine.descaling.cleaners import CleanerSheet

SAID: dict[str, str] = {
    "forbidden_material": "a metal or seal that this acid attacks is in it",
    "unknown_material": "a metal or seal in it is not known",
    "cleaner_not_known": "nobody can tell what was put in",
    "mixed_cleaners": "another cleaner went in before: never mix cleaners",
    "other_metals": "this bath comes out of a unit of other metals: what it dissolved there plates out here",
    "drinking_water_coil": "this coil heats drinking water",
    "sheet_incomplete": "the cleaner's sheet is a draft: its limits are not known",
}
"""Marks of a batch that ask for it to be drained at once, in words."""


def batches_of(descale: Descale) -> list[Batch]:
    """In the order of their own clocks: the first is number 1."""
    return list(Batch.objects.filter(descale=descale).select_related("cleaner", "lot").order_by("at", "id"))


def sheet_of_batch(batch: Batch) -> CleanerSheet | None:
    """The sheet of what was put in; None where nobody can tell, or it is a draft."""
    cleaner = batch.cleaner
    return None if cleaner is None or missing_fields(cleaner) else sheet_of(cleaner)


def cap_k_of(plan: DescalePlan | None, sheet: CleanerSheet | None) -> float | None:
    """What a bath must not be warmer than: by the plan, and by the label of what was put in."""
    caps = [plan.cap_k if plan else None, sheet.highest_temperature_k if sheet else None]
    return min((cap for cap in caps if cap is not None), default=None)
