"""The saturation pressure at which the slices' areas add up to the exchanger's area."""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.optimize import brentq

from diagnostics.engine.forward.refrigerant_side import Path, Slice, path_at
from diagnostics.engine.forward.truth import (
    ExchangerTruth,
    ForwardState,
    NoOperatingPoint,
    OperatingPoint,
    UnitTruth,
)
from diagnostics.engine.forward.water_side import pressure_drop, water_film, water_side
from diagnostics.engine.refrigerants import Refrigerant, refrigerant

UNREACHABLE = 50.0


def solve(unit: UnitTruth, point: OperatingPoint) -> ForwardState:
    """Find the saturation pressure at which the slices' areas add up to the exchanger's area.

    Parameters
    ----------
    unit : UnitTruth
        The machine.
    point : OperatingPoint
        Where it runs.

    Returns
    -------
    ForwardState
        Every state a gauge or thermometer would show. Pressures [Pa], temperatures [K], flows [kg/s], heat
        [W].

    Raises
    ------
    NoOperatingPoint
        When no pressure in the refrigerant's range moves the heat.

    References
    ----------
    Energy balance and Q = U A LMTD slice by slice (Incropera & DeWitt, ch. 11).

    Examples
    --------
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    >>> state = solve(unit, OperatingPoint("cooling", 303.15, 0.55, 12_500.0))
    >>> 308 < state.dew_k < 322
    True
    """
    fluid = refrigerant(unit.exchanger.refrigerant)
    capacity_rate, leaving = water_side(unit.exchanger, point)

    flow = point.water_flow_kg_per_s
    films = (
        water_film(unit.exchanger, flow, point.entering_water_k),
        water_film(unit.exchanger, flow, leaving),
    )

    def excess(dew_k: float) -> float:
        try:
            path = path_at(unit, point, fluid, dew_k)
        except ValueError:
            return UNREACHABLE if point.mode == "cooling" else -UNREACHABLE
        needed = _area_needed(unit.exchanger, point, path, capacity_rate, leaving, films)
        if needed == math.inf:
            return UNREACHABLE
        return math.log(needed / unit.exchanger.area_m2)

    dew_k = _root(excess, *_bracket(point, fluid), point)
    return _state(unit, point, fluid, dew_k, leaving)


def _bracket(point: OperatingPoint, fluid: Refrigerant) -> tuple[float, float]:
    """Dew temperatures [K] between which the answer must lie."""
    if point.mode == "cooling":
        return point.entering_water_k - 2.0, float(fluid.maximum_temperature_k) - 1.0
    return float(fluid.minimum_temperature_k) + 1.0, point.entering_water_k + 2.0


def _root(excess: Callable[[float], float], low: float, high: float, point: OperatingPoint) -> float:
    if excess(low) * excess(high) > 0:
        raise NoOperatingPoint(
            f"no saturation temperature between {low:.1f} and {high:.1f} K moves {point.heat_w:.0f} W "
            f"at entering water {point.entering_water_k:.1f} K and {point.water_flow_kg_per_s:.3f} kg/s"
        )
    return float(brentq(excess, low, high, xtol=1e-6, rtol=1e-12))


def _area_needed(
    exchanger: ExchangerTruth,
    point: OperatingPoint,
    path: Path,
    capacity_rate: float,
    leaving: float,
    films: tuple[float, float],
) -> float:
    """Area [m2] asked for at this pressure; infinite where one stream would have to cross the other."""
    cooling = point.mode == "cooling"
    arrangement = exchanger.cooling_arrangement if cooling else exchanger.heating_arrangement
    sign = 1.0 if cooling else -1.0
    water_k = point.entering_water_k if arrangement == "parallel" else leaving
    direction = 1.0 if arrangement == "parallel" else -1.0
    film_in, film_out = films
    span = leaving - point.entering_water_k
    total = 0.0
    for part in path.slices:
        heat = path.refrigerant_flow * abs(part.h_end - part.h_start)
        next_k = water_k + direction * sign * heat / capacity_rate
        first, last = sign * (part.t_start - water_k), sign * (part.t_end - next_k)
        if first <= 1e-9 or last <= 1e-9:
            return math.inf
        along = (0.5 * (water_k + next_k) - point.entering_water_k) / span
        rest = (
            1.0 / (film_in + (film_out - film_in) * along)
            + exchanger.wall_resistance_m2k_per_w
            + exchanger.fouling_resistance_m2k_per_w
        )
        total += _slice_area(part, heat, first, last, rest, exchanger.rating_flux_w_per_m2)
        water_k = next_k
    return total


def _slice_area(
    part: Slice, heat: float, first: float, last: float, rest: float, rating_flux: float
) -> float:
    mean = first if abs(first - last) < 1e-9 * first else (first - last) / math.log(first / last)
    conductance = 1.0 / (1.0 / part.film + rest)
    if part.exponent:
        for _ in range(6):
            film = part.film * (conductance * mean / rating_flux) ** part.exponent
            conductance = 1.0 / (1.0 / film + rest)
    return heat / (conductance * mean)


def _state(
    unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, dew_k: float, leaving: float
) -> ForwardState:
    path = path_at(unit, point, fluid, dew_k)
    pressure = float(fluid.dew_pressure_pa(dew_k))
    return ForwardState(
        mode=point.mode,
        pressure_pa=pressure,
        bubble_k=float(fluid.bubble_temperature_k(pressure)),
        dew_k=dew_k,
        head_pa=path.head,
        suction_pa=path.suction,
        suction_line_k=path.suction_line,
        discharge_line_k=path.discharge_line,
        liquid_line_k=path.liquid_line,
        refrigerant_flow_kg_per_s=path.refrigerant_flow,
        entering_water_k=point.entering_water_k,
        leaving_water_k=leaving,
        water_flow_kg_per_s=point.water_flow_kg_per_s,
        heat_w=point.heat_w,
        power_w=path.power,
        water_pressure_drop_pa=pressure_drop(
            unit.exchanger, point.water_flow_kg_per_s, 0.5 * (point.entering_water_k + leaving)
        ),
        fouling_resistance_m2k_per_w=unit.exchanger.fouling_resistance_m2k_per_w,
    )
