"""A maker's operating table as observations of a clean machine of the same model."""

from __future__ import annotations

import math

from diagnostics.engine import habits
from diagnostics.engine.bench import Bench, habit_errors
from diagnostics.engine.channels import saturation_errors, slope_k
from diagnostics.engine.errors import OutOfRange
from diagnostics.engine.flow import FlowCurve
from diagnostics.engine.observation import NEW, Channel, Error, Observation, coefficients
from diagnostics.engine.records import TableRow, reverses
from diagnostics.engine.references import rating_allowance_k_per_w
from diagnostics.engine.waters import Water

HALF = 0.5**0.5
"""A printed range is taken as even, half of its variance the table's own and half the row's."""
FLOW_SPREAD = 0.02
LEAST_CHANGE_K = 0.3
CHANGE_SPREAD = 0.05
"""Where a table prints one value instead of a range (rounding and tolerance, common practice)."""


def middle(low: float | None, high: float | None) -> tuple[float, float] | None:
    """Middle and standard uncertainty of a printed range; one end alone is a value without width."""
    if low is None and high is None:
        return None
    bottom = low if low is not None else high
    top = high if high is not None else low
    assert bottom is not None and top is not None
    return 0.5 * (bottom + top), abs(top - bottom) / 12**0.5


def observe_row(bench: Bench, row: TableRow) -> Observation | None:
    """The row as an observation of the clean machine; None where it lacks what can't be assumed."""
    cooling = row.mode == "cooling"
    pressure = (
        middle(row.head_low_pa, row.head_high_pa)
        if cooling
        else middle(row.suction_low_pa, row.suction_high_pa)
    )
    change = middle(row.water_temperature_change_low_k, row.water_temperature_change_high_k)
    volume = row.water_flow_m3_per_s or bench.facts.design_flow_m3_per_s
    entering = row.entering_water_k
    if pressure is None or entering is None or change is None or volume is None or volume <= 0:
        return None
    if change[0] <= LEAST_CHANGE_K:
        return None
    try:
        return _observe(bench, row, pressure, change, volume, entering)
    except OutOfRange:
        return None


def _observe(
    bench: Bench,
    row: TableRow,
    pressure: tuple[float, float],
    change: tuple[float, float],
    volume: float,
    entering: float,
) -> Observation:
    cooling = row.mode == "cooling"
    column = "head_pressure" if cooling else "suction_pressure"
    tag = (row.mode, row.stage)
    leaving = entering + change[0] if cooling else entering - change[0]
    # Makers print their tables for plain water unless they say otherwise.
    ln_flow = math.log(volume * float(bench.plain.density_kg_per_m3(max(entering, 273.5))))
    specific_heat = float(bench.plain.specific_heat_j_per_kg_k(max(0.5 * (entering + leaving), 273.5)))
    heat = math.exp(ln_flow) * specific_heat * change[0]
    change_spread = change[1] if change[1] > 0 else CHANGE_SPREAD * change[0]
    pressure_spread = pressure[1] / pressure[0] if pressure[1] > 0 else 0.01
    errors = [
        *_shared(Channel.PRESSURE, pressure_spread, column, ("table", column, *tag)),
        *saturation_errors(bench, row.mode, slope_k(bench, pressure[0]), column, heat),
        *_shared(Channel.LEAVING, change_spread, "leaving_water", ("table", "change", *tag)),
        Error(Channel.FLOW, 1.0, FLOW_SPREAD, "water_flow", (NEW, "flow")),
    ]
    liquid, liquid_errors = _liquid(bench, row, pressure[0])
    third, third_errors = _third(bench, row, pressure[0])
    values = (entering, leaving, ln_flow, math.log(pressure[0]), liquid, third)
    printed = middle(row.subcooling_low_k, row.subcooling_high_k) is not None
    assumed = () if printed else ("liquid_line",)
    return Observation(
        mode=row.mode,
        stage=row.stage,
        values=values,
        errors=(*errors, *liquid_errors, *third_errors),
        coefficients=coefficients(bench.fluid, bench.plain, row.mode, values, assumed),
        counterflow=cooling or _counterflow(bench),
        is_table=True,
        allowance_k_per_w=rating_allowance_k_per_w(bench.facts, row.mode),
    )


def _counterflow(bench: Bench) -> bool:
    if bench.facts.flow_in_heating is not None:
        return bench.facts.flow_in_heating == "counterflow"
    return not reverses(bench.facts)


def _shared(channel: Channel, spread: float, column: str, key: tuple[str, ...]) -> list[Error]:
    return [
        Error(channel, HALF, spread, column, key),
        Error(channel, HALF, spread, column, (NEW, column)),
    ]


def _liquid(bench: Bench, row: TableRow, pressure: float) -> tuple[float, list[Error]]:
    printed = middle(row.subcooling_low_k, row.subcooling_high_k)
    head = middle(row.head_low_pa, row.head_high_pa)
    if head is None:
        value = habits.USUAL_LIQUID_HEATING_K
        return value, habit_errors(Channel.LIQUID, habits.LIQUID_IN_HEATING, 1.0, "liquid_line")
    bubble = float(bench.fluid.bubble_temperature_k(head[0]))
    if printed is None:
        value = bubble - bench.subcooling.value
        return value, habit_errors(Channel.LIQUID, bench.subcooling, -1.0, "liquid_line")
    key = ("table", "subcooling", row.mode, row.stage)
    errors = _shared(Channel.LIQUID, max(printed[1], 0.5), "liquid_line", key)
    return bubble - printed[0], errors + _follows_bubble(bench, row, head)


def _follows_bubble(bench: Bench, row: TableRow, head: tuple[float, float]) -> list[Error]:
    """Subcooling is printed, not the liquid line: the line moves with the printed head pressure's error."""
    if row.mode != "cooling":
        return []
    low, high = (float(bench.fluid.bubble_temperature_k(head[0] * part)) for part in (0.99, 1.01))
    slope = (high - low) / 0.02
    spread = head[1] / head[0] if head[1] > 0 else 0.01
    key = ("table", "head_pressure", row.mode, row.stage)
    return [
        Error(Channel.LIQUID, HALF * slope, spread, "head_pressure", key),
        Error(Channel.LIQUID, HALF * slope, spread, "head_pressure", (NEW, "head_pressure")),
    ]


def _third(bench: Bench, row: TableRow, pressure: float) -> tuple[float, list[Error]]:
    printed = middle(row.superheat_low_k, row.superheat_high_k)
    suction = middle(row.suction_low_pa, row.suction_high_pa)
    superheat = printed[0] if printed else bench.superheat.value
    dew = habits.USUAL_SUCTION_DEW_K
    if suction is not None:
        dew = float(bench.fluid.dew_temperature_k(suction[0]))
    if row.mode == "cooling":
        value = habits.discharge_guess_k(bench.fluid, pressure, dew, superheat)
        return value, habit_errors(Channel.THIRD, habits.DISCHARGE, 1.0, "discharge_line")
    if printed is None or suction is None:
        return dew + superheat, habit_errors(Channel.THIRD, bench.superheat, 1.0, "suction_line")
    low, high = (float(bench.fluid.dew_temperature_k(suction[0] * part)) for part in (0.99, 1.01))
    slope = (high - low) / 0.02
    spread = suction[1] / suction[0] if suction[1] > 0 else 0.01
    return dew + superheat, [
        *_shared(
            Channel.THIRD, max(printed[1], 0.5), "suction_line", ("table", "superheat", row.mode, row.stage)
        ),
        Error(
            Channel.THIRD,
            HALF * slope,
            spread,
            "suction_pressure",
            ("table", "suction_pressure", row.mode, row.stage),
        ),
        Error(Channel.THIRD, HALF * slope, spread, "suction_pressure", (NEW, "suction_pressure")),
    ]


def curve_from_table(rows: list[TableRow], plain: Water) -> FlowCurve | None:
    """A clean pressure-drop curve from the printed rows: the largest flow, and the exponent where two flows
    differ."""
    points = sorted(
        (row.water_flow_m3_per_s, row.water_pressure_drop_pa)
        for row in rows
        if row.water_flow_m3_per_s and row.water_pressure_drop_pa
        if row.water_flow_m3_per_s > 0 and row.water_pressure_drop_pa > 0
    )
    if not points:
        return None
    (low_flow, low_drop), (flow, drop) = points[0], points[-1]
    if flow < 1.2 * low_flow:
        return FlowCurve(flow, drop, 1.85, False)
    exponent = math.log(drop / low_drop) / math.log(flow / low_flow)
    known = 1.5 <= exponent <= 2.1
    return FlowCurve(flow, drop, exponent if known else 1.85, known)
