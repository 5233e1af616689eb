"""What the bath does to room, drain and refrigerant: gas, neutralisers, rinse, waste, temperature cap."""

from __future__ import annotations

from typing import Any

from contractor.descales.planning.bath import Bath, deposit_of, dissolved_per_acid, hoses_of
from contractor.descales.planning.facts import PlanFacts
from diagnostics.engine.descaling import neutralising
from diagnostics.engine.descaling.acids import MINERALS, acid
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.descaling.discharge import LOWEST_SEWER_PH, reasons_against
from diagnostics.engine.descaling.doses import portions
from diagnostics.engine.descaling.gas import (
    carbon_dioxide_kg,
    fresh_air_m3_per_s,
    gas_volume_m3,
    room_word,
    share_of_room,
)
from diagnostics.engine.descaling.noise import sound_level_db
from diagnostics.engine.descaling.rig import hose_content_m3
from diagnostics.engine.descaling.rinsing import flow_needed_m3, rinses_needed
from diagnostics.engine.descaling.temperature_cap import TemperatureCap, temperature_cap
from diagnostics.engine.records import Interval

GAS_COMES_WITHIN_S = 1200.0
"""Most of a batch's gas comes within its first twenty minutes: common practice."""
HELD_SHARE = 0.1
"""What stays in the low points when drained, as a share of the content: common practice."""
LEFT_AFTER_RINSES = 0.001
SEWER = "sewer"
METAL_OF = {
    "calcium_carbonate": ("calcium", 40.078e-3, 1), "magnesium_carbonate": ("magnesium", 24.305e-3, 1),
    "magnesium_hydroxide": ("magnesium", 24.305e-3, 1), "haematite": ("iron", 55.845e-3, 2),
    "magnetite": ("iron", 55.845e-3, 3), "ferric_hydroxide": ("iron", 55.845e-3, 1),
}  # fmt: skip
"""Metal of each deposit, its molar mass [kg/mol] (IUPAC abridged atomic weights), atoms a formula."""
HEARD_AT_M = (3, 10)


def cap_of(facts: PlanFacts, sheet: CleanerSheet) -> TemperatureCap:
    return temperature_cap(
        facts.exchanger.refrigerant,
        facts.low_side_rating_pa_gauge,
        facts.relief_setting_pa_gauge,
        sheet.highest_temperature_k,
        facts.barometric_pa,
    )


def _baths_of(sheet: CleanerSheet, bath: Bath) -> list[tuple[neutralising.Bath, neutralising.Bath]]:
    """Each of the sheet's acids as a fresh bath and as a spent one, whose used share holds calcium."""
    found = []
    for name, share in zip(sheet.acids, sheet.acid_shares, strict=True):
        one = acid(name)
        mol = bath.strength * share * bath.density_kg_per_m3 / one.molar_mass_kg_per_mol / 1000.0
        calcium = mol * one.protons * min(bath.used_share, 1.0) / 2.0
        found.append((neutralising.Bath(name, mol), neutralising.Bath(name, mol, calcium)))
    return found


def neutralising_of(facts: PlanFacts, sheet: CleanerSheet, bath: Bath) -> dict[str, Any]:
    """Both quantities [kg]: for the spent bath in its tank (likely and most), and for the wetted surface."""
    agent = sheet.neutralisers[0]
    target = neutralising.target_ph(max(facts.limits.lowest_ph, LOWEST_SEWER_PH), facts.limits.highest_ph)
    baths = _baths_of(sheet, bath)
    fresh, spent = (
        sum(neutralising.agent_to_reach_kg(pair[n], bath.solution_m3, target, agent) for pair in baths)
        for n in (0, 1)
    )
    surface = None
    if facts.cleaner.neutralise_surface is not False:
        through = next(
            (a for a in sheet.neutralisers if a in ("sodium_carbonate", "sodium_bicarbonate")), None
        )
        surface = through and neutralising.surface_agent_kg(bath.solution_m3, through)
    return {
        "agent": agent,
        "target_ph": target,
        "bath_kg": spent,
        "bath_at_most_kg": fresh,
        "portions_kg": list(portions(fresh)),
        "surface_kg": surface,
        "spent_ph": min(neutralising.bath_ph(pair[1]) for pair in baths),
    }


def gas_of(
    facts: PlanFacts, agent: str, agent_kg: float, deposit: Interval | None, most_a_batch_kg: float
) -> dict[str, Any]:
    """Carbon dioxide at most of one batch, dissolving and neutralising [m3], against the room's air."""
    dissolved = most_a_batch_kg if deposit is None else min(deposit.high, most_a_batch_kg)
    from_deposit = gas_volume_m3(carbon_dioxide_kg(dissolved, facts.deposit))
    from_agent = gas_volume_m3(neutralising.carbon_dioxide_of_agent_kg(agent_kg, agent))
    total = from_deposit + from_agent
    share = None if facts.room_m3 is None else share_of_room(total, facts.room_m3)
    return {
        "from_dissolving_m3": from_deposit,
        "from_neutralising_m3": from_agent,
        "share_of_room": share,
        "room": "not_known_fan_and_meter" if share is None else room_word(share),
        "fresh_air_m3_per_s": fresh_air_m3_per_s(from_deposit, GAS_COMES_WITHIN_S),
    }


def noise_of(facts: PlanFacts) -> dict[str, Any]:
    """The pump as it is heard [dB(A)]: at 1 m, and away from it in the open; quiet hours, and who agreed."""
    level, quiet = facts.rig.sound_level_db, facts.quiet
    away = {} if level is None else {f"at_{m}_m_db": sound_level_db(level, m) for m in HEARD_AT_M}
    return {
        "sound_level_db": level,
        **away,
        "quiet_hours": quiet and [f"{one:%H:%M}" for one in quiet],
        "quiet_agreed": facts.quiet_agreed,
        "indoors": "walls throw sound back: it falls less than in the open; a door takes 20 dB away",
    }


def rinsing_of(facts: PlanFacts) -> dict[str, Any]:
    """Rinse by filling and draining (number and volume [m3]), and by flowing through [m3]."""
    content = (facts.content_m3 or 0.0) + hose_content_m3(hoses_of(facts))
    held = HELD_SHARE * content
    number = rinses_needed(LEFT_AFTER_RINSES, held, content - held)
    return {
        "rinses": number,
        "rinse_m3": content - held,
        "total_m3": number * (content - held),
        "by_flowing_m3": flow_needed_m3(LEFT_AFTER_RINSES, content),
    }


def dissolved_of(facts: PlanFacts, sheet: CleanerSheet, bath: Bath) -> dict[str, dict[str, float]]:
    """Metals that the deposit itself gives to one bath [mg/L], by stoichiometry; none where it is not known.

    What the wetted metal gives is not computed: the sheet's limits stop the bath before more.
    """
    deposit, metal = deposit_of(facts), METAL_OF.get(facts.deposit)
    if deposit is None or metal is None:
        return {}
    name, molar_kg, atoms = metal
    most = bath.acid_kg * dissolved_per_acid(sheet, bath, facts.deposit)
    share = atoms * molar_kg / MINERALS[facts.deposit].molar_mass_kg_per_mol
    amounts = {at: min(getattr(deposit, at), most) for at in ("value", "low", "high")}
    return {name: {at: kg * share / bath.solution_m3 * 1000.0 for at, kg in amounts.items()}}


def waste_of(
    facts: PlanFacts, sheet: CleanerSheet, bath: Bath, batches: int, rinse_m3: float, target_ph: float
) -> dict[str, Any]:
    """Volume [m3], pH and metals to expect, and what stands against the site's route as it looks now."""
    expected: dict[str, float | None] = {
        "copper": sheet.copper_limit_mg_per_l,
        "iron": sheet.iron_limit_mg_per_l,
    }
    route = facts.route or SEWER
    fresh_ph, spent_ph = (
        min(neutralising.bath_ph(pair[n]) for pair in _baths_of(sheet, bath)) for n in (0, 1)
    )
    worst = reasons_against(route, target_ph, facts.asked.supply_k, facts.limits, expected)
    return {
        "volume_m3": bath.solution_m3 * batches + rinse_m3,
        "ph_when_neutralised": target_ph,
        "ph_as_it_comes": {"fresh": fresh_ph, "spent": spent_ph},
        "dissolved_mg_per_l": dissolved_of(facts, sheet, bath),
        "metals_at_most_mg_per_l": expected,
        "route": route,
        "permit": facts.permit,
        "against": list(worst),
        "measure_first": sorted(facts.limits.concentrations_mg_per_l),
    }
