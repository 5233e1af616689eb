"""Saturation from heat over power: what a compressor's consumption tells where no gauge is connected."""

from __future__ import annotations

from diagnostics.engine.habits import ISENTROPIC_EFFICIENCY, SHELL_LOSS
from diagnostics.engine.refrigerants import Refrigerant

ROUNDS = 24


def heat_over_power(
    fluid: Refrigerant,
    evaporating_k: float,
    condensing_k: float,
    condenser: bool,
    superheat_k: float,
    subcooling_k: float,
) -> float:
    """Heat of the condenser, or of the evaporator, for each watt of a compressor of usual efficiency.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    evaporating_k, condensing_k : float
        Dew temperatures of the two sides. [K]
    condenser : bool
        True for the condenser's heat, False for the evaporator's.
    superheat_k, subcooling_k : float
        At suction and before the valve. [K]

    Returns
    -------
    float
        Heat over electrical power. [-]

    References
    ----------
    Single-stage cycle with isentropic efficiency 0.65 and 5 % shell loss (common practice).

    Examples
    --------
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> round(heat_over_power(refrigerant("R134a"), 278.15, 313.15, True, 5.0, 5.0), 1)
    5.4
    """
    suction, head = (float(fluid.dew_pressure_pa(kelvin)) for kelvin in (evaporating_k, condensing_k))
    before = float(fluid.vapour_enthalpy_j_per_kg(suction, evaporating_k + superheat_k))
    entropy = float(fluid.vapour_entropy_j_per_kg_k(suction, evaporating_k + superheat_k))
    ideal_k = float(fluid.vapour_temperature_k_from_entropy(head, entropy))
    work = (float(fluid.vapour_enthalpy_j_per_kg(head, ideal_k)) - before) / ISENTROPIC_EFFICIENCY
    liquid = float(fluid.liquid_enthalpy_j_per_kg(float(fluid.bubble_temperature_k(head)) - subcooling_k))
    hot = before + (1 - SHELL_LOSS) * work if condenser else before
    return (hot - liquid) / work


def saturation_by_power(
    fluid: Refrigerant,
    ratio: float,
    condenser: bool,
    other_k: float,
    span_k: tuple[float, float],
    superheat_k: float,
    subcooling_k: float,
) -> float:
    """Dew temperature at which heat over power has a value, by bisection.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    ratio : float
        Heat of the water-side exchanger over electrical power. [-]
    condenser : bool
        True where that exchanger condenses.
    other_k : float
        Dew temperature of the other side. [K]
    span_k : tuple of float
        Between which temperatures to look; the nearer end where the ratio lies beyond. [K]
    superheat_k, subcooling_k : float
        At suction and before the valve. [K]

    Returns
    -------
    float
        Dew temperature of the water-side exchanger. [K]

    References
    ----------
    As `heat_over_power`; the ratio falls as the two saturations move apart.

    Examples
    --------
    >>> from diagnostics.engine.refrigerants import refrigerant
    >>> fluid = refrigerant("R134a")
    >>> seen = heat_over_power(fluid, 278.15, 313.15, True, 5.0, 5.0)
    >>> round(saturation_by_power(fluid, seen, True, 278.15, (300.0, 340.0), 5.0, 5.0), 2)
    313.15
    """
    near, far = span_k if condenser else (span_k[1], span_k[0])
    for _ in range(ROUNDS):
        middle = 0.5 * (near + far)
        pair = (other_k, middle) if condenser else (middle, other_k)
        if heat_over_power(fluid, *pair, condenser, superheat_k, subcooling_k) > ratio:
            near = middle
        else:
            far = middle
    return 0.5 * (near + far)
