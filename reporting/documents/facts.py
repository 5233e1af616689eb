"""What a visit report is made from: plain facts, times already local, nothing of the database."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from diagnostics.engine.records import Assessment, Interval
from reporting.documents import words
from reporting.documents.causes import RankingTold


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading as typed, and the same in SI ready to print."""

    column: str
    typed_value: str
    typed_unit: str
    si: str


@dataclass(frozen=True, slots=True)
class EarlierResult:
    """What an earlier set of readings of the same exchanger told."""

    taken_at: datetime
    mode: str
    purpose: str
    verdict: str
    probability_over_limit: float | None
    excess_approach_k: Interval | None
    fouling_resistance_m2k_per_w: Interval | None
    fouling_resistance_k_per_w: Interval | None
    excess_at_limit_k: float | None = None

    def fouling(self, unit: str) -> Interval | None:
        return self.fouling_resistance_m2k_per_w if unit == "m2K/W" else self.fouling_resistance_k_per_w


@dataclass(frozen=True, slots=True)
class Done:
    """Something done to the unit."""

    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class LoopTold:
    """What the newest survey of the unit's loop says: the loop itself, these units, or nearly all."""

    read_on: datetime
    words: str
    probability: float
    left_out: int = 0

    def sentences(self) -> list[str]:
        told = f"Read together on {words.day(self.read_on)}, unit by unit in short."
        if self.left_out:
            units = "one unit was" if self.left_out == 1 else f"{self.left_out} units were"
            told += f" {words.sentence(f'{units} no evidence (off, satisfied or in the other mode)')}"
        return [words.sentence(words.for_people(self.words)), told]


@dataclass(frozen=True, slots=True)
class VisitReport:
    contractor: str
    customer: str
    site: str
    unit: str
    exchanger: str
    refrigerant: str
    taken_at: datetime
    taken_by: str
    mode: str
    purpose: str
    answer: Assessment
    address: str = ""
    place: str = ""
    unit_kind: str = ""
    model: str = ""
    serial: str = ""
    exchanger_kind: str = ""
    metal: str = ""
    water: str = ""
    antifreeze: str = "none"
    water_source: str = ""
    visit_day: datetime | None = None
    visit_reason: str = ""
    crew: tuple[str, ...] = ()
    stage: str = "full"
    gauge_set: str = ""
    note: str = ""
    readings: tuple[ReadingLine, ...] = ()
    not_read: tuple[str, ...] = ()
    looked_at: tuple[tuple[str, str], ...] = ()
    earlier: tuple[EarlierResult, ...] = ()
    done: tuple[Done, ...] = ()
    same_visit: tuple[EarlierResult, ...] = field(default=())
    emergency_phone: str = ""
    correction_reason: str = ""
    ranking: RankingTold | None = None
    loop: LoopTold | None = None
