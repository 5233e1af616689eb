"""What a machine is sized for: stated, or read from a register's row."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine.records import ONE_WAY_EXCHANGERS, ExchangerFacts, reverses
from diagnostics.engine.virtual_unit.unit import CHILLER, HEAT_PUMP

PLATES = ("brazed_plate", "plate_and_frame")


@dataclass(frozen=True, slots=True)
class Design:
    """What a machine is sized for; every default is common practice for its trade.

    `capacity_w` [W] is cooling capacity at the rating. Temperatures [K], differences [K], resistances
    [m2.K/W], shares and ratios [-], pressure drop [Pa], flows [kg/s]; None is worked out.
    """

    capacity_w: float
    refrigerant: str = "R410A"
    kind: str = "coaxial"
    machine: str = HEAT_PUMP
    expansion: str = "thermostatic"
    receiver: bool = False
    antifreeze: str = "none"
    antifreeze_fraction: float = 0.0
    flow_in_heating: str | None = None
    entering_water_k: float = 303.15
    water_rise_k: float = 5.5
    approach_k: float = 4.0
    evaporating_dew_k: float = 281.65
    chilled_water_k: float = 285.15
    chilled_fall_k: float = 5.0
    superheat_k: float = 6.0
    subcooling_k: float = 5.0
    resistance_m2k_per_w: float = 4e-4
    water_share: float = 0.35
    water_exponent: float = 0.8
    evaporating_over_condensing: float = 1.0
    condensing_exponent: float = -0.05
    evaporating_exponent: float = 0.25
    desuperheat_ratio: float = 0.25
    subcool_ratio: float = 0.45
    superheat_ratio: float = 0.15
    quality_slope: float = 0.2
    isentropic: float = 0.68
    volumetric: float = 0.98
    shell_loss: float = 0.05
    drop_pa: float = 30_000.0
    drop_exponent: float = 1.8
    bore_m: float = 0.016
    scale_conductivity_w_per_mk: float = 1.5
    authority: float = 1.0
    line_loss_pa: float = 0.0
    area_m2: float | None = None
    design_flow_kg_per_s: float | None = None


def design_from_facts(facts: ExchangerFacts) -> Design:
    """A design that agrees with what the register knows; the rest is common practice.

    A machine on record tells heat pump from chiller, the exchanger's kind only where there is none; a plain
    condenser is sized as a chiller, since it turns nothing round.

    Parameters
    ----------
    facts : ExchangerFacts
        The register's row.

    Returns
    -------
    Design
        Ready to size.

    References
    ----------
    3 gpm/ton, AHRI 550/590 (2011, from memory), where only the flow is known.

    Examples
    --------
    >>> design_from_facts(ExchangerFacts("CH-1", "R134a", "shell_and_tube", capacity_w=400e3)).machine
    'chiller'
    """
    chiller, large = not reverses(facts), facts.exchanger in ONE_WAY_EXCHANGERS
    flow = facts.design_flow_m3_per_s * 998.2 if facts.design_flow_m3_per_s else None
    capacity = facts.capacity_w or (flow * 4180.0 * 5.5 * 0.8 if flow else (300e3 if large else 12e3))
    plates = facts.exchanger in PLATES
    return Design(
        capacity_w=capacity,
        refrigerant=facts.refrigerant,
        kind=facts.exchanger,
        machine=CHILLER if chiller else HEAT_PUMP,
        expansion=facts.expansion or ("electronic" if chiller else "thermostatic"),
        antifreeze=facts.antifreeze,
        antifreeze_fraction=facts.antifreeze_fraction or 0.0,
        flow_in_heating=facts.flow_in_heating,
        entering_water_k=302.59 if chiller else 303.15,
        approach_k=2.5 if large else 4.0,
        evaporating_dew_k=277.65 if chiller else 281.65,
        resistance_m2k_per_w=2.8e-4 if large or plates else 4e-4,
        water_exponent=0.7 if plates else 0.8,
        drop_pa=facts.design_pressure_drop_pa or 30_000.0,
        drop_exponent=facts.pressure_drop_exponent or 1.8,
        bore_m=facts.bore_m or (0.004 if plates else 0.016),
        area_m2=facts.area_m2,
        design_flow_kg_per_s=flow,
    )
