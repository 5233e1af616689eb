"""Looks at the tank: each kept, and after each what to do, from the whole series so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from contractor.descales.models import Batch, Descale, DescalePlan, Look
from contractor.descales.services.baths import SAID, batches_of, cap_k_of, sheet_of_batch
from contractor.descales.services.causes import where_it_is_ranked
from contractor.descales.services.planning import current_plan
from contractor.descales.services.rules import Saying
from contractor.descales.words import BLUES
from diagnostics.engine.descaling import end_point
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.records import Interval

ACTIONS: dict[str, str] = {
    "go_on": "Go on.",
    "fresh_batch": "Fresh batch: drain, then mix anew while the deposit still dissolves.",
    "reverse": "Reverse the flow, vent at the top of both paths.",
    "finished": "Finished: drain and rinse.",
    "nothing_dissolving": "Nothing dissolves: carbonate is unlikely, or the acid does not reach it.",
    "stop": "Stop: drain and rinse now.",
}
DO_ON_STOP: dict[str, str] = {
    "level_rising": "Pump off, shut the hose valves, re-seat the leaking valve, spare container, then drain.",
    "level_falling": "There is a leak: pump off, catch what runs out, drain.",
    "leak": "There is a leak: pump off, catch what runs out, drain.",
    "oil": "Refrigerant may be leaking: ventilate, no ignition, a certified person.",
    "bubbles_without_acid": "Refrigerant may be leaking: ventilate, no ignition, a certified person.",
    "fumes": "Poisonous gas: everybody out, ventilate; drain only with breathing protection or from outside.",
    "gas_alarm": "Carbon dioxide: everybody out, forced ventilation before anyone goes back.",
}
MORE_REASONS: dict[str, str] = {
    "leak": "a leak was seen",
    "fumes": "fumes or a smell where there should be none",
    "gas_alarm": "the gas meter's alarm went off",
    "clock_over": "the batch has to be out by now",
    **SAID,
}
ASKED: dict[str, str] = {
    "ph": "Read the pH.",
    "level_m": "Read the tank's level.",
    "level": "Read the tank's level.",
    "temperature_k": "Read the solution's temperature.",
    "bubbles": "Look for bubbles in the return.",
    "solids": "Look for solids in the filter.",
    "strength": "Titrate now.",
    "copper": "Faint colour: copper strip now.",
    "what_the_deposit_is": "Ask again what the deposit is: it may not be what acid dissolves.",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to do, why (codes and words), what to read next, and the figures behind it."""

    action: str
    words: str
    reasons: tuple[Saying, ...]
    asks: tuple[Saying, ...]
    batch: int
    used_share: Interval | None = None
    steady: Mapping[str, float] = field(default_factory=dict)
    flow_risen: bool | None = None
    see: str = ""

    @property
    def sayings(self) -> tuple[Saying, ...]:
        urgent = self.action == "stop"
        return (Saying(self.action, self.words, urgent), *self.reasons, *self.asks)


def verdict_of(descale: Descale, now: datetime, until: datetime | None = None) -> Verdict:
    """Go on, fresh batch, reverse, finished, nothing dissolving, or stop: from the log, and by the clock."""
    batches = [one for one in batches_of(descale) if until is None or one.at <= until]
    looks = list(Look.objects.filter(descale=descale).order_by("at", "received_at", "id"))
    looks = [one for one in looks if until is None or one.at <= until]
    running = batches[-1] if batches and batches[-1].out_at is None else None
    stops = [*_of_batch(running, now), *_of_last(looks)]
    sheet = sheet_of_batch(batches[-1]) if batches else None
    judged = _judged(descale, batches, looks, sheet, current_plan(descale))
    asks = [*(judged.asks if judged else ()), *(["copper"] if _faint(looks) else [])]
    said = tuple(Saying(code, ASKED[code]) for code in dict.fromkeys(asks))
    number = len(batches)
    if stops or (judged and judged.action == "stop"):
        codes = dict.fromkeys([*stops, *(judged.reasons if judged and judged.action == "stop" else ())])
        return Verdict("stop", ACTIONS["stop"], tuple(_stop(code) for code in codes), said, number)
    if judged is None:
        return Verdict("go_on", ACTIONS["go_on"], (), said, number)
    reasons = tuple(Saying(code, _capital(end_point.REASONS[code])) for code in judged.reasons)
    see = where_it_is_ranked(descale) if judged.action == "nothing_dissolving" else ""
    return Verdict(judged.action, ACTIONS[judged.action], reasons, said, number, judged.used_share,
                   judged.steady, judged.flow_risen, see)  # fmt: skip


def _judged(
    descale: Descale, batches: Sequence[Batch], looks: Sequence[Look], sheet: CleanerSheet | None,
    plan: DescalePlan | None,
) -> end_point.Judgement | None:  # fmt: skip
    """The engine's judgement; None where nobody can tell what is in the tank, or nothing is."""
    if not batches or sheet is None:
        return None
    start = batches[0].at
    rules = end_point.BathRules(
        acids=sheet.acids,
        start_strength=batches[-1].strength or (plan.strength if plan else None) or sheet.strengths[1],
        renew_below_share=sheet.renew_below_share,
        renewal_ph=sheet.renewal_ph,
        cap_k=cap_k_of(plan, sheet),
        copper_limit_mg_per_l=sheet.copper_limit_mg_per_l,
        iron_limit_mg_per_l=sheet.iron_limit_mg_per_l,
        out_by_s={n: (b.out_by - start).total_seconds() for n, b in enumerate(batches, 1)},
        may_reverse=descale.vent_at_both_tops is True,
    )
    return end_point.judge(_as_looks(looks, batches), rules)


def _as_looks(looks: Sequence[Look], batches: Sequence[Batch]) -> list[end_point.Look]:
    """The engine's looks, in the order of their clocks; each of the batch mixed last before it."""
    found, before = [], 0
    for look in looks:
        rank = BLUES.get(look.colour, 0)
        number = sum(batch.at <= look.at for batch in batches)
        found.append(
            end_point.Look(
                time_s=(look.at - batches[0].at).total_seconds(),
                batch=number,
                ph=look.ph,
                strength=look.strength,
                conductivity_s_per_m=look.conductivity_s_per_m,
                temperature_k=look.temperature_k,
                level_m=look.level_m,
                flow_m3_per_s=look.flow_m3_per_s,
                bubbles=_seen(look.bubbles),
                solids=_seen(look.solids),
                oil=look.oil,
                blue_deepening=bool(look.colour) and 0 < before < rank,
                copper_mg_per_l=look.copper_mg_per_l,
                iron_mg_per_l=look.iron_mg_per_l,
                reversed_now=look.reversed_now,
            )
        )
        before = rank if look.colour else before
    return found


def _seen(amount: str) -> bool | None:
    return None if not amount else amount != "none"


def _of_batch(batch: Batch | None, now: datetime) -> list[str]:
    """Stops that no look has to tell: what the bath is in, and the clock on the wall."""
    if batch is None:
        return []
    unsafe = [code for code in batch.marks if code in SAID]
    return unsafe or (["clock_over"] if now >= batch.out_by else [])


def _of_last(looks: Sequence[Look]) -> list[str]:
    if not looks:
        return []
    last = looks[-1]
    found = [name for name in ("leak", "gas_alarm") if getattr(last, name)]
    return [*found, *(["fumes"] if last.fumes not in ("", "none") else [])]


def _faint(looks: Sequence[Look]) -> bool:
    return bool(looks) and BLUES.get(looks[-1].colour, 0) > 0 and looks[-1].copper_mg_per_l is None


def _stop(code: str) -> Saying:
    words = _capital(MORE_REASONS.get(code) or end_point.REASONS[code])
    return Saying(code, f"{words} {DO_ON_STOP.get(code, '')}".strip(), urgent=True)


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
