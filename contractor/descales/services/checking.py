"""Checks before acid, each with its reading, and whether the dose screen is open."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Check, Consent, Descale, DescalePlan, Look, Notice
from contractor.descales.planning.visiting import unfit_at
from contractor.descales.quantities import CHECK
from contractor.descales.services.ordering import mark_the_order, order_in_words, proves_nothing
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import Saying, Told, follow, held, keep, mark, refuse_unless_crew
from contractor.descales.states import BEFORE_ACID
from contractor.descales.words import CHECKS, NOT_NEEDED_MAY_BE
from contractor.register.sheets import lapsed_papers, missing_papers
from contractor.visits.models import Reading
from contractor.visits.querysets import OPEN_STATES
from diagnostics.engine.descaling.gas import FAN_AND_METER_FROM, FORCED_VENTILATION_FROM

HOLD_S = 900.0
HOLD_SHARE, HOLD_LEAST_PA = 0.02, 7_000.0
"""What a gauge may fall in a hold test and still have held: common practice, its reading error."""
A_SHIFT = timedelta(hours=12)
"""For how long a second person who was told counts as within call: a long shift, common practice."""


@dataclass(frozen=True, slots=True)
class MayDose:
    """Whether the dose screen is open; if not, everything that keeps it shut."""

    open: bool
    reasons: tuple[Saying, ...]


@transaction.atomic
def record_check(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep a check with its reading, whenever it comes. The first one shows that the crew is there."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    check, new = keep(by, row, Check(**{k: v for k, v in given.items() if k != "as_typed"}), CHECK,
                      given.get("as_typed") or {}, now)  # fmt: skip
    if new:
        if row.state not in BEFORE_ACID:
            mark(check, "after_acid")
        elif row.state not in ("noticed", "checking"):
            mark(check, "before_notice")
        if check.outcome == "passed" and (words := fault_of(check, row, current_plan(row))):
            mark(check, "does_not_pass")
            check.note = f"{check.note}\n{words}".strip()
        if check.marks:
            check.save()
        follow(row, "checking")
        lacked = mark_the_order(row, kinds_needed(current_plan(row))).get(str(check.pk))
        check.refresh_from_db()
        if lacked:
            return Told(check, (order_in_words(check.kind, lacked), *may_dose(row, now).reasons), new)
    return Told(check, may_dose(row, now).reasons, new)


def may_dose(descale: Descale, at: datetime) -> MayDose:
    """Whether acid may go in at `at`. Consent, notice, a plan that stands, a crew that is fit on that day,
    and every check passed."""
    plan = current_plan(descale)
    latest = latest_checks(descale)
    reasons = [*_of_papers(descale), *_of_crew(descale, latest.get("second_person"), at)]
    for kind in kinds_needed(plan):
        words = _lacks(kind, latest.get(kind), descale, plan)
        if not words:
            words = proves_nothing(latest[kind], latest)
        if words:
            reasons.append(Saying(kind, words))
    if descale.state not in ("checking", "acid_in", "rinsing") and not reasons:
        reasons.append(Saying("state", f"The descale is {descale.state.replace('_', ' ')}."))
    return MayDose(not reasons, tuple(reasons))


def kinds_needed(plan: DescalePlan | None) -> tuple[str, ...]:
    """The checks of this unit: those of its plan's steps, or all where there is no plan."""
    if plan is None:
        return tuple(CHECKS)
    return tuple(one["kind"] for one in plan.result.get("steps", []) if one["kind"] in CHECKS)


def latest_checks(descale: Descale) -> dict[str, Check]:
    """The latest check of each kind by its own clock, whatever order they came in."""
    return {
        check.kind: check for check in Check.objects.filter(descale=descale).order_by("at", "received_at")
    }


def _of_papers(descale: Descale) -> list[Saying]:
    found = []
    if not Consent.objects.filter(descale=descale).exists():
        found.append(Saying("no_consent", "The customer's yes is not on record."))
    if current_plan(descale) is None:
        found.append(Saying("no_plan", "There is no plan that stands."))
    if not Notice.objects.filter(descale=descale).exists():
        found.append(Saying("no_notice", "The client has had no notice."))
    last = Look.objects.filter(descale=descale).order_by("-at", "-received_at").first()
    if last is not None and "stop" in last.marks:
        words = (
            "The last look said stop: no fresh acid until what made it stop is put right and looked at again."
        )
        found.append(Saying("stopped", words))
    return found


def _of_crew(descale: Descale, second: Check | None, at: datetime) -> Iterator[Saying]:
    """People change between the plan and the day: who the visit's crew is then, with which certificates, and
    whether the second person was told in this shift."""
    visit = descale.visit
    if visit is None or visit.state not in OPEN_STATES:
        yield Saying("no_visit", "No visit is open for it: who works here, and with what certificate?")
    elif unfit := unfit_at(visit, at):
        yield Saying("crew_not_fit", unfit)
    if second is not None and second.outcome == "passed" and at - second.at > A_SHIFT:
        told = second.at.astimezone(descale.exchanger.unit.site.zone)
        words = f"The second person was told on {told:%a %d %b %Y %H:%M}: who is within call now?"
        yield Saying("second_person_long_ago", words)


def _lacks(kind: str, check: Check | None, descale: Descale, plan: DescalePlan | None) -> str:
    if check is None:
        return f"Not yet: {CHECKS[kind]}."
    if check.outcome == "failed":
        return f"Did not pass: {CHECKS[kind]}."
    if check.outcome == "not_needed":
        flushing = (
            kind in ("treatment_flushed", "flush_caught") and plan and plan.result.get("flush_until_none")
        )
        return "" if kind in NOT_NEEDED_MAY_BE and not flushing else f"Cannot be left out: {CHECKS[kind]}."
    return fault_of(check, descale, plan)


def fault_of(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    """Why a check that was told as passed does not pass by its reading; "" where it does."""
    judged = JUDGED.get(check.kind)
    return judged(check, descale, plan) if judged else ""


def hold_fault(row: Any, rating_pa_gauge: float | None) -> str:
    """What is wrong with a hold test's reading. Shared with the one after."""
    before, after = row.pressure_before_pa_gauge, row.pressure_after_pa_gauge
    if row.duration_s is None or before is None or after is None:
        return "A hold test has its time and the pressure at its start and end."
    if row.duration_s < HOLD_S:
        return f"Held for {row.duration_s / 60:.0f} minutes; 15 are wanted."
    if rating_pa_gauge is not None and before > rating_pa_gauge:
        return f"{before / 1000:.0f} kPa is above the exchanger's rating of {rating_pa_gauge / 1000:.0f} kPa."
    if before - after > max(HOLD_SHARE * before, HOLD_LEAST_PA):
        return f"It fell from {before / 1000:.0f} to {after / 1000:.0f} kPa: it does not hold."
    return ""


def _hold(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    return hold_fault(check, descale.exchanger.water_rating_pa_gauge)


def _readings(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    readings = Reading.objects.standing().filter(exchanger=descale.exchanger_id, purpose="before_descale")
    return "" if readings.exists() else "No readings of the purpose “before descale” are on record."


def _flushed(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    if check.strip_mg_per_l is None:
        return "What the treatment's test strip shows is not told."
    return (
        "" if check.strip_mg_per_l <= 0 else f"The strip still shows {check.strip_mg_per_l:g} mg/L: flush on."
    )


def _told(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    return "" if check.told.strip() else f"Tell who, where or how: {CHECKS[check.kind]}."


def _caught(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    return "" if check.volume_m3 else "How much flush water was caught is not told."


def _flowing(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    return "" if check.flow_m3_per_s else "The flow of plain water is not told."


def _ventilation(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    room = plan.result.get("gas", {}).get("room", "") if plan else ""
    if check.gas_share is None:
        return "" if room == "natural_ventilation" else "The plan wants a carbon dioxide meter: its reading."
    if check.gas_share > FORCED_VENTILATION_FROM:
        return "Carbon dioxide is above 3 %: nobody works there without forced ventilation."
    return (
        "" if check.gas_share <= FAN_AND_METER_FROM else "Carbon dioxide is above 0.5 %: fan on, read again."
    )


def _sheets(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    """Label and safety data sheet of the plan's cleaner: on file, dated, and not lapsed on that day."""
    if plan is None:
        return ""
    lacks = [name.replace("_", " ").replace(" on", "'s date") for name in missing_papers(plan.cleaner)]
    day = check.at.astimezone(descale.exchanger.unit.site.zone).date()
    said = [f"not on file: {', '.join(lacks)}"] if lacks else []
    said += [f"lapsed: {one}" for one in lapsed_papers(plan.cleaner, day)]
    return f"{plan.cleaner}: {'; '.join(said)}." if said else ""


Judges = Callable[[Check, Descale, DescalePlan | None], str]
JUDGED: dict[str, Judges] = {
    "before_readings": _readings,
    "balancing_noted": _told,
    "hold_test": _hold,
    "water_run": _flowing,
    "treatment_flushed": _flushed,
    "flush_caught": _caught,
    "ventilation": _ventilation,
    "second_person": _told,
    "sheets_at_hand": _sheets,
}
