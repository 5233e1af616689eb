"""Portions of a dose as they go in. What they bring together counts, where it is more than was told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Batch, Descale, DescalePlan, Portion
from contractor.descales.quantities import PORTION
from contractor.descales.services.baths import batches_of, sheet_of_batch
from contractor.descales.services.dosing import of_strength, product_kg_of, sayings_of, strength_with
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import Saying, Told, held, keep, mark, refuse_unless_crew

MORE_THAN_TOLD = 1.02
LARGE = 1.25
"""Over a planned portion by so much it is one at once: common practice, a quarter."""
WAIT = "That is more than a portion: wait until foam and heat settle."


@transaction.atomic
def add_portion(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a portion of the dose. It belongs to the batch mixed last before it."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    portion = Portion(**{k: v for k, v in given.items() if k != "as_typed"})
    portion, new = keep(by, row, portion, PORTION, given.get("as_typed") or {}, now)
    if not new:
        return Told(portion, (), new)
    plan = current_plan(row)
    return Told(portion, (*_of_size(portion, plan), *_of_the_bath(portion, row, plan)), new)


def _of_size(portion: Portion, plan: DescalePlan | None) -> Iterator[Saying]:
    if plan is None or portion.product_kg is None:
        return
    if portion.product_kg > max(plan.result["bath"]["portions_kg"], default=0.0) * LARGE:
        mark(portion, "large_portion")
        portion.save()
        yield Saying("large_portion", WAIT)


def _of_the_bath(portion: Portion, descale: Descale, plan: DescalePlan | None) -> Iterator[Saying]:
    """A bath that got more than was told for it is stronger than it was told to be."""
    before = [one for one in batches_of(descale) if one.at <= portion.at]
    if not before:
        return
    batch, sheet = before[-1], sheet_of_batch(before[-1])
    told, added = product_kg_of(batch, sheet), _added_kg(batch, descale)
    if added <= MORE_THAN_TOLD * (told or 0.0):
        return
    batch.strength = strength_with(added, batch, sheet)
    batch.marks = [one for one in batch.marks if one != "off_the_plan"]
    mark(batch, *of_strength(batch, plan, sheet))
    batch.save()
    yield from (one for one in sayings_of(batch) if one.code in ("dilute", "off_the_plan"))


def _added_kg(batch: Batch, descale: Descale) -> float:
    """Every portion since this batch was mixed and before the next was."""
    mine = Portion.objects.filter(descale=descale, at__gte=batch.at)
    later = Batch.objects.filter(descale=descale, at__gt=batch.at).order_by("at").first()
    if later is not None:
        mine = mine.filter(at__lt=later.at)
    sheet = sheet_of_batch(batch)
    return sum(product_kg_of(one, sheet) or 0.0 for one in mine)
