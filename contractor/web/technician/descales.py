"""The descale beside the tank: one page of screens, so that all of it comes along without a signal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Subquery
from django.shortcuts import get_object_or_404
from django.utils import timezone

from contractor.accounts.models import Person, Units
from contractor.descales import states, words
from contractor.descales.api.telling import BatchSerializer
from contractor.descales.models import (
    Batch,
    Check,
    Descale,
    DescalePlan,
    EndStep,
    HeldWaste,
    Look,
    NeutralisingPortion,
    SignOff,
)
from contractor.descales.selectors import now_of
from contractor.descales.services import (
    PROVABLE,
    batches_of,
    clocks_running,
    current_plan,
    longest_time_s,
    readings_ranked,
)
from contractor.descales.services.baths import cap_k_of, sheet_of_batch
from contractor.descales.services.checking import kinds_needed
from contractor.descales.services.steps import standing_before
from contractor.register.models import Cleaner, CleanerLot
from contractor.web import quantities
from contractor.web.proofs import proof_of
from contractor.web.technician import fields
from contractor.web.technician.views import CrewPage
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.descaling.neutralising import AGENTS
from diagnostics.engine.records import STRAINER_STATES
from diagnostics.models import Ranking
from reporting.documents.cautions import of_the_refrigerant

HELD = ("valves_hold", "hold_test", "second_hold_test")
RINSES = ("final_rinse",)
SCREENS = {"acid_in": "tank", "rinsing": "end", "in_service": "end", "proved": "end", "certified": "end"}
UNITS = {
    Units.INCH_POUND: {"mass": "lb", "volume": ("gallon", "gal"), "level_units": ("inch", "cm", "mm")},
    Units.SI: {"mass": "kg", "volume": ("L", "L"), "level_units": ("cm", "mm", "inch")},
}


class OneDescale(CrewPage):
    template = "web/technician/descale.html"

    def context(self) -> dict[str, Any]:
        rows = Descale.objects.seen_by(self.person).select_related("exchanger__unit__site", "visit")
        descale = get_object_or_404(rows, pk=self.kwargs["pk"])
        moment = timezone.now()
        now, plan = now_of(self.person, descale, moment), current_plan(descale)
        looks = list(
            Look.objects.filter(descale=descale).select_related("photo").order_by("at", "received_at", "id")
        )
        cleaners = list(Cleaner.objects.seen_by(self.person).in_use())
        units, told = self.person.units, told_in_order(Check.objects.filter(descale=descale))
        return {
            "title": f"Descale of {descale.exchanger.unit.tag}",
            "descale": descale,
            "unit": descale.exchanger.unit,
            "plan": plan,
            "bath": (plan.result or {}).get("bath") if plan else None,
            "of_the_refrigerant": of_the_refrigerant(descale.exchanger.unit.refrigerant),
            "gas": (plan.result or {}).get("gas") if plan else None,
            "rating": descale.exchanger.water_rating_pa_gauge,
            "crew_rings": crew_rings(told),
            "neutralising": (plan.result or {}).get("neutralising") if plan else None,
            "portions_in": NeutralisingPortion.objects.filter(descale=descale).order_by("at", "id"),
            "agents": AGENTS,
            "standing": standing_before(descale),
            "strainer_states": STRAINER_STATES,
            "strainer_is_due": bool(now["strainer_due"] and now["strainer_due"].due_at <= moment),
            "now": now,
            "checks": checks_of(told, plan),
            "ends": steps(words.END_STEPS, told_in_order(EndStep.objects.filter(descale=descale))),
            "cleaners": cleaners,
            "lots": lots_of(self.person, plan, moment.astimezone(descale.exchanger.unit.site.zone).date()),
            "ranking": ranking_of(self.person, descale),
            "looks_log": looks[::-1],
            "baths": batches_of(descale),
            "others": [one for one in clocks_running(self.person) if one.descale != descale],
            "colours": words.COLOURS,
            "amounts": words.AMOUNTS,
            "fumes": words.FUMES,
            "waters": words.WATERS,
            "routes": words.ROUTES,
            "could_not": words.COULD_NOT,
            "may_not_do": any(
                (move.start, move.end) == (descale.state, "could_not_do") for move in states.MOVES
            ),
            "held": HeldWaste.objects.filter(descale=descale, collected_at__isnull=True).order_by("at", "id"),
            "may_prove": descale.state in PROVABLE,
            "proof_told": proof_of(descale).get("proof_told"),
            "signed": SignOff.objects.filter(descale=descale).order_by("at", "id"),
            "facts": {
                **facts_of(self.person, descale, plan, looks),
                "labels": labels_of(self.person, descale, plan, cleaners),
                "due": due_of(now),
            },
            "gauge": fields.field("head_pressure", units).units[0],
            "flow": fields.field("water_flow", units).units[0],
            "temperature": fields.field("entering_water", units).units,
            **UNITS[Units(units)],
        }


def told_in_order(rows: Any) -> list[Any]:
    return list(rows.order_by("at", "received_at", "id"))


def crew_rings(told: Sequence[Check]) -> str:
    """The number that the crew told with its checks, last; "" for none."""
    return next((one.emergency_phone for one in reversed(told) if one.emergency_phone), "")


def steps(known: dict[str, str], told: Sequence[Any]) -> list[dict[str, Any]]:
    """Each in its order, with what was last told of it."""
    latest = {row.kind: row for row in told}
    return [
        {
            "kind": kind,
            "words": said,
            "asks": words.ASKS.get(kind, words.REMARK),
            "outcome": latest[kind].outcome if kind in latest else "",
            "told": latest[kind].told if kind in latest else "",
            "may_skip": kind in words.NOT_NEEDED_MAY_BE,
            "never_waived": kind in words.NEVER_WAIVED,
            "held": kind in HELD,
            "rinse": kind in RINSES,
        }
        for kind, said in known.items()
    ]


def checks_of(told: Sequence[Check], plan: DescalePlan | None) -> list[dict[str, Any]]:
    """Those that the plan asks for, and whatever was recorded besides; each with what comes before it."""
    kept = {row.kind for row in told}
    needed = [kind for kind in words.CHECKS if kind in kinds_needed(plan) or kind in kept]
    first = {kind: [one for one in words.COMES_AFTER.get(kind, ()) if one in needed] for kind in needed}
    listed = steps({kind: words.CHECKS[kind] for kind in needed}, told)
    return [
        {**step, "first": [{"kind": one, "words": words.CHECKS[one]} for one in first[step["kind"]]]}
        for step in listed
    ]


@dataclass(frozen=True, slots=True)
class Offered:
    """A lot in stock. `likely` where it is the only one of the plan's cleaner that has not lapsed."""

    lot: CleanerLot
    lapsed: bool
    likely: bool


def lots_of(person: Person, plan: DescalePlan | None, day: date) -> list[Offered]:
    """What is in stock, the plan's cleaner first."""
    lots = CleanerLot.objects.seen_by(person).in_use().select_related("cleaner")
    planned = plan.cleaner_id if plan else None
    found = sorted(
        lots.order_by("cleaner__name", "expires_on", "lot"), key=lambda one: one.cleaner_id != planned
    )
    good = [one for one in found if one.cleaner_id == planned and not lapsed_on(one, day)]
    return [Offered(one, lapsed_on(one, day), good == [one]) for one in found]


def lapsed_on(lot: CleanerLot, day: date) -> bool:
    return lot.expires_on is not None and lot.expires_on < day


def ranking_of(person: Person, descale: Descale) -> Ranking | None:
    """What is wrong and how sure, as ranked of the readings before."""
    before = Subquery(readings_ranked(descale).values("pk")[:1])
    rows = Ranking.objects.seen_by(person).current().select_related("reading")
    return rows.filter(reading=before).first()


def facts_of(person: Person, descale: Descale, plan: Any, looks: list[Look]) -> dict[str, Any]:
    """What the phone's own stop rules and clocks go by."""
    batches = batches_of(descale)
    sheet = sheet_of_batch(batches[-1]) if batches else None
    cleaner = batches[-1].cleaner if batches and batches[-1].cleaner else plan.cleaner if plan else None
    return {
        "descale": str(descale.pk),
        "tag": descale.exchanger.unit.tag,
        "unit": str(descale.exchanger.unit_id),
        "exchanger": str(descale.exchanger_id),
        "provable": PROVABLE,
        "screen": SCREENS.get(descale.state, "checks"),
        "limits": {
            **label_of(person, plan, cleaner, sheet),
            "start_strength": strength_at_start(batches, plan, sheet),
        },
        "batches": [clock_of(batch) for batch in batches],
        "looks": [look_of(look) for look in looks],
    }


def label_of(
    person: Person, plan: Any, cleaner: Cleaner | None, sheet: CleanerSheet | None
) -> dict[str, Any]:
    """What the label of a cleaner sets stops by, within the plan."""
    cap = cap_k_of(plan, sheet)
    return {
        "cap_k": cap,
        "cap_words": quantities.in_words(cap, "temperature", person.units, mark=person.decimal_mark),
        "copper_mg_per_l": cleaner.copper_limit_mg_per_l if cleaner else None,
        "iron_mg_per_l": cleaner.iron_limit_mg_per_l if cleaner else None,
        "strength_per_drop": cleaner.strength_per_drop if cleaner else None,
    }


def labels_of(person: Person, descale: Descale, plan: Any, cleaners: Sequence[Cleaner]) -> dict[str, Any]:
    """Of every cleaner in use, for a bath that is mixed without a signal; of drafts nothing is known."""
    return {
        str(one.pk): {
            "longest_time_s": longest_time_s(descale, plan, one),
            "limits": label_of(person, plan, one, sheet_of_batch(Batch(cleaner=one))),
        }
        for one in cleaners
    }


def strength_at_start(batches: list[Batch], plan: DescalePlan | None, sheet: CleanerSheet | None) -> Any:
    """As the service judges by: of the batch, else of the plan, else the label's usual."""
    mixed = batches[-1].strength if batches else None
    return mixed or (plan.strength if plan else None) or (sheet.strengths[1] if sheet else None)


def due_of(now: dict[str, Any]) -> dict[str, str] | None:
    """What is due next at the bath that is in, as the service says."""
    for one in now["next_looks"][-1:]:
        return {"look_at": one.look_at.isoformat(), "titrate_by": one.titrate_by.isoformat()}
    return None


def clock_of(batch: Any) -> dict[str, Any]:
    kept = BatchSerializer(batch).data
    return {name: kept[name] for name in ("id", "at", "out_by", "out_at", "cleaner")}


def look_of(look: Look) -> dict[str, Any]:
    names = ("colour", "fumes", "oil", "leak", "gas_alarm", "temperature_k", "level_m", "copper_mg_per_l",
             "iron_mg_per_l", "bubbles", "strength", "drops")  # fmt: skip
    return {"at": look.at.isoformat(), **{name: getattr(look, name) for name in names}}
