"""What the machine really is, where it runs, and what comes of it: frozen records of the forward model."""

from __future__ import annotations

from dataclasses import dataclass, replace


class NoOperatingPoint(ValueError):
    """No saturation pressure within the refrigerant's range moves the asked heat through the given area."""


@dataclass(frozen=True, slots=True)
class ExchangerTruth:
    """What the exchanger really is; every film is told on the water-side area.

    `area_m2` [m2]; `water_film_w_per_m2k` [W/(m2.K)] on water at 20 degC at `rating_flow_kg_per_s` [kg/s],
    varying with flow to `water_exponent` [-] and with the fluid's properties; `wall_resistance_m2k_per_w`
    [m2.K/W]; two-phase films [W/(m2.K)] at `rating_flux_w_per_m2` [W/m2], varying with local flux to their
    exponents [-]; zone ratios [-] are films over the two-phase film at the rating flux; `quality_slope` [-]
    tilts the two-phase film along the quality; `fouling_resistance_m2k_per_w` [m2.K/W] is the truth sought.
    The pressure drop [Pa] is on water at 20 degC at the rating flow; `bore_m` [m] is narrowed by a deposit
    of `scale_conductivity_w_per_mk` [W/(m.K)].
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

    `isentropic_efficiency` [-] overall, from power to isentropic work; `shell_loss_fraction` [-] of the
    power leaves through the compressor's shell; `line_loss_pa` [Pa] at `line_loss_heat_w` [W] lies between
    exchanger and gauge, growing with the square of the heat (the head tap reads high in cooling, the
    suction tap low in heating).
    """

    exchanger: ExchangerTruth
    isentropic_efficiency: float = 0.65
    shell_loss_fraction: float = 0.05
    line_loss_pa: float = 0.0
    line_loss_heat_w: float = 12_500.0


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where the machine runs: `heat_w` [W] through the water-side exchanger, positive in both modes.

    `other_saturation_k` [K] is the dew temperature of the other exchanger while cooling and the bubble
    temperature of it while heating. `superheat_k` [K] and `subcooling_k` [K] carry the state of charge and
    valve; `air_pressure_pa` [Pa] is the partial pressure of air in the condenser, which the head gauge
    reads too.
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
