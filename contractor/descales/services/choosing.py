"""Which cleaners fit an exchanger, what each takes, what stands against the others: the engine's choice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from contractor.accounts.models import Person
from contractor.descales.models import Descale
from contractor.descales.planning import Asked, PlanFacts, Refusal, refusals
from contractor.descales.planning.bath import deposit_of, solution_of, thickness_of
from contractor.descales.planning.expecting import Expected, expected_of
from contractor.descales.planning.facts import sheet_state
from contractor.descales.services.planning import plan_facts
from contractor.descales.services.rules import WITH_SITE, refuse_unless_crew
from contractor.register.models import Cleaner, Rig, WaterTest
from diagnostics.engine.descaling import choice as engine
from diagnostics.engine.descaling.dissolving import STRONG_ACIDS
from diagnostics.engine.records import Interval

BEFORE_THE_PLAN = ("no_consent", "crew_not_fit", "quiet_hours")
"""What stands against a plan, not against a cleaner."""
LAST = 10_000


@dataclass(frozen=True, slots=True)
class Choice:
    """A cleaner, what refuses it, and what it would take: strength [-], product [kg], batches, time [s].

    None where no assessment tells how much deposit there is, or the rig or the exchanger is not known enough.
    """

    cleaner: Cleaner
    refusals: tuple[Refusal, ...]
    strong: bool
    strength: float | None
    product_kg: float | None
    batches: int | None
    most_batches: int | None
    time_s: Interval | None
    remarks: tuple[str, ...]


def choose_cleaner(by: Person, descale: Descale, rig: Rig, asked: Asked, now: datetime) -> list[Choice]:
    """Every cleaner in use: those that fit first, in the order to try them; the refused with reasons."""
    refuse_unless_crew(by, descale)
    cleaners = list(Cleaner.objects.in_use().order_by("name"))
    if not cleaners:
        return []
    base = plan_facts(descale, cleaners[0], rig, asked, now)
    facts = [(one, replace(base, cleaner=sheet_state(one, base.today))) for one in cleaners]
    judged = _judged([each for _, each in facts], base)
    order = {option.cleaner: place for place, option in enumerate(judged.options)} if judged else {}
    found = [_choice(cleaner, each, judged) for cleaner, each in facts]
    return sorted(
        found, key=lambda one: (bool(one.refusals), order.get(one.cleaner.name, LAST), one.cleaner.name)
    )


def deposit_expected(by: Person, descale: Descale) -> Expected:
    """What the deposit likely is; where acid is the wrong tool, what is right."""
    refuse_unless_crew(by, descale)
    exchanger = Descale.objects.select_related(*WITH_SITE).get(pk=descale.pk).exchanger
    water = WaterTest.objects.in_use().filter(site=exchanger.unit.site_id).order_by("-taken_at").first()
    return expected_of(exchanger, water)


def _judged(all_facts: list[PlanFacts], base: PlanFacts) -> engine.Choice | None:
    """The engine's choice among the whole sheets; None where no solution can be told."""
    solution = solution_of(base)
    sheets = [facts.cleaner.sheet for facts in all_facts if facts.cleaner.sheet is not None]
    if solution is None or not base.wetted.materials:
        return None
    return engine.choose(sheets, situation_of(base, solution))


def situation_of(facts: PlanFacts, solution_m3: float) -> engine.Situation:
    return engine.Situation(
        materials=facts.wetted.materials,
        unknown_parts=facts.wetted.unknown,
        expected=dict(facts.expected.kinds),
        deposit=deposit_of(facts) or Interval(0.0, 0.0, 0.0),
        solution_m3=solution_m3,
        bath_k=facts.asked.supply_k,
        thickness_m=thickness_of(facts),
        years_since=facts.years_since,
        treatments=facts.treatments or None,
        black_slime=facts.black_slime,
        heats_drinking_water=facts.heats_drinking_water,
    )


def _choice(cleaner: Cleaner, facts: PlanFacts, judged: engine.Choice | None) -> Choice:
    found = [one for one in refusals(facts) if one.code not in BEFORE_THE_PLAN]
    options = {one.cleaner: one for one in judged.options} if judged else {}
    option = options.get(cleaner.name)
    if not found and judged is not None and option is None:
        found += [Refusal("not_by_its_sheet", why) for why in _against(cleaner, judged)]
    known = option is not None and deposit_of(facts) is not None
    count = option.batches if option is not None and known else None
    return Choice(
        cleaner=cleaner,
        refusals=tuple(found),
        strong=any(one["acid"] in STRONG_ACIDS for one in cleaner.acids),
        strength=option.strength if option else None,
        product_kg=option.product_in_a_batch_kg * (count.likely if count else 1) if option else None,
        batches=count.likely if count else None,
        most_batches=count.most if count else None,
        time_s=option.time_s if option else None,
        remarks=(*(option.remarks if option else ()), *_about_amount(known)),
    )


def _about_amount(known: bool) -> tuple[str, ...]:
    return () if known else ("how much deposit there is is not known: told for one batch; titration decides",)


def _against(cleaner: Cleaner, judged: engine.Choice) -> tuple[str, ...]:
    return next((one.reasons for one in judged.refusals if one.cleaner == cleaner.name), ())
