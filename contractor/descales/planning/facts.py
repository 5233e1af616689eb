"""Everything one plan rests on, gathered from rows once: the arithmetic sees no row."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from contractor.descales.models import Consent, Descale
from contractor.descales.planning.expecting import Expected, expected_of
from contractor.descales.planning.visiting import VisitState, visit_state
from contractor.register.models import Cleaner, Exchanger, Rig, UnitEvent, WaterTest
from contractor.register.sheets import (
    Wetted,
    lapsed_papers,
    missing_fields,
    missing_papers,
    pump_of,
    sheet_of,
    site_limits,
    wetted,
)
from contractor.register.typed import barometric_at
from diagnostics import selectors
from diagnostics.answers import interval_of
from diagnostics.engine.descaling.cleaners import CleanerSheet
from diagnostics.engine.descaling.discharge import SiteLimits
from diagnostics.engine.pumps import PumpCurve
from diagnostics.engine.records import ExchangerFacts, Interval
from diagnostics.engine.references import area_of
from diagnostics.engine.version import ENGINE_VERSION
from diagnostics.models import Assessment

USUAL_FITTINGS = ("entrance", "exit", *("elbow_90",) * 4, *("gate_valve",) * 2)
"""Two hose ends, a few bends and two valves: common practice, where nobody counted."""


USUAL_DEPOSIT = "calcium_carbonate"
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Asked:
    """What the planner chooses. SI; None where left to the label or to common practice."""

    strength: float | None = None
    starts_at: datetime | None = None
    deposit: str = ""
    working_level_m3: float | None = None
    fittings: tuple[str, ...] = USUAL_FITTINGS
    return_height_m: float = 0.5
    highest_point_m: float = 1.0
    supply_k: float = 288.15
    in_a_pit: bool = False
    confined_space_permit: str = ""

    def as_json(self) -> dict[str, Any]:
        plain = {name: getattr(self, name) for name in self.__dataclass_fields__}
        starts = self.starts_at.isoformat() if self.starts_at else None
        return {**plain, "starts_at": starts, "fittings": list(self.fittings)}

    @classmethod
    def of_json(cls, given: Mapping[str, Any]) -> Asked:
        known = {name: value for name, value in given.items() if name in cls.__dataclass_fields__}
        if known.get("starts_at"):
            known["starts_at"] = datetime.fromisoformat(known["starts_at"])
        if "fittings" in known:
            known["fittings"] = tuple(known["fittings"])
        return cls(**known)


@dataclass(frozen=True, slots=True)
class Circulator:
    """The rig: volumes [m3], hoses [m], the pump's curve where it is known."""

    tank_m3: float | None
    hose_length_m: float | None
    hose_bore_m: float | None
    pump: PumpCurve | None
    sound_level_db: float | None


@dataclass(frozen=True, slots=True)
class SheetState:
    """The cleaner's sheet, or what it lacks; papers that are not on file; lots and when the last expires."""

    sheet: CleanerSheet | None
    missing: tuple[str, ...]
    missing_papers: tuple[str, ...]
    lapsed_papers: tuple[str, ...]
    lots: tuple[tuple[str, date | None, float | None], ...]
    strength_per_drop: float | None
    neutralise_surface: bool | None
    retired: bool


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """SI throughout; None where not known."""

    exchanger: ExchangerFacts
    content_m3: float | None
    area_m2: float | None
    wetted: Wetted
    heats_drinking_water: bool | None
    treatments: tuple[str, ...]
    black_slime: bool | None
    expected: Expected
    years_since: float | None
    fouling: Interval | None
    room_m3: float | None
    low_side_rating_pa_gauge: float | None
    relief_setting_pa_gauge: float | None
    barometric_pa: float
    water_rating_pa_gauge: float | None
    consented: bool
    quiet_agreed: bool
    quiet: tuple[time, time] | None
    zone: ZoneInfo
    limits: SiteLimits
    route: str
    permit: str
    cleaner: SheetState
    rig: Circulator
    asked: Asked
    today: date
    visit: VisitState
    more: Mapping[str, Any] = field(default_factory=dict)

    @property
    def deposit(self) -> str:
        """What the crew named, having looked; else carbonate, which acid and gas are reckoned for."""
        return self.asked.deposit or USUAL_DEPOSIT

    @property
    def digest(self) -> str:
        return hashlib.sha256(repr((ENGINE_VERSION, self)).encode()).hexdigest()


def facts_for(descale: Descale, cleaner: Cleaner, rig: Rig, asked: Asked, now: datetime) -> PlanFacts:
    """Load the descale with exchanger, unit, site, operating table and assessment to save queries."""
    exchanger = descale.exchanger
    unit, site = exchanger.unit, exchanger.unit.site
    known = selectors.facts_of(exchanger)
    today = now.astimezone(site.zone).date()
    water = WaterTest.objects.in_use().filter(site=site).order_by("-taken_at").first()
    consent = Consent.objects.filter(descale=descale).first()
    return PlanFacts(
        exchanger=known,
        content_m3=exchanger.water_content_m3 or _content_of(exchanger),
        area_m2=area_of(known),
        wetted=wetted(exchanger, rig),
        heats_drinking_water=exchanger.heats_drinking_water,
        treatments=tuple(water.treatments) if water else (),
        black_slime=water.black_slime if water else None,
        expected=expected_of(exchanger, water),
        years_since=_years_since(exchanger, now),
        fouling=_fouling(descale.assessment, area_of(known)),
        room_m3=unit.room_volume_m3,
        low_side_rating_pa_gauge=unit.low_side_rating_pa_gauge,
        relief_setting_pa_gauge=unit.relief_setting_pa_gauge,
        barometric_pa=barometric_at(site.elevation_m),
        water_rating_pa_gauge=exchanger.water_rating_pa_gauge,
        consented=consent is not None,
        quiet_agreed=consent is not None and consent.quiet_hours_too,
        quiet=(site.quiet_from, site.quiet_until) if site.quiet_from and site.quiet_until else None,
        zone=site.zone,
        limits=site_limits(site),
        route=site.discharge_route,
        permit=site.discharge_permit,
        cleaner=sheet_state(cleaner, today),
        rig=_circulator(rig),
        asked=asked,
        today=today,
        visit=visit_state(descale.visit, rig, asked.starts_at),
    )


def _years_since(exchanger: Exchanger, now: datetime) -> float | None:
    """Years since the unit was last descaled; None where nobody tells."""
    events = UnitEvent.objects.filter(unit=exchanger.unit_id, what="descaled", taken_back_at=None)
    last = events.order_by("-at").values_list("at", flat=True).first()
    return None if last is None else round((now - last).days / DAYS_A_YEAR, 2)


def _content_of(exchanger: Exchanger) -> float | None:
    if exchanger.bore_m is None or exchanger.length_m is None:
        return None
    return math.pi / 4 * exchanger.bore_m**2 * exchanger.length_m * (exchanger.count or 1)


def _fouling(assessment: Assessment | None, area_m2: float | None) -> Interval | None:
    """Fouling resistance with its interval: [m2 K/W] where the area is known, else [K/W]."""
    if assessment is None:
        return None
    name = "fouling_resistance_k_per_w" if area_m2 is None else "fouling_resistance_m2k_per_w"
    return interval_of(assessment.result.get(name))


def sheet_state(cleaner: Cleaner, day: date) -> SheetState:
    missing = missing_fields(cleaner)
    lots = cleaner.lots.in_use().order_by("expires_on", "lot")
    return SheetState(
        sheet=None if missing else sheet_of(cleaner),
        missing=missing,
        missing_papers=missing_papers(cleaner),
        lapsed_papers=lapsed_papers(cleaner, day),
        lots=tuple((lot.lot, lot.expires_on, lot.quantity_kg) for lot in lots),
        strength_per_drop=cleaner.strength_per_drop,
        neutralise_surface=cleaner.neutralise_surface,
        retired=cleaner.is_retired,
    )


def _circulator(rig: Rig) -> Circulator:
    return Circulator(
        tank_m3=rig.tank_volume_m3,
        hose_length_m=rig.hose_length_m,
        hose_bore_m=rig.hose_bore_m,
        pump=pump_of(rig),
        sound_level_db=rig.sound_level_db,
    )


def latest_assessment(exchanger_id: UUID) -> Assessment | None:
    return Assessment.objects.current().of_exchanger(exchanger_id).latest_taken_first().first()
