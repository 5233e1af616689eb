"""The water's side: film by similarity from the rating point, pressure drop with a narrowed bore."""

from __future__ import annotations

from typing import cast

from diagnostics.engine.forward.truth import ExchangerTruth, NoOperatingPoint, OperatingPoint
from diagnostics.engine.waters import Water, water

RATING_WATER_K = 293.15


def water_film(exchanger: ExchangerTruth, flow_kg_per_s: float, temperature_k: float) -> float:
    """Local water-side film coefficient by similarity from the rating point.

    The power law h ~ k^0.6 cp^0.4 mu^(0.4 - n) m^n keeps Nu = C Re^n Pr^0.4 and lets the exponent n be the
    truth's.

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
    fluid = fluid_of(exchanger)
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
    scale: float = (flow_kg_per_s / exchanger.rating_flow_kg_per_s) ** exponent
    return exchanger.water_film_w_per_m2k * ratio * scale


def pressure_drop(exchanger: ExchangerTruth, flow_kg_per_s: float, temperature_k: float) -> float:
    """Water-side pressure drop between the exchanger's ports, with the bore narrowed by its deposit.

    On volume flow V: dp ~ rho^(n-1) mu^(2-n) V^n, and a bore D narrowed to d gives (D/d)^(3+n) in tubes;
    between plates the Reynolds number does not depend on the gap, which gives (D/d)^3.

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
    fluid, plain = fluid_of(exchanger), water("none", 0.0)
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
    return float(clean * open_share ** (-3.0 if plates else -(3.0 + exponent)))


def fluid_of(exchanger: ExchangerTruth) -> Water:
    """The loop's water.

    Parameters
    ----------
    exchanger : ExchangerTruth
        The exchanger.

    Returns
    -------
    Water
        Its properties. [SI]

    References
    ----------
    Values of `waters`.

    Examples
    --------
    >>> fluid_of(ExchangerTruth(refrigerant="R410A", area_m2=1.0)).antifreeze
    'none'
    """
    return water(exchanger.antifreeze, exchanger.antifreeze_fraction)


def water_side(exchanger: ExchangerTruth, point: OperatingPoint) -> tuple[float, float]:
    """Capacity rate with the specific heat at the mean temperature, and leaving water.

    Parameters
    ----------
    exchanger : ExchangerTruth
        The exchanger.
    point : OperatingPoint
        Where it runs.

    Returns
    -------
    rate : float
        Capacity rate. [W/K]
    leaving : float
        Leaving water. [K]

    References
    ----------
    Energy balance q = m cp dT.

    Examples
    --------
    >>> truth = ExchangerTruth(refrigerant="R410A", area_m2=1.0)
    >>> round(water_side(truth, OperatingPoint("cooling", 300.0, 0.5, 10_450.0))[1], 1)
    305.0
    """
    fluid = fluid_of(exchanger)
    sign = 1.0 if point.mode == "cooling" else -1.0
    leaving = point.entering_water_k + sign * 5.0
    rate = 0.0
    for _ in range(3):
        mean = 0.5 * (point.entering_water_k + leaving)
        rate = point.water_flow_kg_per_s * float(fluid.specific_heat_j_per_kg_k(mean))
        leaving = point.entering_water_k + sign * point.heat_w / rate
        if not fluid.minimum_temperature_k <= leaving <= fluid.maximum_temperature_k:
            raise NoOperatingPoint(
                f"{point.heat_w:.0f} W at {point.water_flow_kg_per_s:.3f} kg/s would bring the water to "
                f"{leaving:.1f} K, outside {fluid.minimum_temperature_k:.1f} to "
                f"{fluid.maximum_temperature_k:.1f} K"
            )
    return rate, leaving
