"""From the register's rows to what the engine reckons with, and what a row still lacks for that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from contractor.http.problem_types import declare
from contractor.http.problems import Problem
from contractor.register.models import NOT_FITTED, RIG_PARTS, WETTED_PARTS, Cleaner, Exchanger, Rig, Site
from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.cleaners import CLEANERS, CleanerSheet
from diagnostics.engine.descaling.discharge import HAZARDOUS_PH, SiteLimits
from diagnostics.engine.descaling.metals import MATERIALS, STATES, compatibility, strictest
from diagnostics.engine.hydraulics import pressure_of_height_pa
from diagnostics.engine.pumps import PumpCurve, curve_through

COMPULSORY = (
    "acids", "form", "product_strength", "strength_low", "strength_usual", "strength_high",
    "renew_below_share", "inhibited", "highest_temperature_k", "longest_time_s", "copper_limit_mg_per_l",
    "iron_limit_mg_per_l", "protection", "neutralisers", "disposal", "storage",
)  # fmt: skip
PAPERS = ("label", "label_on", "safety_sheet", "safety_sheet_on")
PAPER_GOOD_FOR = timedelta(days=5 * 365 + 2)
"""A safety data sheet is looked through every five years at least (model WHS Regulations of Australia, 330,
from memory; other countries want it at any change); the label is held to the same: common practice."""
declare("sheet-incomplete", 409, "The cleaner's sheet is incomplete",
        "Fill in what the label and the safety data sheet say; nobody plans with a draft.")  # fmt: skip


def missing_fields(cleaner: Cleaner) -> tuple[str, ...]:
    """The compulsory columns that a cleaner lacks; empty where it can be planned with."""
    missing = [name for name in COMPULSORY if getattr(cleaner, name) in (None, "", [])]
    if cleaner.form == "liquid" and cleaner.product_density_kg_per_m3 is None:
        missing.append("product_density_kg_per_m3")
    if cleaner.renewal_ph is None and any(_is_weak(name) for name in acid_names(cleaner)):
        missing.append("renewal_ph")
    if not cleaner.metals_allowed and not cleaner.metals_only_inhibited:
        missing.append("metals_allowed")
    return tuple(missing)


def missing_papers(cleaner: Cleaner) -> tuple[str, ...]:
    """Label and safety data sheet, and their dates, that are not on file: asked for before acid."""
    return tuple(name for name in PAPERS if not getattr(cleaner, name))


def lapsed_papers(cleaner: Cleaner, day: date) -> tuple[str, ...]:
    """What is too old on this day, or dated after it, in words with its date."""
    found = []
    for name in ("label", "safety_sheet"):
        dated = getattr(cleaner, f"{name}_on")
        if dated is not None and not day - PAPER_GOOD_FOR <= dated <= day:
            found.append(f"{name.replace('_', ' ')} of {dated}")
    return tuple(found)


def acid_names(cleaner: Cleaner) -> tuple[str, ...]:
    return tuple(one["acid"] for one in cleaner.acids)


def sheet_of(cleaner: Cleaner) -> CleanerSheet:
    """The sheet the engine reckons with; a Problem that lists what is missing where it is a draft.

    What the sheet does not list at all counts as forbidden by it.
    """
    if missing := missing_fields(cleaner):
        detail = f"{cleaner} cannot be planned with: its sheet lacks {', '.join(missing)}."
        errors = [{"pointer": f"/{name}", "detail": "Missing on the sheet."} for name in missing]
        raise Problem("sheet-incomplete", detail, errors=errors)
    row: Any = cleaner  # nothing compulsory is None here
    return CleanerSheet(
        name=row.name,
        acids=acid_names(cleaner),
        acid_shares=tuple(float(one["share"]) for one in row.acids),
        form=row.form,
        product_strength=row.product_strength,
        product_density_kg_per_m3=row.product_density_kg_per_m3,
        strengths=(row.strength_low, row.strength_usual, row.strength_high),
        renew_below_share=row.renew_below_share,
        renewal_ph=row.renewal_ph,
        inhibited=row.inhibited,
        highest_temperature_k=row.highest_temperature_k,
        longest_time_s=row.longest_time_s,
        copper_limit_mg_per_l=row.copper_limit_mg_per_l,
        iron_limit_mg_per_l=row.iron_limit_mg_per_l,
        neutralisers=tuple(row.neutralisers),
        protection=tuple(row.protection),
        forbids=forbidden_by_sheet(cleaner),
        disposal=row.disposal,
        storage=row.storage,
        sources=tuple(sorted(row.sources.items())),
    )


def forbidden_by_sheet(cleaner: Cleaner) -> tuple[str, ...]:
    """Materials that the sheet forbids, does not list, or allows only inhibited while it is not."""
    usable = {*cleaner.metals_allowed}
    if cleaner.inhibited:
        usable |= {*cleaner.metals_only_inhibited}
    usable -= {*cleaner.metals_forbidden}
    return tuple(one for one in MATERIALS if one not in usable)


def against_the_table(cleaner: Cleaner) -> Iterator[dict[str, object]]:
    """Where a sheet allows what the table of metals and acids does not: it may forbid more, never less."""
    for column, most in (("metals_allowed", "allowed"), ("metals_only_inhibited", "only_inhibited")):
        for material in getattr(cleaner, column):
            for name in acid_names(cleaner):
                row = compatibility(material, name)
                if STATES.index(row.state) > STATES.index(most):
                    where = "metals_forbidden" if row.state == "forbidden" else "metals_only_inhibited"
                    yield {"pointer": f"/{column}",
                           "detail": f"{name} acid on {material.replace('_', ' ')}: {row.reason} "
                                     f"({row.source}); expected it under {where}."}  # fmt: skip


def generic_fields(sheet: CleanerSheet) -> dict[str, Any]:
    """A generic sheet of the engine as columns of a cleaner, with the source of each property."""
    low, usual, high = sheet.strengths
    return {
        "name": f"{sheet.name.replace('_', ' ')} (generic)",
        "acids": [_acid_row(name, share) for name, share in zip(sheet.acids, sheet.acid_shares, strict=True)],
        "form": sheet.form,
        "product_strength": sheet.product_strength,
        "product_density_kg_per_m3": sheet.product_density_kg_per_m3,
        "strength_low": low,
        "strength_usual": usual,
        "strength_high": high,
        "renew_below_share": sheet.renew_below_share,
        "renewal_ph": sheet.renewal_ph,
        "inhibited": sheet.inhibited,
        "highest_temperature_k": sheet.highest_temperature_k,
        "longest_time_s": sheet.longest_time_s,
        "copper_limit_mg_per_l": sheet.copper_limit_mg_per_l,
        "iron_limit_mg_per_l": sheet.iron_limit_mg_per_l,
        "protection": list(sheet.protection),
        "neutralisers": list(sheet.neutralisers),
        "disposal": sheet.disposal,
        "storage": sheet.storage,
        **materials_by_state(sheet),
        **_GENERIC,
        **_GENERIC_LOOKS[sheet.name],
        "sources": {**_SOURCES, **dict(sheet.sources)},
        "notes": "A generic kind. The label and safety data sheet of the product you buy go before it.",
    }


def materials_by_state(sheet: CleanerSheet) -> dict[str, list[str]]:
    states = {
        one: "forbidden" if one in sheet.forbids else strictest([one], sheet.acids) for one in MATERIALS
    }
    return {f"metals_{state}": [one for one in MATERIALS if states[one] == state] for state in STATES}


def generic_sheets() -> Iterable[CleanerSheet]:
    return CLEANERS.values()


@dataclass(frozen=True, slots=True)
class Wetted:
    """All that a bath would touch: materials that are known, and parts whose material nobody has told."""

    materials: tuple[str, ...]
    unknown: tuple[str, ...]


def wetted(exchanger: Exchanger, rig: Rig | None = None) -> Wetted:
    """Metals and seals of an exchanger, its fittings and the rig; an unknown one refuses every cleaner."""
    told = {"exchanger": exchanger.metal or None}
    told |= {part: exchanger.wetted_materials.get(part) for part in WETTED_PARTS}
    if rig is not None:
        told |= {f"rig's {part}": rig.wetted_materials.get(part) for part in RIG_PARTS}
    known = dict.fromkeys(one for one in told.values() if one and one != NOT_FITTED)
    return Wetted(tuple(known), tuple(part for part, one in told.items() if not one))


def site_limits(site: Site, *, accepted: bool = False) -> SiteLimits:
    """What may go down a site's sewer. Where a limit was not entered, the general one stands.

    Below pH 5 only where the works' own document lets it, named and attached as a file: the site's, or one
    for the discharge itself (`accepted`). Never at pH 2 or below.
    """
    found = {
        "copper": site.discharge_copper_mg_per_l,
        "iron": site.discharge_iron_mg_per_l,
        "zinc": site.discharge_zinc_mg_per_l,
        "solids": site.discharge_solids_mg_per_l,
    }
    of_site = bool(site.discharge_acid_document.strip() and site.discharge_acceptance)
    plain, for_acid = SiteLimits(), accepted or of_site
    lowest = HAZARDOUS_PH[0] if for_acid else plain.lowest_ph
    return SiteLimits(
        lowest_ph=lowest if site.discharge_ph_low is None else site.discharge_ph_low,
        highest_ph=plain.highest_ph if site.discharge_ph_high is None else site.discharge_ph_high,
        hottest_k=plain.hottest_k if site.discharge_highest_k is None else site.discharge_highest_k,
        works_designed_for_acid=for_acid,
        concentrations_mg_per_l={name: limit for name, limit in found.items() if limit is not None},
    )


def pump_of(rig: Rig) -> PumpCurve | None:
    """The rig's pump as the engine has it, its heads on water; None where no curve was entered."""
    if not rig.pump_curve:
        return None
    return curve_through([(flow, float(pressure_of_height_pa(head, 998.2))) for flow, head in rig.pump_curve])


def _is_weak(name: str) -> bool:
    return name in ACIDS and not ACIDS[name].strong and ACIDS[name].pka[0] > 1.5


def _acid_row(name: str, share: float) -> dict[str, Any]:
    pka = list(ACIDS[name].pka)
    return {"acid": name, "share": share, **({"pka": pka} if pka else {})}


_FIRST_AID = (
    "Eyes: rinse under running water for 15 minutes, lids held open, then a doctor. Skin: clothing off, "
    "water for 15 minutes. Breathed in: fresh air. Swallowed: rinse the mouth, no vomiting, call the "
    "emergency number."
)
_GENERIC = {"first_aid": _FIRST_AID, "neutralise_surface": True, "dye": "none"}
_GENERIC_LOOKS = {
    "inhibited_hydrochloric": {"inhibitor": "an amine film former, as the label says",
                               "fresh_colour": "pale yellow", "strength_per_drop": 0.005},
    "phosphoric": {"inhibitor": "as the label says", "fresh_colour": "clear", "strength_per_drop": 0.005},
    "sulfamic": {"inhibitor": "as the label says", "fresh_colour": "clear", "strength_per_drop": 0.005},
    "citric": {"inhibitor": "", "fresh_colour": "clear", "strength_per_drop": 0.002},
    "glycolic_formic": {"inhibitor": "as the label says", "fresh_colour": "clear",
                        "strength_per_drop": 0.002},
}  # fmt: skip
_SOURCES = {
    "acids": "acid dissociation constants: CRC Handbook, from memory",
    "form": "from memory",
    "inhibitor": "from memory",
    "fresh_colour": "from memory",
    "dye": "from memory",
    "first_aid": "common practice: 15 minutes of water, from memory",
    "neutralise_surface": "brazed plate maker's handbook: 1 to 2 % bicarbonate before the rinse, as read",
    "strength_per_drop": "from memory; the kit's own factor goes before",
    "metals_allowed": "the table of metals and acids, each row with its source",
    "metals_only_inhibited": "the table of metals and acids, each row with its source",
    "metals_forbidden": "the table of metals and acids, each row with its source",
    "renewal_ph": "not used: a strong acid is renewed by its strength",
}
