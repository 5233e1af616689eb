"""Acid into water: batches and portions as mixed, the clocks they start, and acid that is in already."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Batch, Descale, DescalePlan, EndStep, Portion
from contractor.descales.quantities import BATCH
from contractor.descales.services.baths import SAID, sheet_of_batch
from contractor.descales.services.checking import may_dose
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import (
    WITH_SITE,
    Saying,
    Told,
    alarm,
    held,
    keep,
    mark,
    refuse_unless_crew,
)
from contractor.descales.services.settling import settle
from contractor.register.models import Cleaner, CleanerLot, Exchanger
from contractor.register.services import rows, take_from_lot
from contractor.register.sheets import wetted
from contractor.visits.models import Visit
from diagnostics.engine.descaling.cleaners import CleanerSheet, fitness

STRENGTH_AS_PLANNED = 0.15
"""How far a bath's strength may stand from the plan's, as a share: common practice, kitchen scales."""
WATER_KG_PER_M3 = 998.2


@dataclass(frozen=True, slots=True)
class Clock:
    """A batch that is in: since when, by when it must be out, whose."""

    descale: Descale
    batch: Batch
    number: int

    def left_s(self, now: datetime) -> float:
        return (self.batch.out_by - now).total_seconds()

    def is_over(self, now: datetime) -> bool:
        return now >= self.batch.out_by


@transaction.atomic
def mix_batch(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a bath as it was mixed, start its clock, and say what to do. Nothing poured is refused."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    plan = current_plan(row)
    batch = Batch(**{k: v for k, v in given.items() if k != "as_typed"})
    if batch.lot is not None and batch.cleaner is None:
        batch.cleaner = batch.lot.cleaner
    gate = may_dose(row, batch.at)
    batch.out_by = batch.at
    batch, new = keep(by, row, batch, BATCH, given.get("as_typed") or {}, now)
    if new:
        sheet = sheet_of_batch(batch)
        batch.strength = strength_with(product_kg_of(batch, sheet), batch, sheet)
        mark(batch, *_marks(batch, row, plan, sheet), *(() if gate.open else ("before_its_time",)))
        batch.out_by = _out_by(batch, sheet)
        batch.save()
        _close_clocks(batch)
        _leaves_the_other(batch)
        _take_from_stock(batch, sheet)
        _tell_of(by, row, batch, gate.open)
        settle(row)
    return Told(batch, (*sayings_of(batch), *(gate.reasons if "before_its_time" in batch.marks else ())), new)


@transaction.atomic
def acid_is_in(
    by: Person, exchanger: Exchanger, descale_id: UUID, fields: Mapping[str, Any], now: datetime
) -> tuple[Descale, Told]:
    """Acid is in already, whatever was agreed or checked: open the log, start the clock, tell the office."""
    descale = Descale.objects.filter(pk=descale_id).first() or open_descale(exchanger)
    if descale is None:
        descale = Descale(
            id=descale_id,
            exchanger=exchanger,
            because="Acid was in before anything was recorded.",
            recommended_by=by,
        )
        refuse_unless_crew(by, descale)
        rows.put_in(descale)
    told = mix_batch(by, descale, fields, now)
    return Descale.objects.select_related(*WITH_SITE).get(pk=descale.pk), told


def open_descale(exchanger: Exchanger) -> Descale | None:
    return Descale.objects.open().filter(exchanger=exchanger).first()


@transaction.atomic
def batch_is_out(by: Person, descale: Descale, batch: Batch, at: datetime) -> Batch:
    """A bath was drained for a fresh one: its clock stops. Told twice is harmless."""
    row = held(descale)
    refuse_unless_crew(by, row)
    fresh = Batch.objects.select_for_update().get(pk=batch.pk)
    if fresh.out_at is None:
        rows.change(fresh, {"out_at": at})
    return fresh


def clocks_running(person: Person, visit: Visit | None = None) -> list[Clock]:
    """Every batch that is in, at the sites this person sees or at one visit's site, most pressing first."""
    running = Batch.objects.seen_by(person).filter(out_at__isnull=True)
    if visit is not None:
        running = running.filter(descale__exchanger__unit__site=visit.site_id)
    found = list(running.select_related("descale__exchanger__unit__site", "cleaner").order_by("out_by", "id"))
    earlier: dict[object, list[UUID]] = {}
    all_of = Batch.objects.filter(descale__in=[batch.descale_id for batch in found]).order_by("at", "id")
    for descale_id, batch_id in all_of.values_list("descale", "pk"):
        earlier.setdefault(descale_id, []).append(batch_id)
    return [Clock(one.descale, one, earlier[one.descale_id].index(one.pk) + 1) for one in found]


def sayings_of(batch: Batch) -> tuple[Saying, ...]:
    """What the marks of a batch ask for now."""
    unsafe = [SAID[code] for code in batch.marks if code in SAID]
    found = []
    if unsafe and batch.out_at is None:
        found.append(Saying("drain_and_rinse_now", f"Stop: drain and rinse now; {'; '.join(unsafe)}.", True))
    if "stronger_than_label" in batch.marks:
        found.append(
            Saying("dilute", "Stronger than the label allows: add water, titrate, watch the metals.", True)
        )
    if "off_the_plan" in batch.marks:
        found.append(Saying("off_the_plan", "Not the plan's strength: titrate now and dose by that."))
    if "lot_lapsed" in batch.marks:
        found.append(Saying("lot_lapsed", "This lot has lapsed: titrate now, its inhibitor may be spent."))
    if not unsafe:
        found.append(Saying("out_by", f"Out by {_on_the_wall(batch, batch.out_by)} at the latest."))
    return tuple(found)


def _on_the_wall(batch: Batch, moment: datetime) -> str:
    """By the clock on the site's wall."""
    return f"{moment.astimezone(batch.descale.exchanger.unit.site.zone):%H:%M on %d %b}"


def product_kg_of(batch: Batch | Portion, sheet: CleanerSheet | None) -> float | None:
    if batch.product_kg is not None:
        return batch.product_kg
    density = sheet.product_density_kg_per_m3 if sheet else None
    return None if batch.product_m3 is None or density is None else batch.product_m3 * density


def strength_with(product_kg: float | None, batch: Batch, sheet: CleanerSheet | None) -> float | None:
    """Acid by mass with so much product in the batch's water; None where product or water was not told."""
    if sheet is None or product_kg is None or not batch.water_m3:
        return None
    return product_kg * sheet.product_strength / (product_kg + batch.water_m3 * WATER_KG_PER_M3)


def _marks(
    batch: Batch, descale: Descale, plan: DescalePlan | None, sheet: CleanerSheet | None
) -> Iterator[str]:
    yield from _of_metals(batch, descale, plan, sheet)
    before = Batch.objects.filter(descale=descale, at__lt=batch.at, out_at__isnull=True)
    others = before.exclude(pk=batch.pk).exclude(cleaner__isnull=True).exclude(cleaner=batch.cleaner_id)
    if batch.cleaner_id and others.exists():
        yield "mixed_cleaners"
    if plan is not None and batch.cleaner_id and batch.cleaner_id != plan.cleaner_id:
        yield "other_cleaner"
    yield from of_strength(batch, plan, sheet)
    expires = batch.lot.expires_on if batch.lot is not None else None
    if expires is not None and expires < batch.at.astimezone(descale.exchanger.unit.site.zone).date():
        yield "lot_lapsed"


def of_strength(batch: Batch, plan: DescalePlan | None, sheet: CleanerSheet | None) -> Iterator[str]:
    if batch.strength is None:
        return
    if sheet is not None and batch.strength > sheet.strengths[2] * 1.0001:
        yield "stronger_than_label"
    planned = plan.strength if plan is not None else None
    if planned and abs(batch.strength - planned) > STRENGTH_AS_PLANNED * planned:
        yield "off_the_plan"


def _of_metals(
    batch: Batch, descale: Descale, plan: DescalePlan | None, sheet: CleanerSheet | None
) -> Iterator[str]:
    touched = wetted(descale.exchanger, plan.rig if plan else None)
    if batch.cleaner is None:
        yield "cleaner_not_known"
    elif sheet is None:
        yield "sheet_incomplete"
    elif touched.materials and not fitness(sheet, touched.materials).usable:
        yield "forbidden_material"
    if touched.unknown:
        yield "unknown_material"
    if descale.exchanger.heats_drinking_water:
        yield "drinking_water_coil"
    if batch.moved_from is not None:
        there = wetted(batch.moved_from.descale.exchanger).materials
        if set(there) != set(wetted(descale.exchanger).materials):
            yield "other_metals"


def longest_time_s(descale: Descale, plan: DescalePlan | None, cleaner: Cleaner) -> float:
    """How long a bath of this cleaner may be in this unit; 0 where it would have to be out at once."""
    batch = Batch(descale=descale, cleaner=cleaner)
    sheet = sheet_of_batch(batch)
    unsafe = set(_of_metals(batch, descale, plan, sheet)) & set(SAID)
    return 0.0 if sheet is None or unsafe else sheet.longest_time_s


def _out_by(batch: Batch, sheet: CleanerSheet | None) -> datetime:
    """By the label's longest time; at once where the metal or the cleaner is not known or forbidden."""
    if sheet is None or set(batch.marks) & set(SAID):
        return batch.at
    return batch.at + timedelta(seconds=sheet.longest_time_s)


def _close_clocks(batch: Batch) -> None:
    """A unit holds one bath: those before this one were out when it went in, and so was this one later."""
    others = Batch.objects.filter(descale=batch.descale_id).exclude(pk=batch.pk)
    if "mixed_cleaners" not in batch.marks:
        for earlier in others.filter(at__lt=batch.at, out_at__isnull=True):
            rows.change(earlier, {"out_at": batch.at})
    later = [one.at for one in others.filter(at__gt=batch.at)]
    drained = EndStep.objects.filter(
        descale=batch.descale_id, kind="drained", outcome="done", at__gte=batch.at
    )
    ends = [*later, *(step.at for step in drained)]
    if ends and batch.out_at is None:
        rows.change(batch, {"out_at": min(ends)})


def _leaves_the_other(batch: Batch) -> None:
    """A bath that was moved on is out of where it was."""
    there = batch.moved_from
    if there is not None and there.out_at is None:
        rows.change(Batch.objects.get(pk=there.pk), {"out_at": batch.at})


def _take_from_stock(batch: Batch, sheet: CleanerSheet | None) -> None:
    product = product_kg_of(batch, sheet)
    if batch.lot_id is not None and product:
        take_from_lot(CleanerLot.objects.get(pk=batch.lot_id), product)


def _tell_of(by: Person, descale: Descale, batch: Batch, in_order: bool) -> None:
    """Tell the office of acid that went in against the rule."""
    if in_order and not set(batch.marks) & set(SAID):
        return
    marks = ", ".join(code.replace("_", " ") for code in batch.marks)
    alarm(
        descale,
        "acid_is_in",
        f"Acid is in {descale.exchanger} since {_on_the_wall(batch, batch.at)}: {marks}.",
        by,
    )
