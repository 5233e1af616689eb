"""The columns of the four files: name, what stands in it, where it goes in the engine's records."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine import records
from diagnostics.engine.quantities import KINDS

TEXT, WORD, REFRIGERANT, YES_NO, TIME = "text", "word", "refrigerant", "yes_no", "time"
"""Kinds of column that take no unit."""

LIMIT = "limit"
"""A limit of error: its unit may stand in the cell, in a column of units, or in the header."""

DESIGN_FLOW_BY_MASS, WATER_FLOW_BY_MASS = "design_flow_kg_per_s", "water_flow_kg_per_s"

UNIT_WHERE_NONE_IS_WRITTEN = {
    "count": "",
    "ratio": "",
    "fraction": "",
    "duration": "minute",
    "current": "A",
    "voltage": "V",
    "flow_coefficient": "Kv",
}
"""Kinds whose columns may stand without a unit: those that have none, and those whose name says it."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column. `kind` is one of those above or one of the engine's kinds of quantity.

    `field` is the record's field, `mass_field` that of a mass flow, `words` the only ones allowed.
    """

    name: str
    field: str
    kind: str
    words: tuple[str, ...] = ()
    compulsory: bool = False
    mass_field: str = ""

    @property
    def units_that_fit(self) -> str:
        """What may stand in the brackets of the header, in words; empty where the column takes no unit."""
        return KINDS[self.kind].expected if self.kind in KINDS else ""


@dataclass(frozen=True, slots=True)
class Layout:
    """The columns of one file; `what` says in words what the file holds."""

    what: str
    columns: tuple[Column, ...]

    def column(self, name: str) -> Column | None:
        return next((column for column in self.columns if column.name == name), None)


def _text(name: str, *, compulsory: bool = False) -> Column:
    return Column(name, name, TEXT, compulsory=compulsory)


def _word(name: str, words: tuple[str, ...], *, compulsory: bool = False) -> Column:
    return Column(name, name, WORD, words, compulsory)


def _yes_no(name: str) -> Column:
    return Column(name, name, YES_NO, ("yes", "no"))


_UNIT = _text("unit", compulsory=True)
_MODE = _word("mode", records.MODES, compulsory=True)
_STAGE = _text("stage")

UNITS = Layout(
    "units",
    (
        _UNIT,
        Column("refrigerant", "refrigerant", REFRIGERANT, compulsory=True),
        _word("exchanger", records.EXCHANGER_KINDS, compulsory=True),
        Column("area", "area_m2", "area"),
        Column("bore", "bore_m", "length"),
        Column("length", "length_m", "length"),
        Column("count", "count", "count"),
        Column("design_flow", "design_flow_m3_per_s", "water_flow", mass_field=DESIGN_FLOW_BY_MASS),
        Column("design_pressure_drop", "design_pressure_drop_pa", "pressure_difference"),
        Column("pressure_drop_exponent", "pressure_drop_exponent", "ratio"),
        _word("antifreeze", records.ANTIFREEZES),
        Column("antifreeze_fraction", "antifreeze_fraction", "fraction"),
        Column("fouling_limit", "fouling_limit_m2k_per_w", "fouling_resistance"),
        Column("elevation", "elevation_m", "length"),
        _word("flow_in_heating", records.FLOW_ARRANGEMENTS),
        _word("expansion", records.EXPANSION_DEVICES),
        _yes_no("head_pressure_valve"),
        Column("capacity", "capacity_w", "power"),
        _text("loop"),
        _word("water_source", records.WATER_SOURCES),
        Column("loop_low", "loop_low_k", "temperature"),
        Column("loop_high", "loop_high_k", "temperature"),
        Column("high_head_cutout", "high_head_cutout_pa", "refrigerant_pressure"),
        Column("low_suction_cutout", "low_suction_cutout_pa", "refrigerant_pressure"),
        Column("freeze_cutout", "freeze_cutout_k", "temperature"),
        _yes_no("rating_includes_fouling"),
        Column("balancing_valve_kv", "balancing_valve_kv_m3_per_h", "flow_coefficient"),
        _yes_no("hot_gas_reheat"),
        _yes_no("desuperheater_coil"),
        _yes_no("vapour_injection"),
        _word("machine", records.MACHINES),
        _word("between_ports", records.BETWEEN_PORTS),
        Column("port_rise", "port_rise_m", "length"),
        Column("fan_power", "fan_power_w", "power"),
    ),
)

READINGS = Layout(
    "readings",
    (
        _UNIT,
        Column("taken_at", "taken_at", TIME, compulsory=True),
        _word("purpose", records.PURPOSES),
        _MODE,
        _STAGE,
        Column("minutes_running", "minutes_running", "duration"),
        _text("gauge_set"),
        _yes_no("probe_moved"),
        Column("entering_water", "entering_water_k", "temperature"),
        Column("leaving_water", "leaving_water_k", "temperature"),
        Column("water_flow", "water_flow_m3_per_s", "water_flow", mass_field=WATER_FLOW_BY_MASS),
        Column("water_pressure_drop", "water_pressure_drop_pa", "pressure_difference"),
        Column("balancing_valve_pressure_drop", "balancing_valve_pressure_drop_pa", "pressure_difference"),
        Column("head_pressure", "head_pressure_pa", "refrigerant_pressure"),
        Column("suction_pressure", "suction_pressure_pa", "refrigerant_pressure"),
        Column("liquid_line", "liquid_line_k", "temperature"),
        Column("suction_line", "suction_line_k", "temperature"),
        Column("discharge_line", "discharge_line_k", "temperature"),
        Column("compressor_power", "compressor_power_w", "power"),
        Column("amps", "amps_a", "current"),
        Column("volts", "volts_v", "voltage"),
        Column("phases", "phases", "count"),
        Column("power_factor", "power_factor", "fraction"),
        Column("entering_air", "entering_air_k", "temperature"),
        Column("entering_air_wet_bulb", "entering_air_wet_bulb_k", "temperature"),
        Column("leaving_air", "leaving_air_k", "temperature"),
        _word("strainer", records.STRAINER_STATES),
        _word("back_flush", records.BACK_FLUSH_RESULTS),
        _word("fault_lockout", records.FAULT_LOCKOUTS),
        Column("static_pressure", "static_pressure_pa", "refrigerant_pressure"),
        Column("static_coldest", "static_coldest_k", "temperature"),
        _word("drop_read_by", records.DROP_READ_BY),
        _yes_no("power_includes_fan"),
    ),
)


def _range(name: str, suffix: str, kind: str) -> tuple[Column, Column]:
    low, high = f"{name}_low", f"{name}_high"
    return Column(low, low + suffix, kind), Column(high, high + suffix, kind)


TABLES = Layout(
    "operating tables",
    (
        _UNIT,
        _MODE,
        _STAGE,
        Column("entering_water", "entering_water_k", "temperature"),
        Column("water_flow", "water_flow_m3_per_s", "water_flow", mass_field=WATER_FLOW_BY_MASS),
        *_range("head", "_pa", "refrigerant_pressure"),
        *_range("suction", "_pa", "refrigerant_pressure"),
        *_range("superheat", "_k", "temperature_difference"),
        *_range("subcooling", "_k", "temperature_difference"),
        *_range("water_temperature_change", "_k", "temperature_difference"),
        Column("water_pressure_drop", "water_pressure_drop_pa", "pressure_difference"),
    ),
)

EVENTS = Layout(
    "unit events",
    (
        _UNIT,
        Column("at", "at", TIME, compulsory=True),
        _word("what", records.EVENT_KINDS, compulsory=True),
    ),
)
