"""A parked bath is neutralised in portions, the pH read between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, DescalePlan, NeutralisingPortion
from contractor.descales.quantities import NEUTRALISING
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import Saying, Told, held, keep, mark, refuse_unless_crew
from contractor.register.sheets import site_limits

TOO_MUCH_OF_A_PORTION = 1.25


@transaction.atomic
def add_neutraliser(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a portion as it went in; say whether the next one, or the drain, comes now."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    portion = NeutralisingPortion(**{k: v for k, v in given.items() if k != "as_typed"})
    portion, new = keep(by, row, portion, NEUTRALISING, given.get("as_typed") or {}, now)
    if new and _is_large(portion, current_plan(row)):
        mark(portion, "large_portion")
        portion.save()
    return Told(portion, tuple(_sayings(portion, row)), new)


def _is_large(portion: NeutralisingPortion, plan: DescalePlan | None) -> bool:
    planned = (plan.result if plan else {}).get("neutralising", {}).get("portions_kg") or ()
    return bool(planned) and (portion.agent_kg or 0.0) > TOO_MUCH_OF_A_PORTION * max(planned)


def _sayings(portion: NeutralisingPortion, descale: Descale) -> Iterator[Saying]:
    if "large_portion" in portion.marks:
        words = "That is more than a portion: carbon dioxide and foam come at once. Ventilate, wait, stir."
        yield Saying("large_portion", words, urgent=True)
    limits = site_limits(descale.exchanger.unit.site)
    if portion.ph_after is None:
        yield Saying("read_ph", "Stir, wait until it stops foaming, read the pH.")
    elif portion.ph_after < limits.lowest_ph:
        yield Saying(
            "another_portion", f"pH {portion.ph_after:g}: another portion; {limits.lowest_ph:g} at least."
        )
    elif portion.ph_after > limits.highest_ph:
        yield Saying(
            "too_far", f"pH {portion.ph_after:g} is above {limits.highest_ph:g}: hold it, tell the office."
        )
    else:
        limits_said = [
            f"{name} ({most:g} mg/L at most)" for name, most in limits.concentrations_mg_per_l.items()
        ]
        measured = ", ".join(limits_said) or "metals and solids as asked"
        yield Saying("neutral", f"Within the site's pH: measure {measured}, then let out or hold.")
