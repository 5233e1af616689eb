"""From a reading set to an observation: which channel was read, which is assumed, and with what errors."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnostics.engine import fan, flow_combining, flow_sources, hunting, refrigerant_side
from diagnostics.engine.bench import (
    Bench,
    NotObservable,
    gauges_of,
    instrument_errors,
    scale_of,
)
from diagnostics.engine.channels import counterflow_in_heating, lines_of, pressure_of
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.observation import Channel, Error, Observation, coefficients
from diagnostics.engine.records import ReadingSet

LEAST_CHANGE_K = 0.3


@dataclass(frozen=True, slots=True)
class Seen:
    """An observation with what else the set told."""

    observation: Observation
    flow: flow_combining.CombinedFlow
    suction_superheat_k: float | None
    subcooling_k: float | None
    bubble_k: float
    dew_k: float
    refrigerant_heat_w: float | None


@dataclass(frozen=True, slots=True)
class WaterSide:
    """What the water alone tells: flow with its sources, temperature change [K], heat [W], probes' errors."""

    flow: flow_combining.CombinedFlow
    change_k: float
    heat_w: float
    refrigerant_heat_w: float | None
    errors: tuple[Error, ...]

    @property
    def flow_spread(self) -> float:
        """Standard uncertainty of ln of flow."""
        return self.flow.spread

    @property
    def heat_spread(self) -> float:
        """Standard uncertainty of ln of heat."""
        probes = sum((one.spread / self.change_k) ** 2 for one in self.errors)
        return math.sqrt(self.flow_spread**2 + probes)


def water_side(bench: Bench, reading: ReadingSet, maybe_scaled: bool = True) -> WaterSide | None:
    """The water side alone; None where a temperature is missing, or heat flows the wrong way."""
    try:
        return _water_side(bench, reading, maybe_scaled)
    except (NotObservable, OutOfRange):
        return None


def _water_side(bench: Bench, reading: ReadingSet, maybe_scaled: bool) -> WaterSide:
    tin, tout = reading.entering_water_k, reading.leaving_water_k
    if tin is None or tout is None:
        missing = "entering_water" if tin is None else "leaving_water"
        raise NotObservable(
            f"{missing}_missing", f"{missing} was not read: without it there is no heat to judge by", missing
        )
    change = (tout - tin) if reading.mode == "cooling" else (tin - tout)
    if change < LEAST_CHANGE_K:
        raise NotObservable(
            "temperature_change_too_small",
            f"water changes by {change:.2f} K only: too little to tell heat from thermometer error; right "
            "would be 2 to 8 K",
            "leaving_water",
        )
    errors = _water_errors(bench, reading)
    heat = refrigerant_side.heat(bench, reading)
    combined = _flow(bench, reading, change, heat, maybe_scaled, errors)
    mean = 0.5 * (tin + tout)
    by_water = math.exp(combined.ln_mass_flow) * float(bench.liquid.specific_heat_j_per_kg_k(mean)) * change
    return WaterSide(combined, change, by_water, heat, tuple(errors))


def observe(bench: Bench, reading: ReadingSet, maybe_scaled: bool) -> Seen:
    """See a reading set; raises NotObservable with the reason where it can't be."""
    assumed: list[str] = []
    try:
        side = _water_side(bench, reading, maybe_scaled)
        pressure, pressure_errors = pressure_of(bench, reading, side.heat_w, assumed)
        liquid, third, line_errors = lines_of(bench, reading, pressure, assumed)
        tin, tout = reading.entering_water_k or 0.0, reading.leaving_water_k or 0.0
        values = (tin, tout, side.flow.ln_mass_flow, math.log(pressure), liquid, third)
        numbers = coefficients(bench.fluid, bench.liquid, reading.mode, values, assumed)
    except OutOfRange as problem:
        raise NotObservable("out_of_range", f"{problem}: check the reading and its unit") from problem
    observation = Observation(
        mode=reading.mode,
        stage=reading.stage,
        values=values,
        errors=(
            *side.errors,
            *pressure_errors,
            *line_errors,
            *_flow_errors(side.flow),
            *hunting.errors_of(reading, bench.unsteady or {}),
        ),
        coefficients=numbers,
        counterflow=reading.mode == "cooling" or counterflow_in_heating(bench.facts, reading),
        assumed=tuple(assumed),
    )
    return Seen(
        observation,
        side.flow,
        refrigerant_side.suction_superheat(bench, reading),
        refrigerant_side.subcooling(bench, reading),
        numbers[0],
        numbers[3],
        side.refrigerant_heat_w,
    )


def _flow_errors(combined: flow_combining.CombinedFlow) -> list[Error]:
    return [
        Error(Channel.FLOW, w * part.weight, part.spread, part.group, part.key, part.rectangular, part.mean)
        for w, part in combined.parts
        if part.spread > 0
    ]


def _water_errors(bench: Bench, reading: ReadingSet) -> list[Error]:
    gauges = gauges_of(reading)
    shared = "entering_water" if reading.probe_moved else ""
    one, other = bench.instruments["entering_water"], bench.instruments["leaving_water"]
    return [
        *instrument_errors(
            Channel.ENTERING, one, gauges, scale_of(one, reading.entering_water_k), "entering_water"
        ),
        *instrument_errors(
            Channel.LEAVING, other, gauges, scale_of(other, reading.leaving_water_k), "leaving_water", shared
        ),
    ]


def _flow(
    bench: Bench,
    reading: ReadingSet,
    change: float,
    heat: float | None,
    maybe_scaled: bool,
    water_errors: list[Error],
) -> flow_combining.CombinedFlow:
    gauges = gauges_of(reading)
    entering = reading.entering_water_k or 0.0
    density = float(bench.liquid.density_kg_per_m3(entering))
    mean = 0.5 * (entering + (reading.leaving_water_k or entering))
    specific_heat = float(bench.liquid.specific_heat_j_per_kg_k(mean))
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
        *water_sources(bench, reading),
        flow_sources.by_refrigerant_heat(
            heat,
            specific_heat,
            change,
            bench.instruments["compressor_power"],
            gauges,
            [*probes, *_of_the_fan(bench, reading)],
            frozenset() if reading.power_includes_fan is None else frozenset(("power_includes_fan",)),
        ),
    )
    design = flow_sources.by_design(bench.facts.design_flow_m3_per_s, density)
    combined = flow_combining.combine([one for one in candidates if one is not None], design, maybe_scaled)
    if combined is None:
        raise NotObservable(
            "no_flow",
            "water flow can't be told: read a flow meter, the water pressure drop or the balancing valve's, "
            "or enter the design flow",
            "water_flow",
        )
    return combined


def _of_the_fan(bench: Bench, reading: ReadingSet) -> list[flow_sources.FlowPart]:
    """What a fan taken off the power leaves open."""
    told = fan.compressor_power(bench.facts, reading)
    if told is None or told.spread == 0:
        return []
    return [flow_sources.FlowPart(told.spread, "compressor_power", fan.KEY)]


def water_sources(bench: Bench, reading: ReadingSet) -> tuple[flow_sources.FlowSource | None, ...]:
    """The water's own accounts of its flow: meter, balancing valve, pressure drop."""
    gauges = gauges_of(reading)
    density = float(bench.liquid.density_kg_per_m3(reading.entering_water_k or 0.0))
    return (
        flow_sources.metered(reading, density, bench.instruments["water_flow"], gauges),
        flow_sources.by_balancing_valve(
            reading,
            bench.facts.balancing_valve_kv_m3_per_h,
            density,
            bench.instruments["balancing_valve_pressure_drop"],
            gauges,
        ),
        flow_sources.by_pressure_drop(
            reading, bench.curve, bench.liquid, bench.instruments["water_pressure_drop"], gauges, bench.facts
        ),
    )
