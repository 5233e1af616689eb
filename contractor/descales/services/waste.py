"""What leaves the tank: let out within limits or beyond them, or held until somebody fetches it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.core.files.base import File
from django.db import transaction

from contractor.accounts.models import Person
from contractor.descales.models import Descale, Discharge, HeldWaste
from contractor.descales.quantities import DISCHARGE, HELD_WASTE
from contractor.descales.services.rules import (
    Saying,
    Told,
    alarm,
    held,
    keep,
    mark,
    refuse_unless_crew,
    refuse_unless_office,
)
from contractor.register import papers
from contractor.register.services import rows
from contractor.register.sheets import site_limits
from contractor.visits.services.rules import reason_given
from diagnostics.engine.descaling.discharge import LOWEST_SEWER_PH, NEVER, SiteLimits, reasons_against

MEASURED = ("copper", "iron", "zinc", "solids")
WARM_K = 298.15


@transaction.atomic
def record_discharge(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep what was let out and where. Outside the limits it is an exceedance; the office hears of it."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    discharge = Discharge(**{k: v for k, v in given.items() if k != "as_typed"})
    discharge, new = keep(by, row, discharge, DISCHARGE, given.get("as_typed") or {}, now)
    if new:
        _judge(discharge, row)
        if discharge.exceedances:
            mark(discharge, "exceedance")
            words = "; ".join(discharge.exceedances)
            alarm(row, "exceedance", f"{row.exchanger}: let out beyond the limits. {words}", by)
        discharge.save()
        if discharge.held is not None and discharge.held.collected_at is None:
            gone = {"collected_at": discharge.at, "collected_by": "let out on site"}
            rows.change(HeldWaste.objects.get(pk=discharge.held.pk), gone)
    return Told(discharge, _sayings(discharge), new)


@transaction.atomic
def attach_acceptance(
    by: Person, discharge: Discharge, upload: File[bytes], until: date | None = None
) -> Discharge:
    """Keep what works or authority wrote for this discharge, and judge it anew. That it stood as an
    exceedance stays in its marks and in the trail. One that had ended by then does not count."""
    refuse_unless_crew(by, held(discharge.descale))
    row = Discharge.objects.select_for_update().get(pk=discharge.pk)
    row.acceptance_read_by = by
    if until is not None:
        row.acceptance_until = until
    papers.attach(row, "acceptance", upload)
    _judge(row, row.descale)
    row.save()
    return row


def may_discharge(descale: Descale, route: str, ph: float | None, temperature_k: float | None,
                  found_mg_per_l: Mapping[str, float | None]) -> tuple[str, ...]:  # fmt: skip
    """What stands against letting it out, asked before it is done; empty where nothing does."""
    limits = site_limits(descale.exchanger.unit.site)
    if ph is None and route not in (*NEVER, "licensed_haulage"):
        return ("the pH has not been read",)
    return reasons_against(route, ph or 0.0, temperature_k or WARM_K, limits, found_mg_per_l)


@transaction.atomic
def hold_waste(by: Person, descale: Descale, fields: Mapping[str, Any], now: datetime) -> Told:
    """Keep where a bath stands, and who answers for it."""
    row = held(descale)
    refuse_unless_crew(by, row)
    given = dict(fields)
    waste = HeldWaste(**{k: v for k, v in given.items() if k != "as_typed"})
    waste, new = keep(by, row, waste, HELD_WASTE, given.get("as_typed") or {}, now)
    words = "Label it: contents, pH, date, whose. Closed, upright, bunded, apart from bleach and alkali."
    return Told(waste, (Saying("label_it", words),), new)


@transaction.atomic
def waste_collected(by: Person, waste: HeldWaste, who: str, at: datetime) -> HeldWaste:
    """Somebody fetched it: who, with the reference of their paper."""
    refuse_unless_office(by)
    row = HeldWaste.objects.select_for_update().get(pk=waste.pk)
    if row.collected_at is None:
        rows.change(row, {"collected_at": at, "collected_by": reason_given(who, "/who")[:200]})
    return row


def baths_unaccounted(descale: Descale) -> int:
    """Baths that were mixed and neither let out nor held, as far as anybody told."""
    told = Discharge.objects.filter(descale=descale, water="bath", held__isnull=True).count()
    told += HeldWaste.objects.filter(descale=descale, water="bath").count()
    return max(descale.batch_set.count() - told, 0)


def _judge(discharge: Discharge, descale: Descale) -> None:
    day, until = discharge.at.astimezone(descale.exchanger.unit.site.zone).date(), discharge.acceptance_until
    holds = until is None or day <= until
    accepted = bool(discharge.acid_document.strip() and discharge.acceptance and holds)
    limits = site_limits(descale.exchanger.unit.site, accepted=accepted)
    discharge.limits = _as_json(limits)
    discharge.exceedances = list(_against(discharge, limits))


def _against(discharge: Discharge, limits: SiteLimits) -> tuple[str, ...]:
    if discharge.ph is None and discharge.route == "sewer":
        return ("the pH was not read",)
    found = {name: getattr(discharge, f"{name}_mg_per_l") for name in MEASURED}
    temperature = WARM_K if discharge.temperature_k is None else discharge.temperature_k
    # what was let out of plain flush water is judged by the same limits: metals and solids count there too
    return reasons_against(discharge.route, discharge.ph or 0.0, temperature, limits, found)


def _sayings(discharge: Discharge) -> tuple[Saying, ...]:
    if not discharge.exceedances:
        return ()
    words = "Stop letting out; the office tells the authority: " + "; ".join(discharge.exceedances)
    found = [Saying("exceedance", f"{words}.", urgent=True)]
    if discharge.route in NEVER:
        found.append(Saying("dam_the_drain", "Dam the drain, catch what still can be caught.", urgent=True))
    elif discharge.ph is not None and discharge.ph < LOWEST_SEWER_PH:
        found.append(Saying("neutralise", "Neutralise what is left, in portions, pH read between."))
    return tuple(found)


def _as_json(limits: SiteLimits) -> dict[str, Any]:
    return {
        "lowest_ph": limits.lowest_ph,
        "highest_ph": limits.highest_ph,
        "hottest_k": limits.hottest_k,
        "mg_per_l": dict(limits.concentrations_mg_per_l),
        "works_takes_acid": limits.works_designed_for_acid,
    }
