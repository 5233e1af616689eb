"""Three years of visits and what was read at them, made from the machines' truth. No database here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np

from contractor.demo.machines import HANDOVER, Machine, chance, machine_of
from contractor.demo.scenario import DescaleStory, Scenario, SiteStory, id_of
from diagnostics.engine.forward import (
    OperatingPoint,
    draw_repeating_errors,
    nominal_point,
    reading_of,
    solve,
    with_fouling,
    with_instrument_noise,
)
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.uncertainty import instrument_table

ROUNDS = (
    (date(2024, 1, 15), "winter"),
    (date(2024, 7, 8), "summer"),
    (date(2025, 1, 13), "winter"),
    (date(2025, 7, 7), "summer"),
    (date(2026, 1, 12), "winter"),
    (date(2026, 7, 6), "summer"),
)
TECHNICIANS = ("orrin@northmoor.example", "maeve@northmoor.example", "jonty@northmoor.example")
MODE_OF_SEASON = {"summer": "cooling", "winter": "heating"}
CHILLED_WATER_K = 285.15
DAYS_OF_SITES = (0, 1, 2, 3, 4, 7)
FIRST_READING, BETWEEN_READINGS, AFTER_DESCALE = time(8, 30), timedelta(minutes=20), timedelta(hours=4)


@dataclass(frozen=True, slots=True)
class ReadingStory:
    """What the technician read; `remark` is what they noted beside it."""

    machine: Machine
    reading: ReadingSet
    remark: str = ""


@dataclass(slots=True)
class VisitStory:
    site: SiteStory
    day: date
    reason: str
    technician: str
    readings: list[ReadingStory] = field(default_factory=list)
    descaled: list[tuple[Machine, datetime, DescaleStory]] = field(default_factory=list)

    @property
    def key(self) -> str:
        return f"{self.site.key}/{self.day}/{self.reason}"

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.row["time_zone"])

    def at(self, clock: time) -> datetime:
        return datetime.combine(self.day, clock, tzinfo=self.zone)


class History:
    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.machines = [machine_of(story, scenario) for story in scenario.exchangers]
        self.instruments = instrument_table()
        self.gauge_errors = {
            person: draw_repeating_errors(self.instruments, chance("gauge set", person))
            for person in TECHNICIANS
        }

    def visits(self) -> list[VisitStory]:
        """In order of time."""
        found = [visit for site in self.scenario.sites.values() for visit in self._visits_to(site)]
        return sorted(found, key=lambda visit: (visit.day, visit.site.key))

    def _visits_to(self, site: SiteStory) -> Iterator[VisitStory]:
        place = list(self.scenario.sites).index(site.key)
        later = timedelta(days=DAYS_OF_SITES[place])
        machines = [machine for machine in self.machines if machine.story.site is site]
        handover = VisitStory(site, HANDOVER + later, "handover", TECHNICIANS[place % len(TECHNICIANS)])
        self._hand_over(handover, machines)
        yield handover
        for number, (first_day, season) in enumerate(ROUNDS):
            technician = TECHNICIANS[(place + number // 2) % len(TECHNICIANS)]
            visit = VisitStory(site, first_day + later, "routine", technician)
            self._round(visit, machines, season)
            yield visit
        yield from self._descales_at(site, machines)

    def _hand_over(self, visit: VisitStory, machines: list[Machine]) -> None:
        clock = visit.at(FIRST_READING)
        for machine in machines:
            for mode in machine.story.clean_reference_modes:
                season = "summer" if mode == "cooling" else "winter"
                visit.readings.append(self._read(machine, visit, clock, mode, season, "clean_reference"))
                clock += BETWEEN_READINGS

    def _round(self, visit: VisitStory, machines: list[Machine], season: str) -> None:
        clock = visit.at(FIRST_READING)
        for machine in machines:
            modes = machine.story.modes
            mode = MODE_OF_SEASON[season] if len(modes) == 2 else modes[0]
            visit.readings.append(self._read(machine, visit, clock, mode, season, "routine"))
            clock += BETWEEN_READINGS

    def _descales_at(self, site: SiteStory, machines: list[Machine]) -> Iterator[VisitStory]:
        found: dict[date, VisitStory] = {}
        for machine in machines:
            for descale in self.scenario.descales.get(machine.story.key, []):
                visit = found.setdefault(descale.on, VisitStory(site, descale.on, "descale", TECHNICIANS[0]))
                self._descale(visit, machine, descale)
        yield from found.values()

    def _descale(self, visit: VisitStory, machine: Machine, descale: DescaleStory) -> None:
        season = "summer" if 4 <= descale.on.month <= 9 else "winter"
        modes = machine.story.modes
        mode = MODE_OF_SEASON[season] if len(modes) == 2 else modes[0]
        start = visit.at(FIRST_READING)
        if visit.readings:
            start = visit.readings[-1].reading.taken_at + BETWEEN_READINGS
        end = start + AFTER_DESCALE
        visit.readings.append(self._read(machine, visit, start, mode, season, "before_descale", descale.why))
        visit.descaled.append((machine, end - BETWEEN_READINGS, descale))
        visit.readings.append(self._read(machine, visit, end, mode, season, "after_descale"))

    def _read(
        self, machine: Machine, visit: VisitStory, when: datetime, mode: str, season: str, purpose: str,
        remark: str = "",
    ) -> ReadingStory:  # fmt: skip
        rng = chance("reading", machine.story.key, visit.key, mode, purpose)
        day = visit.day - timedelta(days=1) if purpose == "before_descale" else visit.day
        scaled = with_fouling(machine.unit, machine.fouling_m2k_per_w(day))
        state = solve(scaled, self._point(machine, visit.day, mode, season, rng))
        true = reading_of(
            state, unit=machine.story.key, taken_at=when, purpose=purpose, gauge_set=visit.technician
        )
        read = with_instrument_noise(true, self.instruments, rng, self.gauge_errors[visit.technician])
        return ReadingStory(machine, self._as_taken(machine, visit, read), remark)

    def _point(
        self, machine: Machine, day: date, mode: str, season: str, rng: np.random.Generator
    ) -> OperatingPoint:
        story = self.scenario.story_of(machine.story)
        chilled = machine.story.name == "evaporator"
        entering = CHILLED_WATER_K if chilled else machine.story.site.water_k(season)
        flow = machine.flow_fraction * (story.flow_fraction if story.holds_on(day) else 1.0)
        point = nominal_point(machine.unit, machine.nominal, mode, entering + rng.uniform(-1.0, 1.0), flow)
        point = replace(
            point,
            heat_w=point.heat_w * rng.uniform(0.95, 1.05),
            superheat_k=point.superheat_k + rng.normal(0.0, 0.4),
            subcooling_k=point.subcooling_k + rng.normal(0.0, 0.4),
            other_saturation_k=point.other_saturation_k + rng.normal(0.0, 0.8),
        )
        if story.kind == "low_charge" and story.holds_on(day):
            return replace(
                point, heat_w=0.8 * point.heat_w, superheat_k=point.superheat_k + 9.0, subcooling_k=0.8
            )
        return point

    def _as_taken(self, machine: Machine, visit: VisitStory, read: ReadingSet) -> ReadingSet:
        """Leave out what this site's instruments don't tell; add what the technician saw."""
        site, story = visit.site, self.scenario.story_of(machine.story)
        befallen = story.holds_on(visit.day)
        flow, drop = read.water_flow_kg_per_s, read.water_pressure_drop_pa
        starved = befallen and story.kind in ("blocked_strainer", "half_shut_valve")
        return replace(
            read,
            water_flow_kg_per_s=flow if site.flow_by in ("meter", "both") else None,
            water_pressure_drop_pa=drop if site.flow_by in ("pressure_drop", "both") else None,
            compressor_power_w=read.compressor_power_w if site.power_read else None,
            strainer="blocked" if befallen and story.kind == "blocked_strainer" else "clean",
            fault_lockout="high_head" if starved and read.mode == "cooling" else None,
        )


def reading_id(visit: VisitStory, story: ReadingStory) -> UUID:
    reading = story.reading
    return id_of("reading", story.machine.story.key, visit.key, reading.mode, reading.purpose)
