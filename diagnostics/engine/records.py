"""What goes into the engine and what comes out: frozen records, SI inside, None where not known."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import datetime
from functools import lru_cache
from typing import Any, Literal, cast

Mode = Literal["cooling", "heating"]
Purpose = Literal["clean_reference", "routine", "after_back_flush", "before_descale", "after_descale"]
Verdict = Literal["fouled", "clean", "undecided"]

MODES: tuple[str, ...] = ("cooling", "heating")
PURPOSES: tuple[str, ...] = (
    "clean_reference",
    "routine",
    "after_back_flush",
    "before_descale",
    "after_descale",
)
EXCHANGER_KINDS: tuple[str, ...] = ("coaxial", "brazed_plate", "shell_and_tube", "plate_and_frame")
ANTIFREEZES: tuple[str, ...] = ("none", "propylene_glycol", "ethylene_glycol", "methanol", "ethanol")
FLOW_ARRANGEMENTS: tuple[str, ...] = ("counterflow", "parallel")
EXPANSION_DEVICES: tuple[str, ...] = ("thermostatic", "electronic", "fixed")
MACHINES: tuple[str, ...] = (
    "water_to_air_heat_pump",
    "water_to_water_heat_pump",
    "water_cooled_condenser",
    "water_cooled_chiller",
)
REVERSING_MACHINES: tuple[str, ...] = MACHINES[:2]
MACHINES_WITHOUT_A_FAN: tuple[str, ...] = ("water_to_water_heat_pump", "water_cooled_chiller")
ONE_WAY_EXCHANGERS: tuple[str, ...] = ("shell_and_tube", "plate_and_frame")
"""Kinds taken for a chiller's or a plain condenser's where no machine is on record."""
WATER_SOURCES: tuple[str, ...] = (
    "cooling_tower",
    "closed_loop",
    "ground_loop",
    "well",
    "pond",
    "city_water",
)
BETWEEN_PORTS: tuple[str, ...] = ("coil_only", "hoses", "strainer", "valve", "strainer_and_valve")
"""What lies between the two pressure ports: nothing but the coil, or hoses, strainer, valve besides."""
DROP_READ_BY: tuple[str, ...] = ("differential_gauge", "gauge_at_each_port")
"""A differential gauge with its hoses full of water doesn't see the ports' levels; a gauge at each does."""
STRAINER_STATES: tuple[str, ...] = ("clean", "dirty", "blocked", "not_fitted")
BACK_FLUSH_RESULTS: tuple[str, ...] = ("flow_restored", "no_change")
FAULT_LOCKOUTS: tuple[str, ...] = (
    "none",
    "high_head",
    "low_suction",
    "low_water_temperature",
    "water_flow",
    "low_air_coil",
    "condensate",
    "voltage",
    "other",
)
EVENT_KINDS: tuple[str, ...] = (
    "charge_changed",
    "compressor_replaced",
    "expansion_replaced",
    "exchanger_replaced",
    "descaled",
)
EVENTS_THAT_VOID_REFERENCES: tuple[str, ...] = EVENT_KINDS[:4]

ASKED_LATER = {"asked_later": True}
"""Marks a field that records kept before it was asked for don't have."""


@lru_cache
def _written(record: Hashable) -> tuple[tuple[str, bool], ...]:
    """Names of a record's fields that it writes, and whether each was asked for later."""
    kept = fields(cast(Any, record))
    return tuple((one.name, "asked_later" in one.metadata) for one in kept if one.repr)


def _as_told(record: Any) -> str:
    """As a dataclass writes itself, less what was asked for later and never said: no digest moves."""
    told = ((name, later, getattr(record, name)) for name, later in _written(cast(Hashable, type(record))))
    inside = ", ".join(f"{name}={value!r}" for name, later, value in told if not (later and value is None))
    return f"{type(record).__qualname__}({inside})"


@dataclass(frozen=True, slots=True)
class ExchangerFacts:
    """One refrigerant-to-water exchanger as the register knows it.

    Only `unit`, `refrigerant` and `exchanger` are compulsory. Temperatures in K, pressures in Pa absolute,
    `area_m2` is the wetted water-side area, `count` parallel tubes or plate channels,
    `antifreeze_fraction` 0 to 1 by volume for glycols and by mass for alcohols,
    `design_pressure_drop_pa` on water at 20 degC. `rating_includes_fouling` tells whether rated data carry a
    fouling allowance (chillers usually, heat pumps not). `balancing_valve_kv_m3_per_h` is the coefficient of
    the balancing valve at its set position: m3/h of water at 1 bar. `machine` is the kind of machine, None
    where nobody said; where it says no other than the exchanger's kind would, it moves no fouling number,
    so it stands outside the digest of those (see `machine_told`). `between_ports` is one of BETWEEN_PORTS,
    `port_rise_m` how far the leaving pressure port stands above the entering one (below: negative), and
    `fan_power_w` what the unit's fan takes.
    """

    __repr__ = _as_told

    unit: str
    refrigerant: str
    exchanger: str
    area_m2: float | None = None
    bore_m: float | None = None
    length_m: float | None = None
    count: int | None = None
    design_flow_m3_per_s: float | None = None
    design_pressure_drop_pa: float | None = None
    pressure_drop_exponent: float | None = None
    antifreeze: str = "none"
    antifreeze_fraction: float | None = None
    fouling_limit_m2k_per_w: float | None = None
    elevation_m: float | None = None
    flow_in_heating: str | None = None
    expansion: str | None = None
    head_pressure_valve: bool | None = None
    capacity_w: float | None = None
    loop: str | None = None
    water_source: str | None = None
    loop_low_k: float | None = None
    loop_high_k: float | None = None
    high_head_cutout_pa: float | None = None
    low_suction_cutout_pa: float | None = None
    freeze_cutout_k: float | None = None
    rating_includes_fouling: bool | None = None
    balancing_valve_kv_m3_per_h: float | None = None
    hot_gas_reheat: bool | None = None
    desuperheater_coil: bool | None = None
    vapour_injection: bool | None = None
    machine: str | None = field(default=None, repr=False)
    between_ports: str | None = field(default=None, metadata=ASKED_LATER)
    port_rise_m: float | None = field(default=None, metadata=ASKED_LATER)
    fan_power_w: float | None = field(default=None, metadata=ASKED_LATER)


def reverses(facts: ExchangerFacts) -> bool:
    """Whether one exchanger condenses in cooling and evaporates in heating: by the machine on record, else
    by its kind, coaxial coils and brazed plates being taken for a heat pump's."""
    if facts.machine is not None:
        return facts.machine in REVERSING_MACHINES
    return facts.exchanger not in ONE_WAY_EXCHANGERS


def machine_told(facts: ExchangerFacts) -> str | None:
    """The machine on record where its exchanger's kind alone would be taken for another's."""
    return facts.machine if reverses(facts) != reverses(replace(facts, machine=None)) else None


@dataclass(frozen=True, slots=True)
class ReadingSet:
    """One set of readings of one exchanger in one mode: Pa absolute, K; None where not read.

    `line` is the row's place in its source (a file's line, header 1), only echoed. Water flow is volume at
    the entering port (`water_flow_m3_per_s`) or mass (`water_flow_kg_per_s`), whichever the meter told.
    `probe_moved` is True where one thermometer was moved from the entering to the leaving port.
    `drop_read_by` is one of DROP_READ_BY; `power_includes_fan` is True where power, or amps, were read with
    the fan on them.
    """

    __repr__ = _as_told

    unit: str
    taken_at: datetime
    mode: str
    purpose: str = "routine"
    taken_at_as_typed: str | None = None
    line: int | None = None
    stage: str = "full"
    minutes_running: float | None = None
    gauge_set: str | None = None
    probe_moved: bool = False
    entering_water_k: float | None = None
    leaving_water_k: float | None = None
    water_flow_m3_per_s: float | None = None
    water_flow_kg_per_s: float | None = None
    water_pressure_drop_pa: float | None = None
    balancing_valve_pressure_drop_pa: float | None = None
    head_pressure_pa: float | None = None
    suction_pressure_pa: float | None = None
    liquid_line_k: float | None = None
    suction_line_k: float | None = None
    discharge_line_k: float | None = None
    compressor_power_w: float | None = None
    amps_a: float | None = None
    volts_v: float | None = None
    phases: int | None = None
    power_factor: float | None = None
    entering_air_k: float | None = None
    entering_air_wet_bulb_k: float | None = None
    leaving_air_k: float | None = None
    strainer: str | None = None
    back_flush: str | None = None
    fault_lockout: str | None = None
    static_pressure_pa: float | None = None
    static_coldest_k: float | None = None
    drop_read_by: str | None = field(default=None, metadata=ASKED_LATER)
    power_includes_fan: bool | None = field(default=None, metadata=ASKED_LATER)


@dataclass(frozen=True, slots=True)
class TableRow:
    """One printed row of a maker's operating table: what the clean unit shows. Ranges as low and high ends.

    Pressures Pa absolute, temperatures K, temperature differences K, flow m3/s, pressure drop Pa.
    """

    unit: str
    mode: str
    stage: str = "full"
    entering_water_k: float | None = None
    water_flow_m3_per_s: float | None = None
    head_low_pa: float | None = None
    head_high_pa: float | None = None
    suction_low_pa: float | None = None
    suction_high_pa: float | None = None
    superheat_low_k: float | None = None
    superheat_high_k: float | None = None
    subcooling_low_k: float | None = None
    subcooling_high_k: float | None = None
    water_temperature_change_low_k: float | None = None
    water_temperature_change_high_k: float | None = None
    water_pressure_drop_pa: float | None = None


@dataclass(frozen=True, slots=True)
class UnitEvent:
    """Something done to the unit; EVENTS_THAT_VOID_REFERENCES void the clean references taken before."""

    unit: str
    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class InstrumentAccuracy:
    """Accuracy of one kind of reading: limits (not standard deviations), split in two parts.

    `repeating` stays the same from visit to visit with the same instrument, `random` is drawn anew each time.
    `relative` True: fractions of the reading; False: in the reading's SI unit.
    `distribution` is "rectangular" (limits) or "normal" (limits are two standard deviations).
    """

    reading: str
    repeating: float
    random: float
    relative: bool
    distribution: str = "rectangular"
    source: str = ""


Gauges = Mapping[str, tuple[InstrumentAccuracy, ...]]
"""Stated accuracies by the gauge set's name."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A value (median of the draws) with the ends of its 95 % interval, all in the same unit."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Warning:
    """A code for programs; for people a sentence that names the reading, its value, what would be right."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Limit:
    """The fouling limit: `unit` is m2K/W where an area is known, else K/W; `source` says where it is from."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class ReferenceUsed:
    """What the clean reference stood on: clean_reference, operating_table, rated_data or geometry."""

    kind: str
    taken_at: str | None = None


@dataclass(frozen=True, slots=True)
class History:
    """Everything known of the unit besides the reading set being assessed; `instruments` are the accuracies
    of the gauge sets that earlier sets were read with, where they are known."""

    readings: Sequence[ReadingSet] = ()
    tables: Sequence[TableRow] = ()
    events: Sequence[UnitEvent] = ()
    instruments: Gauges = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assessment:
    """The engine's answer for one reading set. None where withheld; the reason is then in `warnings`.

    `more` holds further figures as plain JSON (superheat, subcooling, approach, saturation temperatures, the
    share of each reading in the variance, flows by source, ...), every key carrying its unit.
    """

    unit: str
    taken_at: str
    mode: str
    line: int | None
    water_flow_kg_per_s: Interval | None
    heat_w: Interval | None
    ua_w_per_k: Interval | None
    excess_approach_k: Interval | None
    cleanliness: Interval | None
    fouling_resistance_m2k_per_w: Interval | None
    fouling_resistance_k_per_w: Interval | None
    probability_over_limit: float | None
    limit: Limit | None
    verdict: str
    reference: tuple[ReferenceUsed, ...]
    decides_next: str | None
    do_next: str
    warnings: tuple[Warning, ...]
    more: Mapping[str, object] = field(default_factory=dict)
    engine_version: str = ""
    inputs_digest: str = ""
