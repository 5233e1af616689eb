"""Gates on the refrigerant's pressures and lines, against each other and against the water."""

from __future__ import annotations

from diagnostics.engine.bench import Bench
from diagnostics.engine.channels import BELOW_ENTERING_K, counterflow_in_heating
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.gate import Gate, celsius, fluid_words, kilopascal
from diagnostics.engine.records import ReadingSet

FLOODBACK_K = -3.0
PASSES_SATURATION_K = 2.0
LEAST_SUBCOOLING_K = -2.0
NO_LIQUID_K = -5.0
"""Above bubble by more than this no gauge or clamp errs: the line that was read holds no liquid."""


def check(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    """Pressures in their range first; then saturation and lines."""
    _pressures(gate, bench, reading)
    if not gate.withheld:
        _saturation(gate, bench, reading)
        _lines(gate, bench, reading)


def suspect_of_crossing(reading: ReadingSet) -> str:
    """The reading that most often lies where temperatures of water and refrigerant cross."""
    column = "head_pressure" if reading.mode == "cooling" else "suction_pressure"
    return column if getattr(reading, f"{column}_pa") is not None else "leaving_water"


def _pressures(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    head, suction = reading.head_pressure_pa, reading.suction_pressure_pa
    for column, value in (("head_pressure", head), ("suction_pressure", suction)):
        if value is None:
            continue
        try:
            bench.fluid.bubble_temperature_k(value)
            bench.fluid.dew_temperature_k(value)
        except OutOfRange as problem:
            gate.stop(
                f"{column}_out_of_range",
                f"{column} {kilopascal(value)} absolute is no saturation pressure of "
                f"{bench.fluid.name}: right would be {problem.low / 1000:.0f} to {kilopascal(problem.high)} "
                "absolute; check the unit, and gauge against absolute",
                column,
            )
    if head is not None and suction is not None and head <= suction:
        gate.stop(
            "head_below_suction",
            f"head_pressure {kilopascal(head)} absolute is not above suction_pressure "
            f"{kilopascal(suction)} absolute: check which gauge is which, and that the compressor runs",
            "head_pressure",
        )


def _saturation(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    if reading.mode == "cooling":
        _condensing(gate, bench, reading)
    else:
        _evaporating(gate, bench, reading)


def _condensing(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    head, entering, leaving = reading.head_pressure_pa, reading.entering_water_k, reading.leaving_water_k
    discharge = reading.discharge_line_k
    if entering is None or leaving is None:
        return
    if discharge is not None and leaving >= discharge:
        gate.stop(
            "leaving_water_beyond_discharge",
            f"leaving_water {celsius(leaving)} is above the discharge line at {celsius(discharge)}: water "
            "can't leave "
            f"warmer than the hottest refrigerant; right would be below {celsius(discharge)}",
            "leaving_water",
        )
    if head is None:
        return
    dew = float(bench.fluid.dew_temperature_k(head))
    if dew <= entering:
        gate.stop(
            "condensing_below_entering_water",
            f"head_pressure {kilopascal(head)} absolute condenses at {celsius(dew)}, not above "
            "entering_water "
            f"{celsius(entering)}: no heat could pass; check the gauge, the refrigerant and the thermometer",
            "head_pressure",
        )
    elif discharge is None and leaving > dew + PASSES_SATURATION_K:
        gate.stop(
            "leaving_water_beyond_saturation",
            f"leaving_water {celsius(leaving)} is more than {PASSES_SATURATION_K:g} K above condensing at "
            f"{celsius(dew)}: right would be below that, or read the discharge line to show what the gas "
            "could give",
            "leaving_water",
        )
    elif leaving > dew:
        gate.note(
            "leaving_water_passes_saturation",
            f"leaving_water {celsius(leaving)} passes condensing at {celsius(dew)}: the hot gas can do "
            "that at low "
            "flow, so only the zones can tell",
        )


def _evaporating(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    suction, entering, leaving = (
        reading.suction_pressure_pa,
        reading.entering_water_k,
        reading.leaving_water_k,
    )
    if suction is None or entering is None or leaving is None:
        return
    dew = float(bench.fluid.dew_temperature_k(suction))
    bubble = float(bench.fluid.bubble_temperature_k(suction))
    coldest = min(bubble + 0.35 * (dew - bubble), dew)
    if leaving <= coldest:
        gate.stop(
            "leaving_water_beyond_saturation",
            f"leaving_water {celsius(leaving)} is not above evaporating at {celsius(coldest)}: the "
            "refrigerant can't "
            "cool water below itself; check the suction gauge, the refrigerant and the thermometer",
            "suction_pressure",
        )
        return
    freezing = bench.liquid.freezing_point_k
    warm, cold = (coldest + share * (leaving - coldest) for share in (0.8, 0.4))
    if warm < freezing - 0.5:
        gate.stop(
            "wall_would_freeze",
            f"evaporating at {celsius(coldest)} the wall would be near {celsius(warm)} or colder, but "
            f"{fluid_words(bench)} freezes at {celsius(freezing)}: check the antifreeze strength and "
            "suction_pressure",
            "antifreeze",
        )
    elif cold < freezing:
        gate.note(
            "wall_near_freezing",
            f"evaporating at {celsius(coldest)} the wall may be near {celsius(cold)} and "
            f"{fluid_words(bench)} "
            f"freezes at {celsius(freezing)}: ice insulates like fouling and can burst the exchanger",
        )


def _lines(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    suction, suction_line = reading.suction_pressure_pa, reading.suction_line_k
    if suction is not None and suction_line is not None:
        superheat = suction_line - float(bench.fluid.dew_temperature_k(suction))
        if superheat < FLOODBACK_K:
            gate.stop(
                "superheat_impossible",
                f"superheat is {superheat:.1f} K (suction_line {celsius(suction_line)}): below "
                f"{FLOODBACK_K:g} K it is "
                "a reading error; right would be 3 to 12 K",
                "suction_line",
            )
        elif superheat < 0:
            gate.note(
                "floodback",
                f"superheat is {superheat:.1f} K: as far as gauge and clamp tell, liquid may be coming back "
                "to the compressor (a flooded evaporator runs near 0 K); a finding of its own",
            )
    _warmed_after(gate, bench, reading)
    head, liquid = reading.head_pressure_pa, reading.liquid_line_k
    if head is None or liquid is None:
        return
    subcooling = float(bench.fluid.bubble_temperature_k(head)) - liquid
    if subcooling < LEAST_SUBCOOLING_K:
        text = (
            f"liquid_line {celsius(liquid)} is {-subcooling:.1f} K above bubble at the head pressure: gas "
            "in the "
            "liquid line or a reading error; right would be 2 to 12 K below"
        )
        if reading.mode == "cooling" or subcooling < NO_LIQUID_K:
            gate.stop("subcooling_impossible", text, "liquid_line")
        else:
            gate.note("subcooling_negative", text)
    elif subcooling < 0:
        gate.note("subcooling_negative", f"subcooling is {subcooling:.1f} K: the charge may be low")
    entering = reading.entering_water_k
    if reading.mode == "cooling" and entering is not None and liquid < entering - BELOW_ENTERING_K:
        gate.note(
            "liquid_line_below_entering_water",
            f"liquid_line {celsius(liquid)} is below entering_water {celsius(entering)}: it was cooled "
            "after the "
            "exchanger, so it is not used; clamp it right at the exchanger's outlet" + _swapped(reading),
        )


def _swapped(reading: ReadingSet) -> str:
    """Where the suction line is the warmer of the two: the clamps may hang the wrong way round."""
    liquid, suction = reading.liquid_line_k, reading.suction_line_k
    if liquid is None or suction is None or suction <= liquid:
        return ""
    return f" (suction_line is warmer, {celsius(suction)}: see whether the two clamps are swapped)"


def _warmed_after(gate: Gate, bench: Bench, reading: ReadingSet) -> None:
    """A suction line warmer than the water it leaves beside: said, since the water's temperature is taken."""
    suction, entering, leaving = reading.suction_line_k, reading.entering_water_k, reading.leaving_water_k
    if reading.mode != "heating" or suction is None or entering is None or leaving is None:
        return
    if suction > entering + BELOW_ENTERING_K:
        gate.note(
            "suction_line_above_entering_water",
            f"suction_line {celsius(suction)} is above entering_water {celsius(entering)}, which heats it: "
            "it was warmed after the exchanger or the clamp hangs on another pipe, so it is taken at the "
            "water's temperature; clamp it right at the exchanger's outlet" + _swapped(reading),
        )
    elif suction > leaving + BELOW_ENTERING_K and not counterflow_in_heating(bench.facts, reading):
        gate.note(
            "suction_line_above_leaving_water",
            f"suction_line {celsius(suction)} is above leaving_water {celsius(leaving)}, which no exchanger "
            "in parallel flow shows, so it is taken at the water's temperature: check flow_in_heating "
            "on record (parallel), and that the clamp sits at the exchanger's outlet",
        )
