"""Gathers what a descale's papers say from its records, in a few queries that do not grow with its log."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.urls import NoReverseMatch, reverse

from contractor.descales.models import (
    Batch,
    Descale,
    DescalePlan,
    Discharge,
    EndStep,
    HeldWaste,
    Look,
    SignOff,
    Verification,
)
from contractor.descales.services import batches_of, dissolved_by_titration
from contractor.descales.words import END_STEPS
from contractor.register.models import Cleaner, Site
from contractor.register.sheets import acid_names, missing_papers
from diagnostics.answers import interval_of
from diagnostics.engine.records import Interval
from diagnostics.selectors import stands_in_chilled_water
from reporting.documents import amounts, words
from reporting.documents.job_facts import (
    Certificate,
    Chemical,
    ClientNotice,
    Compared,
    Dose,
    JobSheet,
    Kept,
    LetOut,
    Limits,
    Mixed,
    Modelled,
    Place,
    Proof,
    Signature,
    Step,
)
from reporting.documents.results import scaled_by

WITH_EVERYTHING = ("exchanger__unit__site__customer", "visit")


def job_sheet_of(descale: Descale, plan: DescalePlan) -> JobSheet:
    """The sheet of a plan that nothing refuses."""
    unit, result = descale.exchanger.unit, plan.result
    site, zone = unit.site, unit.site.time_zone
    visit = descale.visit
    starts = visit.window_start if visit else None
    gas, rinsing, neutral = result["gas"], result["rinsing"], result["neutralising"]
    batches = [] if not plan.stands else batches_of(descale)
    circulation = result.get("circulation") or {}
    surface = neutral.get("surface_kg")
    return JobSheet(
        place=place_of(descale),
        chemical=chemical_of(plan.cleaner, site.time_zone),
        dose=_dose(result),
        limits=_limits(site, result),
        plan=plan.inputs_digest,
        address_of_job=address_of(descale),
        starts_at=words.local(starts, zone) if starts else None,
        crew=tuple(sorted(person.name for person in visit.crew.all())) if visit else (),
        mixed=tuple((words.local(b.at, zone), words.local(b.out_by, zone)) for b in batches),
        looks_min=tuple(result["clock"]["looks_min"]),
        kit=tuple(result["kit"]),
        steps=tuple(Step(s["stage"], s["words"], bool(s["never_waived"])) for s in result["steps"]),
        deposit_kg=interval_of(result["deposit"]["mass_kg"]),
        neutraliser=neutral["agent"],
        neutralise_bath_kg=Interval(neutral["bath_kg"], neutral["bath_kg"], neutral["bath_at_most_kg"]),
        neutralise_surface_kg=surface,
        rinses=rinsing["rinses"],
        rinse_m3=rinsing["rinse_m3"],
        waste_m3=result["waste"]["volume_m3"],
        gas_m3=gas["from_dissolving_m3"] + gas["from_neutralising_m3"],
        gas_share=gas["share_of_room"],
        room=gas["room"],
        pump=circulation.get("pump", ""),
        flow_wanted_m3_per_s=circulation.get("flow_wanted_m3_per_s"),
        flow_reached_m3_per_s=circulation.get("flow_m3_per_s"),
        sound_level_db=result["noise"]["sound_level_db"],
        quiet_hours=_quiet_hours(site, agreed=bool(result["noise"]["quiet_agreed"])),
        treatments=_treatments(site) if result.get("flush_until_none") else (),
        emergency_phone=site.emergency_number,
        eyewash=site.eyewash_place,
        safety_notes=" ".join(filter(None, [site.safety_notes.strip(), unit.safety_notes.strip()])),
        balancing_valve=descale.exchanger.balancing_valve_position,
    )


def place_of(descale: Descale) -> Place:
    exchanger = descale.exchanger
    unit, site = exchanger.unit, exchanger.unit.site
    return Place(
        contractor=settings.CONTRACTOR_NAME,
        customer=site.customer.name,
        site=site.name,
        unit=unit.tag,
        address=site.address,
        place=unit.place,
        exchanger=exchanger.name if exchanger.name != "1" else "",
        exchanger_kind=exchanger.kind,
        metal=exchanger.metal,
        refrigerant=unit.refrigerant,
        antifreeze=site.antifreeze,
        water_source="" if stands_in_chilled_water(exchanger) else site.water_source,
    )


def chemical_of(cleaner: Cleaner, zone: str) -> Chemical:
    return Chemical(
        name=cleaner.name,
        acids=acid_names(cleaner),
        form=cleaner.form,
        protection=tuple(cleaner.protection),
        first_aid=cleaner.first_aid,
        supplier_phone=cleaner.emergency_phone,
        fresh_colour=cleaner.fresh_colour,
        disposal=cleaner.disposal,
        label_on=_date(cleaner.label_on),
        safety_sheet_on=_date(cleaner.safety_sheet_on) if cleaner.safety_sheet else "",
        missing_papers=tuple(name for name in missing_papers(cleaner) if not name.endswith("_on")),
        copper_limit_mg_per_l=cleaner.copper_limit_mg_per_l,
        iron_limit_mg_per_l=cleaner.iron_limit_mg_per_l,
    )


def address_of(descale: Descale) -> str:
    """Where the job's page is. The host is the first that the service answers to."""
    host = settings.ALLOWED_HOSTS[0] if settings.ALLOWED_HOSTS else "localhost"
    try:
        path = reverse("web:descale", args=[descale.pk])
    except NoReverseMatch:
        path = f"/api/v1/descales/{descale.pk}/"
    return f"https://{host}{path}"


def _dose(result: dict[str, Any]) -> Dose:
    bath, count = result["bath"], result.get("batches")
    return Dose(
        strength=bath["strength"],
        solution_m3=bath["solution_m3"],
        water_m3=bath["water_m3"],
        product_kg=bath["product_kg"],
        product_m3=bath["product_m3"],
        portions_kg=tuple(bath["portions_kg"]),
        batches=(count["fewest"], count["likely"], count["most"]) if count else None,
        enough=result.get("enough", ""),
    )


def _limits(site: Site, result: dict[str, Any]) -> Limits:
    cap, waste = result["temperature_cap"], result["waste"]
    return Limits(
        cap_k=cap["temperature_k"],
        cap_because=cap["because"],
        batch_time=timedelta(minutes=result["clock"]["out_by_min"]),
        route=waste["route"] if site.discharge_route else "",
        permit=waste["permit"],
        discharge=_site_limits(site),
        against=tuple(waste["against"]),
    )


def _site_limits(site: Site) -> tuple[tuple[str, str], ...]:
    found = []
    if site.discharge_ph_low is not None or site.discharge_ph_high is not None:
        low, high = site.discharge_ph_low or 5.0, site.discharge_ph_high or 11.0
        found.append(("pH", f"{words.number(low, 2)} to {words.number(high, 2)}"))
    for name in ("copper", "iron", "zinc", "solids"):
        most = getattr(site, f"discharge_{name}_mg_per_l")
        if most is not None:
            found.append((name, f"at most {words.number(most, 2)} mg/L"))
    if site.discharge_highest_k is not None:
        found.append(("temperature", f"at most {amounts.temperature(site.discharge_highest_k)}"))
    return tuple(found)


def _quiet_hours(site: Site, *, agreed: bool) -> str:
    if site.quiet_from is None or site.quiet_until is None:
        return ""
    hours = f"quiet hours {site.quiet_from:%H:%M} to {site.quiet_until:%H:%M}"
    return f"{hours}; the customer agrees to the pump's noise then" if agreed else f"{hours} are kept"


def _treatments(site: Site) -> tuple[str, ...]:
    latest = site.water_tests.filter(retired_at__isnull=True).order_by("-taken_at").first()
    return tuple(name for name in latest.treatments if name != "none") if latest else ()


def _date(day: Any) -> str:
    return f"{day.day} {words.MONTHS[day.month - 1]} {day.year}" if day else ""


def certificate_of(descale: Descale) -> Certificate:
    """What happened, from its records: used, came out, let out or held, proved, signed."""
    zone = descale.exchanger.unit.site.time_zone
    batches = batches_of(descale)
    steps = list(EndStep.objects.filter(descale=descale).order_by("at", "received_at"))
    started = batches[0].at if batches else descale.created_at
    ended = steps[-1].at if steps else None
    visit = descale.visit
    dissolved = dissolved_by_titration(descale)
    return Certificate(
        place=place_of(descale),
        number=str(descale.pk),
        started_at=words.local(started, zone),
        ended_at=words.local(ended, zone) if ended else None,
        called="finished" if descale.end_called_at else "not_called",
        crew=tuple(sorted(person.name for person in visit.crew.all())) if visit else (),
        batches=tuple(_mixed(one, zone) for one in batches),
        seen=_seen(Look.objects.filter(descale=descale).order_by("at")),
        let_out=tuple(
            _let_out(one, zone) for one in Discharge.objects.filter(descale=descale).order_by("at")
        ),
        kept=tuple(_held(one, zone) for one in HeldWaste.objects.filter(descale=descale).still_there()),
        proof=_proof(descale, zone),
        dissolved_kg=dissolved.mass_kg if dissolved else None,
        titrated=(dissolved.titrated, dissolved.batches) if dissolved else (0, 0),
        rinsed=_rinsed(steps),
        left_open=_left_open(steps),
        signatures=_signatures(descale, zone),
        emergency_phone=descale.exchanger.unit.site.emergency_number,
    )


def _mixed(batch: Batch, zone: str) -> Mixed:
    lot = batch.lot
    return Mixed(
        product=batch.cleaner.name if batch.cleaner else "a cleaner that nobody could name",
        lot=lot.lot if lot else "",
        expires=_date(lot.expires_on) if lot else "",
        strength=batch.strength,
        mixed_at=words.local(batch.at, zone),
        out_at=words.local(batch.out_at, zone) if batch.out_at else None,
        product_kg=batch.product_kg,
        water_m3=batch.water_m3,
    )


def _seen(looks: Iterable[Look]) -> tuple[str, ...]:
    """What was seen of the deposit and the metals over the whole log."""
    rows = list(looks)
    told = []
    for name in ("bubbles", "solids"):
        seen = [getattr(row, name) for row in rows if getattr(row, name)]
        if seen:
            shown = sum(one != "none" for one in seen)
            told.append(f"{name} at {shown} of {len(seen)} looks")
    for name in ("copper", "iron"):
        values = [v for row in rows if (v := getattr(row, f"{name}_mg_per_l")) is not None]
        if values:
            told.append(f"{name} in the bath at most {words.number(max(values), 2)} mg/L")
    return tuple(told)


def _let_out(row: Discharge, zone: str) -> LetOut:
    return LetOut(
        at=words.local(row.at, zone),
        water=row.water,
        route=row.route,
        volume_m3=row.volume_m3,
        ph=row.ph,
        copper_mg_per_l=row.copper_mg_per_l,
        iron_mg_per_l=row.iron_mg_per_l,
        zinc_mg_per_l=row.zinc_mg_per_l,
        solids_mg_per_l=row.solids_mg_per_l,
        permit=row.permit_reference,
        exceedances=tuple(str(one) for one in row.exceedances),
    )


def _held(row: HeldWaste, zone: str) -> Kept:
    return Kept(words.local(row.at, zone), row.water, row.where, row.whose, row.volume_m3)


def _rinsed(steps: list[EndStep]) -> str:
    last = next((one for one in reversed(steps) if one.kind == "final_rinse" and one.outcome == "done"), None)
    if last is None:
        return ""
    told = [f"final rinse of {amounts.lasting(timedelta(seconds=last.duration_s))}" if last.duration_s else
            "final rinse"]  # fmt: skip
    if last.ph is not None:
        supply = (
            f", the supply's being {words.fixed(last.supply_ph, 1)}" if last.supply_ph is not None else ""
        )
        told.append(f"until pH {words.fixed(last.ph, 1)}{supply}")
    return " ".join(told)


def _left_open(steps: list[EndStep]) -> tuple[str, ...]:
    latest = {one.kind: one for one in steps}
    return tuple(
        f"{END_STEPS.get(one.kind, words.plain_name(one.kind))}: {one.told or one.note}"
        for one in latest.values()
        if one.outcome == "left_open"
    )


def _signatures(descale: Descale, zone: str) -> tuple[Signature, ...]:
    latest = {row.signs_as: row for row in SignOff.objects.filter(descale=descale).order_by("at")}
    return tuple(
        Signature(row.signs_as, row.name, words.local(row.at, zone),
                  tuple(tuple((float(x), float(y)) for x, y in stroke) for stroke in row.strokes))
        for row in (latest[name] for name in ("customer", "technician") if name in latest)
    )  # fmt: skip


READ = {
    "head_pressure": ("Head pressure, absolute", "kPa", 1e-3),
    "suction_pressure": ("Suction pressure, absolute", "kPa", 1e-3),
    "power": ("Compressor power", "kW", 1e-3),
    "heat": ("Heat to or from the water", "kW", 1e-3),
}


def _proof(descale: Descale, zone: str) -> Proof | None:
    rows = Verification.objects.filter(descale=descale, superseded_at__isnull=True)
    row = rows.select_related("before", "after").first()
    if row is None:
        return None
    result, limit, removed = row.result, row.result.get("limit"), _three(row)
    area = _area_of(removed, interval_of(result.get("removed_m2k_per_w")))
    by = area or 1.0
    return Proof(
        before_at=words.local(row.before.taken_at, zone),
        after_at=words.local(row.after.taken_at, zone),
        improved=result.get("improved", "not_known"),
        unit="K/W" if area is None else "m2K/W",
        before=_times(interval_of(result.get("before_k_per_w")), by),
        after=_times(interval_of(result.get("after_k_per_w")), by),
        removed=_times(removed, by),
        limit=_limit_in(limit, area),
        probability_improved=row.probability_improved,
        probability_below_limit=row.probability_below_limit,
        lockout_cleared=row.lockout_cleared,
        reference=row.reference,
        cautions=tuple(one["text"] for one in result.get("cautions", [])),
        compared=_compared(result),
        modelled=_modelled(result.get("equal_conditions")),
        modelled_at_k=(result.get("equal_conditions") or {}).get("entering_water_k"),
        area_m2=area,
    )


def _area_of(whole: Interval | None, by_area: Interval | None) -> float | None:
    """The wetted area [m2] that the comparison was made with: one value told in K/W and in m2K/W."""
    if whole is None or by_area is None or whole.high == whole.low:
        return None
    return (by_area.high - by_area.low) / (whole.high - whole.low)


def _times(value: Interval | None, factor: float) -> Interval | None:
    return None if value is None else scaled_by(value, factor)


def _limit_in(limit: dict[str, Any] | None, area_m2: float | None) -> float | None:
    """The limit in the unit that the resistances are told in; None where it cannot be brought to it."""
    if limit is None:
        return None
    if area_m2 is None:
        return float(limit["value"]) if limit["unit"] == "K/W" else None
    return float(limit["value"]) * (area_m2 if limit["unit"] == "K/W" else 1.0)


def _three(row: Verification) -> Interval | None:
    if row.removed_k_per_w is None or row.removed_low_k_per_w is None or row.removed_high_k_per_w is None:
        return None
    return Interval(row.removed_k_per_w, row.removed_low_k_per_w, row.removed_high_k_per_w)


def _modelled(found: dict[str, Any] | None) -> tuple[Modelled, ...]:
    if found is None:
        return ()
    told = []
    for key, name in (("capacity", "Capacity"), ("power", "Compressor power")):
        change = interval_of(found[f"{key}_w"])
        if change is not None:
            before, after = found[f"{key}_before_w"] * 1e-3, found[f"{key}_after_w"] * 1e-3
            told.append(Modelled(name, before, after, scaled_by(change, 1e-3), "kW"))
    return tuple(told)


def _compared(result: dict[str, Any]) -> tuple[Compared, ...]:
    found = []
    for key, (name, unit, factor) in READ.items():
        pair = result.get(key)
        if pair:
            found.append(Compared(name, pair["before"] * factor, pair["after"] * factor, unit))
    return tuple(found)


def notice_of(descale: Descale) -> ClientNotice | None:
    """The latest notice that the office recorded; None where there is none."""
    notice = descale.notices.order_by("-at").first()
    if notice is None:
        return None
    site = descale.exchanger.unit.site
    plan = descale.plans.filter(superseded_at__isnull=True).select_related("cleaner").first()
    chemical = chemical_of(plan.cleaner, site.time_zone) if plan else None
    return ClientNotice(
        place=place_of(descale),
        chemical=_named(notice.chemical, chemical, plan),
        starts_at=words.local(notice.work_starts_at, site.time_zone),
        hours_without_cooling=notice.hours_without_cooling,
        noise=notice.noise,
        others_affected="" if notice.others_affected.strip().lower() == "none" else notice.others_affected,
        sent_to=notice.sent_to,
        safety_sheet_on=chemical.safety_sheet_on if chemical else "",
        protection=chemical.protection if chemical else (),
        first_aid=chemical.first_aid if chemical else "",
        number=str(descale.pk),
        disposal=chemical.disposal if chemical else "",
        emergency_phone=site.emergency_number,
    )


def _named(told: str, chemical: Chemical | None, plan: DescalePlan | None) -> str:
    if chemical is None or plan is None or plan.strength is None:
        return told
    acid = amounts.acid_names(chemical.acids)
    return f"{told}: {acid}, about {amounts.per_cent(plan.strength)} in water"


def changed_since(descale: Descale, kind: str, moment: datetime) -> bool:
    """Whether what a paper of this kind rests on was written anew after it was prepared."""
    if kind == "certificate":
        after = [
            Verification.objects.filter(descale=descale, superseded_at__isnull=True, made_at__gt=moment),
            *(
                model.objects.filter(descale=descale, received_at__gt=moment)
                for model in (Batch, EndStep, Discharge, HeldWaste, SignOff, Look)
            ),
        ]
        return any(rows.exists() for rows in after)
    rows = descale.notices if kind == "notice" else descale.plans.filter(superseded_at__isnull=True)
    when = "at__gt" if kind == "notice" else "made_at__gt"
    return bool(rows.filter(**{when: moment}).exists())
