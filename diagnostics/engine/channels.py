"""The refrigerant's channels of a reading set: pressure, liquid line and the third temperature."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import fan, habits
from diagnostics.engine.bench import (
    Bench,
    NotObservable,
    gauges_of,
    habit_errors,
    instrument_errors,
    power_of,
    scale_of,
)
from diagnostics.engine.habits import Habit
from diagnostics.engine.observation import Channel, Error
from diagnostics.engine.power import saturation_by_power
from diagnostics.engine.records import ExchangerFacts, ReadingSet, reverses
from diagnostics.engine.references import RATED_HEAT

TAP_K = 0.2
"""Standard uncertainty of the line loss between exchanger and gauge at the rated heat, told in saturation
temperature (common practice); it grows with the square of the refrigerant's flow, so of the heat."""
LEAST_LOAD, MOST_LOAD = 0.3, 1.5
"""Heat over rated heat within which the line loss is scaled; farther off the rating is hardly this
machine's."""
BELOW_ENTERING_K = 1.5
"""What a clamp and a water thermometer at their limits may tell against each other."""
LEAST_END_K = 0.0
"""A line read beyond the water it meets, by no more than noise, is taken at the water's temperature."""


def slope_k(bench: Bench, pressure_pa: float) -> float:
    """Change of saturation temperature for a unit change of ln p. [K]"""
    low, high = bench.fluid.dew_temperature_k(_pair(pressure_pa))
    return float(high - low) / 0.02


def _pair(pressure_pa: float) -> NDArray[np.float64]:
    return pressure_pa * np.array([0.99, 1.01])


def pressure_of(
    bench: Bench, reading: ReadingSet, heat_w: float | None, assumed: list[str]
) -> tuple[float, list[Error]]:
    """ln p's pressure on the water side's refrigerant, read or stood in for, with its errors."""
    cooling = reading.mode == "cooling"
    column = "head_pressure" if cooling else "suction_pressure"
    read = reading.head_pressure_pa if cooling else reading.suction_pressure_pa
    if read is not None:
        slope = slope_k(bench, read)
        accuracy = bench.instruments[column]
        errors = instrument_errors(
            Channel.PRESSURE, accuracy, gauges_of(reading), 1.0 if accuracy.relative else 1 / read, column
        )
        return read, errors + saturation_errors(bench, reading.mode, slope, column, heat_w)
    assumed.append(column)
    return _without_gauge(bench, reading, heat_w, column)


def _without_gauge(
    bench: Bench, reading: ReadingSet, heat_w: float | None, column: str
) -> tuple[float, list[Error]]:
    """Pressure told by a line temperature and a usual subcooling or superheat, else by heat over power."""
    by_fan: list[Error] = []
    cooling = reading.mode == "cooling"
    if cooling and reading.liquid_line_k is not None:
        pressure = float(bench.fluid.bubble_pressure_pa(reading.liquid_line_k + bench.subcooling.value))
        habit, sign = bench.subcooling, 1.0
    elif not cooling and reading.suction_line_k is not None:
        pressure = float(bench.fluid.dew_pressure_pa(reading.suction_line_k - bench.superheat.value))
        habit, sign = bench.superheat, -1.0
    else:
        power, habit = _power_or_amps(bench, reading)
        if power is None or heat_w is None:
            raise NotObservable("no_gauges", _no_gauges(column, reading), column)
        pressure, sign = _by_power(bench, reading, heat_w / power.power_w), 1.0
        by_fan = _by_fan(bench, reading, heat_w, power, pressure, column)
    slope = slope_k(bench, pressure)
    return pressure, [
        *by_fan,
        *habit_errors(Channel.PRESSURE, habit, sign / slope, column),
        *saturation_errors(bench, reading.mode, slope, column, heat_w),
    ]


def _power_or_amps(bench: Bench, reading: ReadingSet) -> tuple[fan.Compressor | None, Habit]:
    """The compressor's power as read, else by amps as a clean visit taught (a fan on both times is in what it
    taught), and how well it tells saturation."""
    power, amps = fan.compressor_power(bench.facts, reading), reading.amps_a
    if power_of(reading) is None and amps is not None and amps > 0 and bench.watts_per_amp is not None:
        return fan.Compressor(amps * bench.watts_per_amp), habits.SATURATION_BY_AMPS
    return power, habits.SATURATION_BY_POWER


def _no_gauges(column: str, reading: ReadingSet) -> str:
    line = "liquid" if reading.mode == "cooling" else "suction"
    amps = ""
    if reading.amps_a is not None:
        amps = (
            " (amps tell by volts and power factor read with them, or against a clean visit that read amps "
            "and gauges)"
        )
    return (
        f"{column} was not read, and no line temperature or compressor power stands in for it{amps}: "
        f"connect gauges, or clamp a thermometer on the {line} line for a wider answer"
    )


def _by_power(bench: Bench, reading: ReadingSet, ratio: float) -> float:
    """Pressure at which a usual compressor would turn this much power into this much heat."""
    low, high = bench.fluid.minimum_temperature_k + 15.0, bench.fluid.maximum_temperature_k - 10.0
    entering = reading.entering_water_k or 0.0
    if reading.mode == "cooling":
        other, span = habits.USUAL_SUCTION_DEW_K, (max(entering, low), min(entering + 45.0, high))
    else:
        other, span = habits.USUAL_CONDENSING_K, (max(entering - 45.0, low), min(entering, high))
    found = saturation_by_power(
        bench.fluid,
        ratio,
        reading.mode == "cooling",
        other,
        span,
        bench.superheat.value,
        bench.subcooling.value,
    )
    return float(bench.fluid.dew_pressure_pa(found))


def _by_fan(
    bench: Bench, reading: ReadingSet, heat_w: float, power: fan.Compressor, pressure: float, column: str
) -> list[Error]:
    """What a fan taken off the power leaves open in the pressure told by it."""
    if power.spread == 0:
        return []
    more = _by_power(bench, reading, heat_w / power.power_w * math.exp(-power.spread))
    off = math.log(more / pressure)
    return [Error(Channel.PRESSURE, math.copysign(1.0, off), abs(off), column, fan.KEY)] if off else []


def saturation_errors(
    bench: Bench, mode: str, slope: float, column: str, heat_w: float | None
) -> list[Error]:
    """What lies between the port's pressure and the exchanger's temperature: line loss and refrigerant
    model."""
    model = bench.fluid.model_uncertainty_k
    return [
        Error(
            Channel.PRESSURE,
            line_loss(bench.facts, mode, heat_w) / slope,
            TAP_K,
            column,
            ("tap", mode),
            False,
        ),
        Error(Channel.PRESSURE, 1 / slope, max(model, 0.02), column, ("saturation_model",), False),
    ]


def line_loss(facts: ExchangerFacts, mode: str, heat_w: float | None) -> float:
    """Line loss over that at the rated heat [-]: as the flow squared; 1 where no rating is known."""
    if facts.capacity_w is None or heat_w is None:
        return 1.0
    load = heat_w / (RATED_HEAT[mode] * facts.capacity_w)
    return min(max(load, LEAST_LOAD), MOST_LOAD) ** 2


def lines_of(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, float, list[Error]]:
    """Liquid line and third temperature, read or stood in for, with their errors."""
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
    return value, instrument_errors(channel, accuracy, gauges_of(reading), scale_of(accuracy, value), column)


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
    return bubble - subcooling, habit_errors(Channel.LIQUID, bench.subcooling, -1.0, "liquid_line")


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
    return guess, habit_errors(Channel.THIRD, habits.DISCHARGE, 1.0, "discharge_line")


def _liquid_heating(bench: Bench, reading: ReadingSet, assumed: list[str]) -> tuple[float, list[Error]]:
    if reading.liquid_line_k is not None:
        return _clamp(bench, reading, Channel.LIQUID, "liquid_line", reading.liquid_line_k)
    assumed.append("liquid_line")
    if reading.head_pressure_pa is not None:
        bubble = float(bench.fluid.bubble_temperature_k(reading.head_pressure_pa))
        value = bubble - bench.subcooling.value
        return value, habit_errors(Channel.LIQUID, bench.subcooling, -1.0, "liquid_line")
    usual = habits.USUAL_LIQUID_HEATING_K
    return usual, habit_errors(Channel.LIQUID, habits.LIQUID_IN_HEATING, 1.0, "liquid_line")


def _suction(
    bench: Bench, reading: ReadingSet, pressure: float, assumed: list[str]
) -> tuple[float, list[Error]]:
    if reading.suction_line_k is not None:
        end = (
            reading.entering_water_k
            if counterflow_in_heating(bench.facts, reading)
            else reading.leaving_water_k
        )
        value = min(reading.suction_line_k, (end or math.inf) - LEAST_END_K)
        return _clamp(bench, reading, Channel.THIRD, "suction_line", value)
    assumed.append("suction_line")
    dew = float(bench.fluid.dew_temperature_k(pressure))
    end = (
        reading.leaving_water_k
        if not counterflow_in_heating(bench.facts, reading)
        else reading.entering_water_k
    )
    superheat = max(min(bench.superheat.value, 0.75 * ((end or 0.0) - dew)), 0.5)
    return dew + superheat, habit_errors(Channel.THIRD, bench.superheat, 1.0, "suction_line")


def counterflow_in_heating(facts: ExchangerFacts, reading: ReadingSet) -> bool:
    """As the register tells, else what the suction line shows, else what is usual for the machine."""
    if facts.flow_in_heating is not None:
        return facts.flow_in_heating == "counterflow"
    warmer_than_leaving = (
        reading.suction_line_k is not None
        and reading.leaving_water_k is not None
        and reading.suction_line_k > reading.leaving_water_k - 0.3
    )
    return warmer_than_leaving or not reverses(facts)
