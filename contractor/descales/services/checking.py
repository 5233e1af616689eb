"""Checks before acid, each with its reading, and whether the dose screen is open."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Check, Consent, Descale, DescalePlan, EndStep, Look, Notice
from contractor.descales.planning.visiting import unfit_at
from contractor.descales.quantities import CHECK
from contractor.descales.services.ordering import mark_the_order, order_in_words, proves_nothing
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import Saying, Told, follow, held, keep, mark, refuse_unless_crew
from contractor.descales.states import BEFORE_ACID
from contractor.descales.words import CHECKS, FORCED_AIR, NOT_NEEDED_MAY_BE
from contractor.register.services import rows
from contractor.register.sheets import lapsed_papers, missing_papers
from contractor.visits.models import Reading
from contractor.visits.querysets import OPEN_STATES
from diagnostics.engine.descaling.gas import FAN_AND_METER_FROM, FORCED_VENTILATION_FROM

HOLD_S = 900.0
HOLD_SHARE, HOLD_LEAST_PA = 0.02, 7_000.0
"""What a gauge may fall in a hold test and still have held: common practice, its reading error."""
NO_RATING = "rating_not_known"
RATING_NOT_KNOWN = Saying(
    NO_RATING,
    "What is the exchanger's water-side rating? It is not on record. Read it off the data plate, never hold "
    "above it, and tell the office, who enter it.",
)
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
        if check.kind == "hold_test":
            mark_no_rating(check, row)
        if check.marks:
            check.save()
        _note_the_vent(check, row)
        follow(row, "checking")
        lacked = mark_the_order(row, kinds_needed(current_plan(row))).get(str(check.pk))
        check.refresh_from_db()
        if lacked:
            return Told(check, (order_in_words(check.kind, lacked), *_after(check, row, now)), new)
    return Told(check, _after(check, row, now), new)


def _after(check: Check, descale: Descale, now: datetime) -> tuple[Saying, ...]:
    """What is asked about this check, then what still keeps the dose screen shut."""
    asked = (RATING_NOT_KNOWN,) if NO_RATING in check.marks else ()
    return (*asked, *may_dose(descale, now).reasons)


def _note_the_vent(check: Check, descale: Descale) -> None:
    """Whether the flow may be reversed, as the hoses stand: told last by the checks' own clocks."""
    if check.vent_at_both_tops is None:
        return
    told = Check.objects.filter(descale=descale, vent_at_both_tops__isnull=False)
    last = told.order_by("at", "received_at").last()
    if last is not None:
        rows.change(descale, {"vent_at_both_tops": last.vent_at_both_tops})


def mark_no_rating(row: Check | EndStep, descale: Descale) -> bool:
    """A hold test stays under a rating that nobody entered: not refused, marked and asked for."""
    unknown = descale.exchanger.water_rating_pa_gauge is None and row.pressure_before_pa_gauge is not None
    if unknown:
        mark(row, NO_RATING)
    return unknown


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
    """The checks of this unit: those of its plan's steps, or all where there is no plan. Forced ventilation
    wherever the plan computes that the room wants it, whenever it was made."""
    if plan is None:
        return tuple(CHECKS)
    kinds = {one["kind"] for one in plan.result.get("steps", [])}
    if room_of(plan) == FORCED_AIR:
        kinds.add("forced_ventilation")
    return tuple(kind for kind in CHECKS if kind in kinds)


def room_of(plan: DescalePlan | None) -> str:
    """What the plan's carbon dioxide asks of the room; "" where there is no plan."""
    return str(plan.result.get("gas", {}).get("room", "")) if plan else ""


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
    if check.gas_share is None:
        words = "The plan wants a carbon dioxide meter: its reading."
        return "" if room_of(plan) == "natural_ventilation" else words
    if check.gas_share > FORCED_VENTILATION_FROM:
        return "Carbon dioxide is above 3 %: nobody works there without forced ventilation."
    return (
        "" if check.gas_share <= FAN_AND_METER_FROM else "Carbon dioxide is above 0.5 %: fan on, read again."
    )


def _sheets(check: Check, descale: Descale, plan: DescalePlan | None) -> str:
    """Label and safety data sheet of the plan's cleaner: on file, dated, and not lapsed on that day. And whom
    to ring."""
    if not emergency_number_of(descale, check):
        return "No emergency number is known for this site: tell with this check whom to ring."
    if plan is None:
        return ""
    lacks = [name.replace("_", " ").replace(" on", "'s date") for name in missing_papers(plan.cleaner)]
    day = check.at.astimezone(descale.exchanger.unit.site.zone).date()
    said = [f"not on file: {', '.join(lacks)}"] if lacks else []
    said += [f"lapsed: {one}" for one in lapsed_papers(plan.cleaner, day)]
    return f"{plan.cleaner}: {'; '.join(said)}." if said else ""


def emergency_number_of(descale: Descale, check: Check | None = None) -> str:
    """The site's or the firm's; where neither is on record, what the crew told with `check`."""
    told = check.emergency_phone.strip() if check else ""
    return str(descale.exchanger.unit.site.emergency_number) or told


Judges = Callable[[Check, Descale, DescalePlan | None], str]
JUDGED: dict[str, Judges] = {
    "before_readings": _readings,
    "balancing_noted": _told,
    "hold_test": _hold,
    "water_run": _flowing,
    "treatment_flushed": _flushed,
    "flush_caught": _caught,
    "ventilation": _ventilation,
    "forced_ventilation": _told,
    "second_person": _told,
    "sheets_at_hand": _sheets,
}
