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
from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.records import InstrumentAccuracy, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import Conditions, Faults, State, readings, solve_many

ROUNDS = (
    (date(2024, 1, 15), "winter"),
    (date(2024, 7, 8), "summer"),
    (date(2025, 1, 13), "winter"),
    (date(2025, 7, 7), "summer"),
    (date(2026, 1, 12), "winter"),
    (date(2026, 7, 6), "summer"),
)
FAULT_OF_STORY = {
    "half_shut_valve": ("flow_control", 0.6),
    "blocked_strainer": ("strainer_blocked", 0.92),
    "low_charge": ("undercharged", 0.3),
}
TECHNICIANS = ("orrin@northmoor.example", "maeve@northmoor.example", "jonty@northmoor.example")
MODE_OF_SEASON = {"summer": "cooling", "winter": "heating"}
CHILLED_WATER_K = 285.15
AIR_K = {"summer": (298.5, 291.5), "winter": (293.5, 287.0)}
# what the technicians carry besides the usual: a matched pair of probes, as stated for their gauge sets
PROBES = tuple(
    InstrumentAccuracy(name, 0.08, 0.04, False, source="a matched pair")
    for name in ("entering_water", "leaving_water")
)
DAYS_OF_SITES = (0, 1, 2, 3, 4, 7)
FIRST_READING, BETWEEN_READINGS, AFTER_DESCALE = time(8, 30), timedelta(minutes=20), timedelta(hours=4)


@dataclass(frozen=True, slots=True)
class ReadingStory:
    """What the technician read; `remark` is what they noted beside it."""

    machine: Machine
    reading: ReadingSet
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be read, of which machine, and what it meets then."""

    machine: Machine
    when: datetime
    purpose: str
    remark: str
    conditions: Conditions
    faults: Faults


@dataclass(slots=True)
class VisitStory:
    site: SiteStory
    day: date
    reason: str
    technician: str
    asked: list[Asked] = field(default_factory=list)
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
        self.instruments = instrument_table(PROBES)
        self.gauge_errors = {
            person: draw_repeating_errors(self.instruments, chance("gauge set", person))
            for person in TECHNICIANS
        }

    def visits(self) -> list[VisitStory]:
        """In order of time, with what was read."""
        found = self.planned()
        self.settle(found)
        return found

    def planned(self) -> list[VisitStory]:
        """In order of time; nothing is read yet (see `settle`)."""
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
                visit.asked.append(self._ask(machine, visit, clock, mode, season, "clean_reference"))
                clock += BETWEEN_READINGS

    def _round(self, visit: VisitStory, machines: list[Machine], season: str) -> None:
        clock = visit.at(FIRST_READING)
        for machine in machines:
            modes = machine.story.modes
            mode = MODE_OF_SEASON[season] if len(modes) == 2 else modes[0]
            visit.asked.append(self._ask(machine, visit, clock, mode, season, "routine"))
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
        if visit.asked:
            start = visit.asked[-1].when + BETWEEN_READINGS
        end = start + AFTER_DESCALE
        visit.asked.append(self._ask(machine, visit, start, mode, season, "before_descale", descale.why))
        visit.descaled.append((machine, end - BETWEEN_READINGS, descale))
        visit.asked.append(self._ask(machine, visit, end, mode, season, "after_descale"))

    def _ask(
        self, machine: Machine, visit: VisitStory, when: datetime, mode: str, season: str, purpose: str,
        remark: str = "",
    ) -> Asked:  # fmt: skip
        rng = chance("conditions", machine.story.key, visit.key, mode, purpose)
        day = visit.day - timedelta(days=1) if purpose == "before_descale" else visit.day
        faults = self._faults(machine, visit.day, machine.fouling_m2k_per_w(day))
        return Asked(machine, when, purpose, remark, self._conditions(machine, mode, season, rng), faults)

    def _conditions(self, machine: Machine, mode: str, season: str, rng: np.random.Generator) -> Conditions:
        chilled = machine.story.name == "evaporator"
        loop_k = machine.story.site.water_k(season)
        dry, wet = AIR_K[season]
        warmer = rng.uniform(-1.0, 1.0)
        return Conditions(
            mode,
            (CHILLED_WATER_K if chilled else loop_k) + rng.uniform(-1.0, 1.0),
            flow_ratio=machine.flow_fraction,
            air_k=dry + warmer,
            air_wet_bulb_k=wet + warmer,
            other_water_k=loop_k if chilled else CHILLED_WATER_K,
        )

    def _faults(self, machine: Machine, day: date, scale: float) -> Faults:
        """The truth on a day: the scale that has grown, and what the machine's story adds."""
        story = self.scenario.story_of(machine.story)
        told = {"scale_m2k_per_w": scale}
        if story.holds_on(day) and story.kind in FAULT_OF_STORY:
            name, severity = FAULT_OF_STORY[story.kind]
            told[name] = severity
        return Faults(**told)

    def settle(self, visits: list[VisitStory]) -> None:
        """All machines at all visits side by side, then what each technician's gauges made of them."""
        asked = [(visit, one) for visit in visits for one in visit.asked]
        states = solve_many(
            [one.machine.unit for _, one in asked],
            [one.conditions for _, one in asked],
            [one.faults for _, one in asked],
        )
        for (visit, one), state in zip(asked, states, strict=True):
            visit.readings.append(self._read(visit, one, state))

    def _read(self, visit: VisitStory, one: Asked, state: State) -> ReadingStory:
        key = one.machine.story.key
        rng = chance("reading", key, visit.key, one.conditions.mode, one.purpose)
        true = readings(
            state, unit=key, taken_at=one.when, purpose=one.purpose, gauge_set=visit.technician,
            faults=one.faults,
        )  # fmt: skip
        read = with_instrument_noise(true, self.instruments, rng, self.gauge_errors[visit.technician])
        return ReadingStory(one.machine, self._as_taken(one.machine, visit, read), one.remark)

    def _as_taken(self, machine: Machine, visit: VisitStory, read: ReadingSet) -> ReadingSet:
        """Leave out what this site's instruments don't tell; add what the technician saw."""
        site, story = visit.site, self.scenario.story_of(machine.story)
        befallen = story.holds_on(visit.day)
        flow, drop = read.water_flow_kg_per_s, read.water_pressure_drop_pa
        by_air = machine.story.model["unit_kind"] == "water_to_air_heat_pump"
        starved = befallen and story.kind in ("blocked_strainer", "half_shut_valve")
        return replace(
            read,
            water_flow_kg_per_s=flow if site.flow_by in ("meter", "both") else None,
            water_pressure_drop_pa=drop if site.flow_by in ("pressure_drop", "both") else None,
            compressor_power_w=read.compressor_power_w if site.power_read else None,
            entering_air_k=read.entering_air_k if by_air else None,
            leaving_air_k=read.leaving_air_k if by_air else None,
            fault_lockout="high_head" if starved and read.mode == "cooling" else None,
        )


def reading_id(visit: VisitStory, story: ReadingStory) -> UUID:
    reading = story.reading
    return id_of("reading", story.machine.story.key, visit.key, reading.mode, reading.purpose)
