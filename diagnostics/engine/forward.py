"""A plain forward model of one refrigerant-to-water exchanger: known truth in, what a technician would read out.

It exists to try the inference and to make invented records, so its modelling choices are its own: the refrigerant's
path is cut into slices, each with its own logarithmic temperature difference, local heat flux and local water film.

How to use it::

    unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9, fouling_resistance_m2k_per_w=1e-4))
    point = OperatingPoint(mode="cooling", entering_water_k=303.15, water_flow_kg_per_s=0.55, heat_w=12_500.0)
    state = solve(unit, point)                       # saturation, temperatures, power, pressure drop
    true = reading_of(state, unit="HP-1", taken_at=when)     # a ReadingSet without instrument errors

`forward_cases` draws whole units, clean visits and routine visits, and adds instrument noise.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from scipy.optimize import brentq

from diagnostics.engine.records import ReadingSet
from diagnostics.engine.refrigerants import Refrigerant, refrigerant
from diagnostics.engine.waters import Water, water

RATING_WATER_K = 293.15
DESUPERHEAT_SLICES, TWO_PHASE_SLICES, SUBCOOL_SLICES = 3, 8, 3
UNREACHABLE = 50.0


class NoOperatingPoint(ValueError):
    """No saturation pressure within the refrigerant's range moves the asked heat through the given area."""


@dataclass(frozen=True, slots=True)
class ExchangerTruth:
    """What the exchanger really is; every film is told on the water-side area.

    `area_m2` [m2]; `water_film_w_per_m2k` [W/(m2.K)] on water at 20 degC at `rating_flow_kg_per_s` [kg/s], varying
    with flow to `water_exponent` [-] and with the fluid's properties; `wall_resistance_m2k_per_w` [m2.K/W];
    two-phase films [W/(m2.K)] at `rating_flux_w_per_m2` [W/m2], varying with local flux to their exponents [-];
    zone ratios [-] are films over the two-phase film at the rating flux; `quality_slope` [-] tilts the two-phase
    film along the quality; `fouling_resistance_m2k_per_w` [m2.K/W] is the truth sought. The pressure drop
    [Pa] is on water at 20 degC at the rating flow; `bore_m` [m] is narrowed by a deposit of
    `scale_conductivity_w_per_mk` [W/(m.K)].
    """

    refrigerant: str
    area_m2: float
    kind: str = "coaxial"
    water_film_w_per_m2k: float = 5500.0
    rating_flow_kg_per_s: float = 0.55
    water_exponent: float = 0.8
    wall_resistance_m2k_per_w: float = 5e-6
    condensing_film_w_per_m2k: float = 4000.0
    evaporating_film_w_per_m2k: float = 3500.0
    rating_flux_w_per_m2: float = 14_000.0
    condensing_flux_exponent: float = 0.0
    evaporating_flux_exponent: float = 0.3
    desuperheat_ratio: float = 0.25
    subcool_ratio: float = 0.45
    superheat_ratio: float = 0.15
    quality_slope: float = 0.2
    fouling_resistance_m2k_per_w: float = 0.0
    cooling_arrangement: str = "counterflow"
    heating_arrangement: str = "parallel"
    antifreeze: str = "none"
    antifreeze_fraction: float = 0.0
    pressure_drop_pa: float = 30_000.0
    pressure_drop_exponent: float = 1.8
    bore_m: float = 0.016
    scale_conductivity_w_per_mk: float = 1.5


@dataclass(frozen=True, slots=True)
class UnitTruth:
    """The exchanger and what of its machine the readings show.

    `isentropic_efficiency` [-] overall, from power to isentropic work; `shell_loss_fraction` [-] of the power leaves
    through the compressor's shell; `line_loss_pa` [Pa] at `line_loss_heat_w` [W] lies between exchanger and gauge,
    growing with the square of the heat (the head tap reads high in cooling, the suction tap low in heating).
    """

    exchanger: ExchangerTruth
    isentropic_efficiency: float = 0.65
    shell_loss_fraction: float = 0.05
    line_loss_pa: float = 0.0
    line_loss_heat_w: float = 12_500.0


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where the machine runs: `heat_w` [W] through the water-side exchanger, positive in both modes.

    `other_saturation_k` [K] is the dew temperature of the other exchanger while cooling and the bubble temperature
    of it while heating. `superheat_k` [K] and `subcooling_k` [K] carry the state of charge and valve;
    `air_pressure_pa` [Pa] is the partial pressure of air in the condenser, which the head gauge reads too.
    """

    mode: str
    entering_water_k: float
    water_flow_kg_per_s: float
    heat_w: float
    superheat_k: float = 6.0
    subcooling_k: float = 5.0
    other_saturation_k: float = 280.15
    air_pressure_pa: float = 0.0


@dataclass(frozen=True, slots=True)
class ForwardState:
    """The solved machine. Pressures [Pa] absolute, temperatures [K], flows [kg/s], power and heat [W].

    `pressure_pa` is in the exchanger; `head_pa` and `suction_pa` are at the gauges.
    """

    mode: str
    pressure_pa: float
    bubble_k: float
    dew_k: float
    head_pa: float
    suction_pa: float
    suction_line_k: float
    discharge_line_k: float
    liquid_line_k: float
    refrigerant_flow_kg_per_s: float
    entering_water_k: float
    leaving_water_k: float
    water_flow_kg_per_s: float
    heat_w: float
    power_w: float
    water_pressure_drop_pa: float
    fouling_resistance_m2k_per_w: float


@dataclass(frozen=True, slots=True)
class _Slice:
    """One slice of the path: enthalpies [J/kg], temperatures [K] at its ends, film [W/(m2.K)], flux exponent [-]."""

    h_start: float
    h_end: float
    t_start: float
    t_end: float
    film: float
    exponent: float


@dataclass(frozen=True, slots=True)
class _Path:
    """The refrigerant's way through the exchanger at one pressure, and the compressor's states around it."""

    slices: tuple[_Slice, ...]
    refrigerant_flow: float
    head: float
    suction: float
    suction_line: float
    discharge_line: float
    liquid_line: float
    power: float


def water_film(exchanger: ExchangerTruth, flow_kg_per_s: float, temperature_k: float) -> float:
    """Local water-side film coefficient by similarity from the rating point.

    The power law h ~ k^0.6 cp^0.4 mu^(0.4 - n) m^n keeps Nu = C Re^n Pr^0.4 and lets the exponent n be the truth's.

    Parameters
    ----------
    exchanger : ExchangerTruth
        The exchanger; its rating film is on water at 20 degC.
    flow_kg_per_s : float
        Water flow. [kg/s]
    temperature_k : float
        Local bulk temperature. [K]

    Returns
    -------
    float
        Film coefficient. [W/(m2.K)]

    References
    ----------
    Dittus & Boelter (1930), Univ. California Publ. Eng. 2, 443, for the form; the exponent is free.

    Examples
    --------
    >>> truth = ExchangerTruth(refrigerant="R410A", area_m2=1.0)
    >>> round(water_film(truth, 0.55, 293.15))
    5500
    """
    fluid = _fluid(exchanger)
    plain = water("none", 0.0)
    exponent = exchanger.water_exponent

    def group(kind: Water, at: float) -> float:
        return cast(
            float,
            kind.conductivity_w_per_m_k(at) ** 0.6
            * kind.specific_heat_j_per_kg_k(at) ** 0.4
            * kind.viscosity_pa_s(at) ** (0.4 - exponent),
        )

    ratio = group(fluid, temperature_k) / group(plain, RATING_WATER_K)
    return (
        exchanger.water_film_w_per_m2k * ratio * (flow_kg_per_s / exchanger.rating_flow_kg_per_s) ** exponent
    )


def pressure_drop(exchanger: ExchangerTruth, flow_kg_per_s: float, temperature_k: float) -> float:
    """Water-side pressure drop between the exchanger's ports, with the bore narrowed by its deposit.

    On volume flow V: dp ~ rho^(n-1) mu^(2-n) V^n, and a bore D narrowed to d gives (D/d)^(3+n) in tubes; between
    plates the gap takes the bore's place with (D/d)^(1+n).

    Parameters
    ----------
    exchanger : ExchangerTruth
        The exchanger with its deposit.
    flow_kg_per_s : float
        Water flow. [kg/s]
    temperature_k : float
        Mean water temperature. [K]

    Returns
    -------
    float
        Pressure drop. [Pa]

    References
    ----------
    White, Fluid Mechanics, ch. 6: Darcy with a friction factor falling as Re^(n-2), from memory.

    Examples
    --------
    >>> truth = ExchangerTruth(refrigerant="R410A", area_m2=1.0)
    >>> round(pressure_drop(truth, 0.55, 293.15))
    30000
    """
    fluid, plain = _fluid(exchanger), water("none", 0.0)
    exponent = exchanger.pressure_drop_exponent
    density = fluid.density_kg_per_m3(temperature_k)
    plain_density = plain.density_kg_per_m3(RATING_WATER_K)
    viscosity_ratio = fluid.viscosity_pa_s(temperature_k) / plain.viscosity_pa_s(RATING_WATER_K)
    volume_ratio = (flow_kg_per_s / density) / (exchanger.rating_flow_kg_per_s / plain_density)
    clean = (
        exchanger.pressure_drop_pa
        * volume_ratio**exponent
        * (density / plain_density) ** (exponent - 1.0)
        * viscosity_ratio ** (2.0 - exponent)
    )
    thickness = exchanger.scale_conductivity_w_per_mk * exchanger.fouling_resistance_m2k_per_w
    open_share = 1.0 - 2.0 * thickness / exchanger.bore_m
    if open_share <= 0.05:
        raise NoOperatingPoint(f"a deposit of {thickness * 1e3:.2f} mm closes a bore of {exchanger.bore_m} m")
    plates = exchanger.kind in ("brazed_plate", "plate_and_frame")
    return float(clean * open_share ** (-(1.0 + exponent) if plates else -(3.0 + exponent)))


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
        Every state a gauge or thermometer would show. Pressures [Pa], temperatures [K], flows [kg/s], heat [W].

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
    capacity_rate, leaving = _water_side(unit.exchanger, point)

    def excess(dew_k: float) -> float:
        try:
            path = _path(unit, point, fluid, dew_k)
        except ValueError:
            return UNREACHABLE if point.mode == "cooling" else -UNREACHABLE
        needed = _area_needed(unit.exchanger, point, path, capacity_rate, leaving)
        if needed == math.inf:
            return UNREACHABLE
        return math.log(needed / unit.exchanger.area_m2)

    dew_k = _root(excess, *_bracket(point, fluid), point)
    return _state(unit, point, fluid, dew_k, leaving)


def reading_of(
    state: ForwardState, *, unit: str, taken_at: datetime, purpose: str = "routine", gauge_set: str = "A"
) -> ReadingSet:
    """The state as a reading set without any instrument error.

    Parameters
    ----------
    state : ForwardState
        A solved machine.
    unit : str
        The unit's tag.
    taken_at : datetime
        When it was read.
    purpose : str
        One of the purposes in `records`.
    gauge_set : str
        The gauge set's name.

    Returns
    -------
    ReadingSet
        True values.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    >>> state = solve(unit, OperatingPoint("cooling", 303.15, 0.55, 12_500.0))
    >>> reading_of(state, unit="HP-1", taken_at=datetime(2024, 5, 1)).mode
    'cooling'
    """
    return ReadingSet(
        unit=unit,
        taken_at=taken_at,
        mode=state.mode,
        purpose=purpose,
        taken_at_as_typed=taken_at.isoformat(),
        minutes_running=20.0,
        gauge_set=gauge_set,
        entering_water_k=state.entering_water_k,
        leaving_water_k=state.leaving_water_k,
        water_flow_kg_per_s=state.water_flow_kg_per_s,
        water_pressure_drop_pa=state.water_pressure_drop_pa,
        head_pressure_pa=state.head_pa,
        suction_pressure_pa=state.suction_pa,
        liquid_line_k=state.liquid_line_k,
        suction_line_k=state.suction_line_k,
        discharge_line_k=state.discharge_line_k,
        compressor_power_w=state.power_w,
    )


def with_fouling(unit: UnitTruth, fouling_resistance_m2k_per_w: float) -> UnitTruth:
    """The same machine with another fouling resistance on its water side.

    Parameters
    ----------
    unit : UnitTruth
        The machine.
    fouling_resistance_m2k_per_w : float
        The new truth. [m2.K/W]

    Returns
    -------
    UnitTruth
        A copy.

    References
    ----------
    None: a rearrangement.

    Examples
    --------
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R410A", area_m2=0.9))
    >>> with_fouling(unit, 2e-4).exchanger.fouling_resistance_m2k_per_w
    0.0002
    """
    return replace(
        unit, exchanger=replace(unit.exchanger, fouling_resistance_m2k_per_w=fouling_resistance_m2k_per_w)
    )


def _fluid(exchanger: ExchangerTruth) -> Water:
    return water(exchanger.antifreeze, exchanger.antifreeze_fraction)


def _water_side(exchanger: ExchangerTruth, point: OperatingPoint) -> tuple[float, float]:
    """Capacity rate [W/K] and leaving water [K] with the specific heat at the mean temperature."""
    fluid = _fluid(exchanger)
    sign = 1.0 if point.mode == "cooling" else -1.0
    leaving = point.entering_water_k + sign * 5.0
    rate = 0.0
    for _ in range(3):
        mean = 0.5 * (point.entering_water_k + leaving)
        rate = point.water_flow_kg_per_s * float(fluid.specific_heat_j_per_kg_k(mean))
        leaving = point.entering_water_k + sign * point.heat_w / rate
    return rate, leaving


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


def _path(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, dew_k: float) -> _Path:
    pressure = float(fluid.dew_pressure_pa(dew_k))
    if point.mode == "cooling":
        return _condensing_path(unit, point, fluid, pressure)
    return _evaporating_path(unit, point, fluid, pressure)


def _compression(
    unit: UnitTruth, fluid: Refrigerant, suction: float, suction_k: float, head: float
) -> tuple[float, float, float, float]:
    """Suction and discharge enthalpy [J/kg], discharge temperature [K], power per flow [J/kg]."""
    h_suction = float(fluid.vapour_enthalpy_j_per_kg(suction, suction_k))
    entropy = float(fluid.vapour_entropy_j_per_kg_k(suction, suction_k))
    isentropic_k = float(fluid.vapour_temperature_k_from_entropy(head, entropy))
    work = (
        float(fluid.vapour_enthalpy_j_per_kg(head, isentropic_k)) - h_suction
    ) / unit.isentropic_efficiency
    h_discharge = h_suction + (1.0 - unit.shell_loss_fraction) * work
    discharge_k = _vapour_temperature(fluid, head, h_discharge, isentropic_k)
    return h_suction, h_discharge, discharge_k, work


def _vapour_temperature(fluid: Refrigerant, pressure: float, enthalpy: float, guess_k: float) -> float:
    """Temperature [K] of superheated vapour by secant on the enthalpy."""
    low, high = guess_k, guess_k + 20.0
    h_low = float(fluid.vapour_enthalpy_j_per_kg(pressure, low))
    for _ in range(12):
        h_high = float(fluid.vapour_enthalpy_j_per_kg(pressure, high))
        if abs(h_high - h_low) < 1e-9:
            break
        step = (enthalpy - h_high) * (high - low) / (h_high - h_low)
        low, h_low, high = high, h_high, high + step
        if abs(step) < 1e-7:
            break
    return high


def _line_loss(unit: UnitTruth, point: OperatingPoint) -> float:
    return unit.line_loss_pa * (point.heat_w / unit.line_loss_heat_w) ** 2


def _condensing_path(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, pressure: float) -> _Path:
    exchanger = unit.exchanger
    bubble_k, dew_k = float(fluid.bubble_temperature_k(pressure)), float(fluid.dew_temperature_k(pressure))
    suction = float(fluid.dew_pressure_pa(point.other_saturation_k))
    suction_k = point.other_saturation_k + point.superheat_k
    head = pressure + _line_loss(unit, point) + point.air_pressure_pa
    _, h_discharge, discharge_k, work = _compression(unit, fluid, suction, suction_k, head)
    liquid_k = bubble_k - point.subcooling_k
    h_liquid = float(fluid.liquid_enthalpy_j_per_kg(liquid_k))
    flow = point.heat_w / (h_discharge - h_liquid)
    ends = (
        float(fluid.saturated_vapour_enthalpy_j_per_kg(pressure)),
        float(fluid.saturated_liquid_enthalpy_j_per_kg(pressure)),
    )
    film, exponent = exchanger.condensing_film_w_per_m2k, exchanger.condensing_flux_exponent
    scale = _single_phase_scale(exchanger, point)
    slices = [
        *_vapour_slices(
            fluid, pressure, discharge_k, dew_k, ends[0], film * exchanger.desuperheat_ratio * scale
        ),
        *_two_phase_slices(
            ends[0], ends[1], dew_k, bubble_k, 1.0, 0.0, film, exponent, exchanger.quality_slope
        ),
        *_liquid_slices(fluid, bubble_k, liquid_k, ends[1], film * exchanger.subcool_ratio * scale),
    ]
    return _Path(tuple(slices), flow, head, suction, suction_k, discharge_k, liquid_k, work * flow)


def _evaporating_path(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, pressure: float) -> _Path:
    exchanger = unit.exchanger
    dew_k = float(fluid.dew_temperature_k(pressure))
    condensing = float(fluid.bubble_pressure_pa(point.other_saturation_k))
    head = condensing + point.air_pressure_pa
    suction = pressure - _line_loss(unit, point)
    suction_k = dew_k + point.superheat_k
    liquid_k = point.other_saturation_k - point.subcooling_k
    h_suction, _, discharge_k, work = _compression(unit, fluid, suction, suction_k, head)
    h_inlet = float(fluid.liquid_enthalpy_j_per_kg(liquid_k))
    h_dew = float(fluid.saturated_vapour_enthalpy_j_per_kg(pressure))
    h_bubble = float(fluid.saturated_liquid_enthalpy_j_per_kg(pressure))
    inlet_k = float(fluid.evaporating_inlet_temperature_k(pressure, h_inlet))
    quality = (h_inlet - h_bubble) / (h_dew - h_bubble)
    flow = point.heat_w / (h_suction - h_inlet)
    film, exponent = exchanger.evaporating_film_w_per_m2k, exchanger.evaporating_flux_exponent
    scale = _single_phase_scale(exchanger, point)
    vapour = _vapour_slices(
        fluid, pressure, suction_k, dew_k, h_dew, film * exchanger.superheat_ratio * scale
    )
    slices = [
        *_two_phase_slices(
            h_inlet, h_dew, inlet_k, dew_k, quality, 1.0, film, exponent, exchanger.quality_slope
        ),
        *(_Slice(s.h_end, s.h_start, s.t_end, s.t_start, s.film, 0.0) for s in reversed(vapour)),
    ]
    return _Path(tuple(slices), flow, head, suction, suction_k, discharge_k, liquid_k, work * flow)


def _single_phase_scale(exchanger: ExchangerTruth, point: OperatingPoint) -> float:
    """Single-phase films follow the mass flow to 0.8, told by the mean flux against the rating flux."""
    return (point.heat_w / exchanger.area_m2 / exchanger.rating_flux_w_per_m2) ** 0.8


def _vapour_slices(
    fluid: Refrigerant, pressure: float, hot_k: float, dew_k: float, h_dew: float, film: float
) -> list[_Slice]:
    """Slices from the hot end to dew; none where the vapour is already at dew."""
    if hot_k - dew_k < 1e-6:
        return []
    temperatures = [hot_k + (dew_k - hot_k) * i / DESUPERHEAT_SLICES for i in range(DESUPERHEAT_SLICES)]
    enthalpies = [float(fluid.vapour_enthalpy_j_per_kg(pressure, t)) for t in temperatures] + [h_dew]
    return _chain(enthalpies, [*temperatures, dew_k], film)


def _liquid_slices(
    fluid: Refrigerant, bubble_k: float, cold_k: float, h_bubble: float, film: float
) -> list[_Slice]:
    if bubble_k - cold_k < 1e-6:
        return []
    temperatures = [bubble_k + (cold_k - bubble_k) * i / SUBCOOL_SLICES for i in range(1, SUBCOOL_SLICES + 1)]
    enthalpies = [h_bubble] + [float(fluid.liquid_enthalpy_j_per_kg(t)) for t in temperatures]
    return _chain(enthalpies, [bubble_k, *temperatures], film)


def _chain(enthalpies: list[float], temperatures: list[float], film: float) -> list[_Slice]:
    return [
        _Slice(enthalpies[i], enthalpies[i + 1], temperatures[i], temperatures[i + 1], film, 0.0)
        for i in range(len(enthalpies) - 1)
    ]


def _two_phase_slices(
    h_start: float,
    h_end: float,
    t_start: float,
    t_end: float,
    x_start: float,
    x_end: float,
    film: float,
    exponent: float,
    slope: float,
) -> list[_Slice]:
    """Even steps of enthalpy; temperature glides linearly with it and the film tilts with quality."""
    slices = []
    count = TWO_PHASE_SLICES
    for i in range(count):
        a, b, middle = i / count, (i + 1) / count, (i + 0.5) / count
        quality = x_start + (x_end - x_start) * middle
        slices.append(
            _Slice(
                h_start + (h_end - h_start) * a,
                h_start + (h_end - h_start) * b,
                t_start + (t_end - t_start) * a,
                t_start + (t_end - t_start) * b,
                film * (1.0 + slope * (2.0 * quality - 1.0)),
                exponent,
            )
        )
    return slices


def _area_needed(
    exchanger: ExchangerTruth, point: OperatingPoint, path: _Path, capacity_rate: float, leaving: float
) -> float:
    """Area [m2] the slices ask for at this pressure; infinite where a stream would have to cross the other."""
    cooling = point.mode == "cooling"
    arrangement = exchanger.cooling_arrangement if cooling else exchanger.heating_arrangement
    sign = 1.0 if cooling else -1.0
    water_k = point.entering_water_k if arrangement == "parallel" else leaving
    direction = 1.0 if arrangement == "parallel" else -1.0
    film_in = water_film(exchanger, point.water_flow_kg_per_s, point.entering_water_k)
    film_out = water_film(exchanger, point.water_flow_kg_per_s, leaving)
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
    part: _Slice, heat: float, first: float, last: float, rest: float, rating_flux: float
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
    path = _path(unit, point, fluid, dew_k)
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
