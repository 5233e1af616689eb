"""Which cleaners fit an exchanger, and what stands against each: mild before strong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.descales.planning import Asked, Refusal, refusals
from contractor.descales.planning.bath import batches_of, bath_of, deposit_of
from contractor.descales.services.planning import plan_facts
from contractor.descales.services.rules import refuse_unless_crew
from contractor.register.models import Cleaner, Rig, UnitEvent
from diagnostics.engine.descaling.choice import MILDNESS, OLD_YEARS
from diagnostics.engine.descaling.dissolving import STRONG_ACIDS

BEFORE_THE_PLAN = ("no_consent", "quiet_hours")
"""What stands against a plan, not against a cleaner."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A cleaner, what refuses it, and what it would take: product [kg] of all batches, at most so many."""

    cleaner: Cleaner
    refusals: tuple[Refusal, ...]
    strong: bool
    product_kg: float | None
    batches: int | None
    most_batches: int | None


def choose_cleaner(by: Person, descale: Descale, rig: Rig, asked: Asked, now: datetime) -> list[Choice]:
    """Every cleaner in use: those that fit first, the refused with their reasons.

    Mild ones come before strong, except on an exchanger that was not descaled for years.
    """
    refuse_unless_crew(by, descale)
    cleaners = Cleaner.objects.in_use().order_by("name").prefetch_related("lots")
    found = [_choice(descale, cleaner, rig, asked, now) for cleaner in cleaners]
    sign = -1 if _old(descale, now) else 1
    return sorted(
        found, key=lambda one: (bool(one.refusals), sign * _strength_of(one.cleaner), one.cleaner.name)
    )


def _strength_of(cleaner: Cleaner) -> int:
    """From mild to strong, by what its acids do to skin and metal."""
    return max((MILDNESS.get(one["acid"], 3) for one in cleaner.acids), default=0)


def _old(descale: Descale, now: datetime) -> bool:
    """Descaled so long ago that strong comes first; where nobody tells, mild does."""
    events = UnitEvent.objects.filter(unit=descale.exchanger.unit_id, what="descaled", taken_back_at=None)
    last = events.order_by("-at").values_list("at", flat=True).first()
    return last is not None and now - last > timedelta(days=365.25 * OLD_YEARS)


def _choice(descale: Descale, cleaner: Cleaner, rig: Rig, asked: Asked, now: datetime) -> Choice:
    facts = plan_facts(descale, cleaner, rig, asked, now)
    found = tuple(one for one in refusals(facts) if one.code not in BEFORE_THE_PLAN)
    sheet = facts.cleaner.sheet
    bath = bath_of(facts, sheet) if sheet is not None else None
    count = batches_of(facts, sheet, bath, deposit_of(facts)) if sheet and bath and not found else None
    return Choice(
        cleaner=cleaner,
        refusals=found,
        strong=any(one["acid"] in STRONG_ACIDS for one in cleaner.acids),
        product_kg=bath.product_kg * (count.likely if count else 1) if bath else None,
        batches=count.likely if count else None,
        most_batches=count.most if count else None,
    )
