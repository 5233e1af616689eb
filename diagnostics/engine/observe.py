"""From a reading set to an observation: which channel was read, which is assumed, and with what errors."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import balance, flow_sources, habits
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.flow import FlowCurve
from diagnostics.engine.habits import Habit
from diagnostics.engine.observation import NEW, Channel, Error, Observation, coefficients
from diagnostics.engine.records import ExchangerFacts, InstrumentAccuracy, ReadingSet, Warning
from diagnostics.engine.refrigerants import Refrigerant
from diagnostics.engine.uncertainty import standard_uncertainty
from diagnostics.engine.waters import Water

TAP_K = 0.2
"""Standard uncertainty of the line loss between exchanger and gauge, told in saturation temperature."""
LEAST_CHANGE_K = 0.3
BELOW_ENTERING_K = 1.0
LEAST_END_K = 0.0
"""A line read nearer than this to the water it meets, or a little beyond, is taken at this distance: nearer
is noise."""


class NotObservable(Exception):
    """The set lacks what no assumption can stand in for; carries the warning to show."""

    def __init__(self, code: str, text: str, suspect: str | None = None) -> None:
        super().__init__(text)
        self.warning = Warning(code, text)
        self.suspect = suspect


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything of the unit that reading sets are seen through."""

    facts: ExchangerFacts
    fluid: Refrigerant
    liquid: Water
    plain: Water
    instruments: Mapping[str, InstrumentAccuracy]
    curve: FlowCurve | None
    superheat: Habit = habits.SUPERHEAT
    subcooling: Habit = habits.SUBCOOLING


@dataclass(frozen=True, slots=True)
class Seen:
    """An observation with what else the set told."""

    observation: Observation
    flow: flow_sources.CombinedFlow
    suction_superheat_k: float | None
    subcooling_k: float | None
    bubble_k: float
    dew_k: float
    refrigerant_heat_w: float | None


def observe(bench: Bench, reading: ReadingSet, maybe_scaled: bool) -> Seen:
    """See a reading set; raises NotObservable with the reason where it can't be."""
    cooling = reading.mode == "cooling"
    tin, tout = reading.entering_water_k, reading.leaving_water_k
    if tin is None or tout is None:
        missing = "entering_water" if tin is None else "leaving_water"
        raise NotObservable(
            f"{missing}_missing", f"{missing} was not read: without it there is no heat to judge by"
        )
    change = (tout - tin) if cooling else (tin - tout)
    if change < LEAST_CHANGE_K:
        raise NotObservable(
            "temperature_change_too_small", f"water changes by {change:.2f} K only: too little to tell"
        )
    assumed: list[str] = []
    errors = _water_errors(bench, reading)
    try:
        pressure, pressure_errors = _pressure(bench, reading, assumed)
        liquid, third, line_errors = _lines(bench, reading, pressure, assumed)
        heat = _refrigerant_heat(bench, reading)
        combined = _flow(bench, reading, change, heat, maybe_scaled, errors)
        values = (tin, tout, combined.ln_mass_flow, math.log(pressure), liquid, third)
        numbers = coefficients(bench.fluid, bench.liquid, reading.mode, values)
    except OutOfRange as problem:
        raise NotObservable("out_of_range", f"{problem}: check the reading and its unit") from problem
    flow_errors = [
        Error(Channel.FLOW, w * part.weight, part.spread, part.group, part.key, part.rectangular, part.mean)
        for w, part in combined.parts
        if part.spread > 0
    ]
    bubble, dew = numbers[0], numbers[3]
    return Seen(
        Observation(
            mode=reading.mode,
            stage=reading.stage,
            values=values,
            errors=(*errors, *pressure_errors, *line_errors, *flow_errors),
            coefficients=numbers,
            counterflow=cooling or _counterflow_in_heating(bench.facts, reading),
            assumed=tuple(assumed),
        ),
        combined,
        _suction_superheat(bench, reading),
        _subcooling(bench, reading),
        bubble,
        dew,
        heat,
    )


def gauges_of(reading: ReadingSet) -> str:
    """The gauge set's name; rows of a unit share one unless told otherwise."""
    return reading.gauge_set or ""


def instrument_errors(
    channel: Channel,
    accuracy: InstrumentAccuracy,
    gauges: str,
    scale: float,
    column: str,
    repeats_as: str = "",
) -> list[Error]:
    """Repeating and random part of one instrument's error on a channel."""
    flat = accuracy.distribution == "rectangular"
    repeating = standard_uncertainty(accuracy.repeating, accuracy.distribution) * scale
    random = standard_uncertainty(accuracy.random, accuracy.distribution) * scale
    key = ("instrument", gauges, repeats_as or column)
    parts = [
        Error(channel, 1.0, repeating, column, key, flat),
        Error(channel, 1.0, random, column, (NEW, column), flat),
    ]
    return [part for part in parts if part.spread > 0]


def habit_errors(channel: Channel, habit: Habit, scale: float, column: str, key: str) -> list[Error]:
    """Repeating and new part of an assumed value's error."""
    return [
        Error(channel, scale, habit.repeating, column, ("habit", key), False),
        Error(channel, scale, habit.random, column, (NEW, key), False),
    ]


def _water_errors(bench: Bench, reading: ReadingSet) -> list[Error]:
    gauges = gauges_of(reading)
    shared = "entering_water" if reading.probe_moved else ""
    one, other = bench.instruments["entering_water"], bench.instruments["leaving_water"]
    return [
        *instrument_errors(
            Channel.ENTERING, one, gauges, _scale(one, reading.entering_water_k), "entering_water"
        ),
        *instrument_errors(
            Channel.LEAVING, other, gauges, _scale(other, reading.leaving_water_k), "leaving_water", shared
        ),
    ]


def _scale(accuracy: InstrumentAccuracy, value: float | None) -> float:
    return float(value or 0.0) if accuracy.relative else 1.0


def slope_k(bench: Bench, pressure_pa: float) -> float:
    """Change of saturation temperature for a unit change of ln p. [K]"""
    low, high = bench.fluid.dew_temperature_k(_pair(pressure_pa))
    return float(high - low) / 0.02


def _pair(pressure_pa: float) -> NDArray[np.float64]:
    return pressure_pa * np.array([0.99, 1.01])


def _pressure(bench: Bench, reading: ReadingSet, assumed: list[str]) -> tuple[float, list[Error]]:
    cooling = reading.mode == "cooling"
    column = "head_pressure" if cooling else "suction_pressure"
    read = reading.head_pressure_pa if cooling else reading.suction_pressure_pa
    if read is not None:
        slope = slope_k(bench, read)
        accuracy = bench.instruments[column]
        errors = instrument_errors(
            Channel.PRESSURE, accuracy, gauges_of(reading), 1.0 if accuracy.relative else 1 / read, column
        )
        return read, errors + saturation_errors(bench, reading.mode, slope, column)
    assumed.append(column)
    if cooling and reading.liquid_line_k is not None:
        pressure = float(bench.fluid.bubble_pressure_pa(reading.liquid_line_k + bench.subcooling.value))
        habit, key = bench.subcooling, "subcooling"
    elif not cooling and reading.suction_line_k is not None:
        pressure = float(bench.fluid.dew_pressure_pa(reading.suction_line_k - bench.superheat.value))
        habit, key = bench.superheat, "superheat"
    else:
        raise NotObservable(
            "no_gauges",
            f"{column} was not read and no line temperature stands in for it: connect gauges, or clamp a "
            f"thermometer on the {'liquid' if cooling else 'suction'} line for a wider answer",
        )
    slope = slope_k(bench, pressure)
    sign = 1.0 if cooling else -1.0
    return pressure, [
        *habit_errors(Channel.PRESSURE, habit, sign / slope, column, key),
        *saturation_errors(bench, reading.mode, slope, column),
    ]


def saturation_errors(bench: Bench, mode: str, slope: float, column: str) -> list[Error]:
    """What lies between the port's pressure and the exchanger's temperature: line loss and refrigerant
    model."""
    model = bench.fluid.model_uncertainty_k
    return [
        Error(Channel.PRESSURE, 1 / slope, TAP_K, column, ("tap", mode), False),
        Error(Channel.PRESSURE, 1 / slope, max(model, 0.02), column, ("saturation_model",), False),
    ]


def _lines(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, float, list[Error]]:
    if reading.mode == "cooling":
        liquid, one = _liquid_cooling(bench, reading, pressure, assumed)
        third, other = _discharge(bench, reading, pressure, assumed)
    else:
        liquid, one = _liquid_heating(bench, reading, assumed)
        third, other = _suction(bench, reading, pressure, assumed)
    return liquid, third, one + other


def _clamp(
    bench: Bench, reading: ReadingSet, channel: Channel, column: str, value: float
) -> tuple[float, list[Error]]:
    accuracy = bench.instruments[column]
    return value, instrument_errors(channel, accuracy, gauges_of(reading), _scale(accuracy, value), column)


def _liquid_cooling(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, list[Error]]:
    read = reading.liquid_line_k
    entering = reading.entering_water_k or 0.0
    if read is not None and read > entering - BELOW_ENTERING_K:
        return _clamp(bench, reading, Channel.LIQUID, "liquid_line", max(read, entering + LEAST_END_K))
    assumed.append("liquid_line")
    bubble = float(bench.fluid.bubble_temperature_k(pressure))
    room = 0.75 * (bubble - (reading.entering_water_k or 0.0))
    subcooling = max(min(bench.subcooling.value, room), 0.5)
    return bubble - subcooling, habit_errors(
        Channel.LIQUID, bench.subcooling, -1.0, "liquid_line", "subcooling"
    )


def _discharge(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, list[Error]]:
    if reading.discharge_line_k is not None:
        return _clamp(bench, reading, Channel.THIRD, "discharge_line", reading.discharge_line_k)
    assumed.append("discharge_line")
    suction_dew = habits.USUAL_SUCTION_DEW_K
    if reading.suction_pressure_pa is not None:
        suction_dew = float(bench.fluid.dew_temperature_k(reading.suction_pressure_pa))
    superheat = bench.superheat.value
    if reading.suction_line_k is not None:
        superheat = max(reading.suction_line_k - suction_dew, 0.5)
    guess = habits.discharge_guess_k(bench.fluid, pressure, suction_dew, superheat)
    return guess, habit_errors(Channel.THIRD, habits.DISCHARGE, 1.0, "discharge_line", "discharge")


def _liquid_heating(bench: Bench, reading: ReadingSet, assumed: list[str]) -> tuple[float, list[Error]]:
    if reading.liquid_line_k is not None:
        return _clamp(bench, reading, Channel.LIQUID, "liquid_line", reading.liquid_line_k)
    assumed.append("liquid_line")
    if reading.head_pressure_pa is not None:
        bubble = float(bench.fluid.bubble_temperature_k(reading.head_pressure_pa))
        value = bubble - bench.subcooling.value
        return value, habit_errors(Channel.LIQUID, bench.subcooling, -1.0, "liquid_line", "subcooling")
    usual = habits.USUAL_LIQUID_HEATING_K
    return usual, habit_errors(Channel.LIQUID, habits.LIQUID_IN_HEATING, 1.0, "liquid_line", "liquid_heating")


def _suction(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, list[Error]]:
    if reading.suction_line_k is not None:
        end = (
            reading.entering_water_k
            if _counterflow_in_heating(bench.facts, reading)
            else reading.leaving_water_k
        )
        value = min(reading.suction_line_k, (end or math.inf) - LEAST_END_K)
        return _clamp(bench, reading, Channel.THIRD, "suction_line", value)
    assumed.append("suction_line")
    dew = float(bench.fluid.dew_temperature_k(pressure))
    end = (
        reading.leaving_water_k
        if not _counterflow_in_heating(bench.facts, reading)
        else reading.entering_water_k
    )
    superheat = max(min(bench.superheat.value, 0.75 * ((end or 0.0) - dew)), 0.5)
    return dew + superheat, habit_errors(Channel.THIRD, bench.superheat, 1.0, "suction_line", "superheat")


def _counterflow_in_heating(facts: ExchangerFacts, reading: ReadingSet) -> bool:
    if facts.flow_in_heating is not None:
        return facts.flow_in_heating == "counterflow"
    warmer_than_leaving = (
        reading.suction_line_k is not None
        and reading.leaving_water_k is not None
        and reading.suction_line_k > reading.leaving_water_k - 0.3
    )
    return warmer_than_leaving or facts.exchanger in ("shell_and_tube", "plate_and_frame")


def _suction_superheat(bench: Bench, reading: ReadingSet) -> float | None:
    if reading.suction_line_k is None or reading.suction_pressure_pa is None:
        return None
    return reading.suction_line_k - float(bench.fluid.dew_temperature_k(reading.suction_pressure_pa))


def _subcooling(bench: Bench, reading: ReadingSet) -> float | None:
    if reading.liquid_line_k is None or reading.head_pressure_pa is None:
        return None
    return float(bench.fluid.bubble_temperature_k(reading.head_pressure_pa)) - reading.liquid_line_k


def power_of(reading: ReadingSet) -> float | None:
    """Compressor power [W] as read, or from volts, amps and power factor."""
    if reading.compressor_power_w is not None:
        return reading.compressor_power_w
    if reading.volts_v is None or reading.amps_a is None or reading.power_factor is None:
        return None
    power = balance.electrical_power(
        reading.volts_v, reading.amps_a, reading.phases or 1, reading.power_factor
    )
    return float(power)


def _refrigerant_heat(bench: Bench, reading: ReadingSet) -> float | None:
    """Heat through the water-side exchanger by the refrigerant, None where it can't be told. [W]"""
    power = power_of(reading)
    superheat = _suction_superheat(bench, reading)
    head, discharge, liquid = reading.head_pressure_pa, reading.discharge_line_k, reading.liquid_line_k
    if power is None or superheat is None or head is None or discharge is None or liquid is None:
        return None
    suction, suction_k = reading.suction_pressure_pa, reading.suction_line_k
    if suction is None or suction_k is None or superheat < balance.LEAST_SUPERHEAT_K or power <= 0:
        return None
    if discharge < float(bench.fluid.dew_temperature_k(head)) + balance.LEAST_SUPERHEAT_K:
        return None
    before = float(bench.fluid.vapour_enthalpy_j_per_kg(suction, suction_k))
    after = float(bench.fluid.vapour_enthalpy_j_per_kg(head, discharge))
    at_valve = float(bench.fluid.liquid_enthalpy_j_per_kg(liquid))
    if after - before < 5e3:
        return None
    loss = sum(balance.SHELL_LOSS_LIMITS) / 2
    mass = balance.refrigerant_flow(power, loss, after, before)
    hot = after if reading.mode == "cooling" else before
    return float(balance.refrigerant_heat(mass, hot, at_valve))


def _flow(
    bench: Bench,
    reading: ReadingSet,
    change: float,
    heat: float | None,
    maybe_scaled: bool,
    water_errors: list[Error],
) -> flow_sources.CombinedFlow:
    gauges = gauges_of(reading)
    entering = reading.entering_water_k or 0.0
    density = float(bench.liquid.density_kg_per_m3(entering))
    mean = 0.5 * (entering + (reading.leaving_water_k or entering))
    specific_heat = float(bench.liquid.specific_heat_j_per_kg_k(mean))
    drop_accuracy = bench.instruments["water_pressure_drop"]
    sign = 1.0 if reading.mode == "cooling" else -1.0
    probes = [
        flow_sources.FlowPart(
            one.spread,
            one.group,
            one.key,
            one.rectangular,
            weight=(sign if one.channel == Channel.ENTERING else -sign) / change,
        )
        for one in water_errors
    ]
    candidates = (
        flow_sources.metered(reading, density, bench.instruments["water_flow"], gauges),
        flow_sources.by_pressure_drop(reading, bench.curve, bench.liquid, drop_accuracy, gauges),
        flow_sources.by_refrigerant_heat(
            heat, specific_heat, change, bench.instruments["compressor_power"], gauges, probes
        ),
    )
    design = flow_sources.by_design(bench.facts.design_flow_m3_per_s, density)
    combined = flow_sources.combine([one for one in candidates if one is not None], design, maybe_scaled)
    if combined is None:
        raise NotObservable(
            "no_flow",
            "water flow can't be told: read a flow meter or the water pressure drop, or enter the design "
            "flow",
        )
    return combined
