"""The refrigerant's way through the exchanger at one pressure, cut into slices, and the compressor's
states.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.forward.truth import ExchangerTruth, OperatingPoint, UnitTruth
from diagnostics.engine.refrigerants import Refrigerant

DESUPERHEAT_SLICES, TWO_PHASE_SLICES, SUBCOOL_SLICES = 3, 8, 3


@dataclass(frozen=True, slots=True)
class Slice:
    """One slice of the path: enthalpies [J/kg], temperatures [K] at its ends, film [W/(m2.K)], flux
    exponent [-].
    """

    h_start: float
    h_end: float
    t_start: float
    t_end: float
    film: float
    exponent: float


@dataclass(frozen=True, slots=True)
class Path:
    """The refrigerant's way through the exchanger at one pressure, and the compressor's states around it."""

    slices: tuple[Slice, ...]
    refrigerant_flow: float
    head: float
    suction: float
    suction_line: float
    discharge_line: float
    liquid_line: float
    power: float


def path_at(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, dew_k: float) -> Path:
    """The refrigerant's slices and the compressor's states at a trial dew temperature.

    Parameters
    ----------
    unit : UnitTruth
        The machine.
    point : OperatingPoint
        Where it runs.
    fluid : Refrigerant
        Its refrigerant.
    dew_k : float
        Dew temperature in the exchanger. [K]

    Returns
    -------
    Path
        Slices, flow [kg/s], pressures [Pa], line temperatures [K] and power [W].

    References
    ----------
    Vapour compression cycle with an isentropic efficiency (Moran & Shapiro, ch. 10, from memory).

    Examples
    --------
    >>> from diagnostics.engine.forward import ExchangerTruth
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> unit = UnitTruth(exchanger=ExchangerTruth(refrigerant="R134a", area_m2=1.0))
    >>> point = OperatingPoint("cooling", 300.0, 0.5, 10_000.0)
    >>> len(path_at(unit, point, refrigerant("R134a"), 313.15).slices)
    14
    """
    pressure = float(fluid.dew_pressure_pa(dew_k))
    if point.mode == "cooling":
        return _condensing_path(unit, point, fluid, pressure)
    return _evaporating_path(unit, point, fluid, pressure)


def _condensing_path(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, pressure: float) -> Path:
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
    return Path(tuple(slices), flow, head, suction, suction_k, discharge_k, liquid_k, work * flow)


def _evaporating_path(unit: UnitTruth, point: OperatingPoint, fluid: Refrigerant, pressure: float) -> Path:
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
        *(Slice(s.h_end, s.h_start, s.t_end, s.t_start, s.film, 0.0) for s in reversed(vapour)),
    ]
    return Path(tuple(slices), flow, head, suction, suction_k, discharge_k, liquid_k, work * flow)


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


def _single_phase_scale(exchanger: ExchangerTruth, point: OperatingPoint) -> float:
    """Single-phase films follow the mass flow to 0.8, told by the mean flux against the rating flux."""
    scale: float = (point.heat_w / exchanger.area_m2 / exchanger.rating_flux_w_per_m2) ** 0.8
    return scale


def _vapour_slices(
    fluid: Refrigerant, pressure: float, hot_k: float, dew_k: float, h_dew: float, film: float
) -> list[Slice]:
    """Slices from the hot end to dew; none where the vapour is already at dew."""
    if hot_k - dew_k < 1e-6:
        return []
    temperatures = [hot_k + (dew_k - hot_k) * i / DESUPERHEAT_SLICES for i in range(DESUPERHEAT_SLICES)]
    enthalpies = [*fluid.vapour_enthalpy_j_per_kg(pressure, np.array(temperatures)).tolist(), h_dew]
    return _chain(enthalpies, [*temperatures, dew_k], film)


def _liquid_slices(
    fluid: Refrigerant, bubble_k: float, cold_k: float, h_bubble: float, film: float
) -> list[Slice]:
    if bubble_k - cold_k < 1e-6:
        return []
    temperatures = [bubble_k + (cold_k - bubble_k) * i / SUBCOOL_SLICES for i in range(1, SUBCOOL_SLICES + 1)]
    enthalpies = [h_bubble, *fluid.liquid_enthalpy_j_per_kg(np.array(temperatures)).tolist()]
    return _chain(enthalpies, [bubble_k, *temperatures], film)


def _chain(enthalpies: list[float], temperatures: list[float], film: float) -> list[Slice]:
    return [
        Slice(enthalpies[i], enthalpies[i + 1], temperatures[i], temperatures[i + 1], film, 0.0)
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
) -> list[Slice]:
    """Even steps of enthalpy; temperature glides linearly with it and the film tilts with quality."""
    slices = []
    count = TWO_PHASE_SLICES
    for i in range(count):
        a, b, middle = i / count, (i + 1) / count, (i + 0.5) / count
        quality = x_start + (x_end - x_start) * middle
        slices.append(
            Slice(
                h_start + (h_end - h_start) * a,
                h_start + (h_end - h_start) * b,
                t_start + (t_end - t_start) * a,
                t_start + (t_end - t_start) * b,
                film * (1.0 + slope * (2.0 * quality - 1.0)),
                exponent,
            )
        )
    return slices
