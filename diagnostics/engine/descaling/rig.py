"""The circulating rig: tank, hoses, fittings, lift, and where the pump settles on them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from diagnostics.engine.errors import OutOfRange, UnknownName, within
from diagnostics.engine.hydraulics import (
    fittings_pressure_drop_pa,
    friction_factor,
    pressure_of_height_pa,
    reynolds_number,
    straight_pressure_drop_pa,
)
from diagnostics.engine.pumps import DutyPoint, PumpCurve, duty_point
from diagnostics.engine.waters import water

FOAM_SHARE = 1 / 3
"""Share of the tank that stays free for foam."""

LOSS_COEFFICIENTS: dict[str, float] = {
    "entrance": 0.5,
    "exit": 1.0,
    "elbow_90": 1.5,
    "elbow_90_long": 0.72,
    "elbow_45": 0.32,
    "tee_through": 0.9,
    "tee_branch": 1.8,
    "gate_valve": 0.24,
    "check_valve": 2.9,
}
"""Screwed fittings of 1 in, valves open: White, Fluid Mechanics, table 6.5 and fig. 6.21 (from memory)."""

SMALL_TRANSFER_PUMP = PumpCurve(shut_off_pressure_pa=120e3, greatest_flow_m3_per_s=0.8e-3)
"""About a quarter horsepower: 12 m at shut-off, 0.8 L/s open; common practice, a given curve goes before."""
LARGER_PUMP = PumpCurve(shut_off_pressure_pa=220e3, greatest_flow_m3_per_s=4e-3)
"""About one horsepower: 22 m at shut-off, 4 L/s open; common practice."""

FLOW_OVER_DESIGN: dict[str, float] = {
    "brazed_plate": 1.5,
    "plate_and_frame": 1.5,
    "coaxial": 1.0,
    "shell_and_tube": 1.0,
}
"""Plates: makers' cleaning chapters, 1.5 times the normal flow; others as in service, common practice."""

PumpWord = Literal["small_transfer_pump", "larger_pump", "neither"]


@dataclass(frozen=True, slots=True)
class Hose:
    """A run of hose: length and bore [m], wall roughness [m]."""

    length_m: float
    bore_m: float
    roughness_m: float = 1.5e-6


@dataclass(frozen=True, slots=True)
class Circuit:
    """What the pump works against.

    `fittings` are names of `LOSS_COEFFICIENTS`, in the first hose's bore. The exchanger's pressure drop
    [Pa] at its design flow [m3/s] is on water at 20 degC. `return_height_m` is the return's end above the
    tank's level while running; `highest_point_m` the highest point that must be filled first [m].
    `solution_ratio` is the solution's density over water's [-].
    """

    hoses: tuple[Hose, ...]
    fittings: tuple[str, ...]
    design_flow_m3_per_s: float
    design_pressure_drop_pa: float
    exponent: float = 1.8
    return_height_m: float = 0.0
    highest_point_m: float = 0.0
    filter_pressure_drop_pa: float = 0.0
    solution_ratio: float = 1.05
    temperature_k: float = 298.15


def hose_content_m3(hoses: tuple[Hose, ...]) -> float:
    """Return what hoses hold.

    Parameters
    ----------
    hoses : tuple of Hose
        The hoses, bore and length in [m].

    Returns
    -------
    float
        Content [m3].

    References
    ----------
    Volume of a cylinder.

    Examples
    --------
    >>> round(hose_content_m3((Hose(10.0, 0.01905),)) * 1000, 2)
    2.85
    """
    return sum(math.pi / 4.0 * hose.bore_m**2 * hose.length_m for hose in hoses)


def solution_volume_m3(exchanger_m3: float, hoses: tuple[Hose, ...], working_level_m3: float) -> float:
    """Return the solution that a job takes: exchanger, hoses, and the tank at its working level.

    Parameters
    ----------
    exchanger_m3 : float
        Water content of the exchanger [m3].
    hoses : tuple of Hose
        The hoses, bore and length in [m].
    working_level_m3 : float
        What the tank holds while running, pump suction covered [m3].

    Returns
    -------
    float
        Solution [m3].

    References
    ----------
    Sum of contents.

    Examples
    --------
    >>> round(solution_volume_m3(0.004, (Hose(10.0, 0.01905),), 0.02), 4)
    0.0269
    """
    for what, value in (("exchanger content", exchanger_m3), ("working level", working_level_m3)):
        within(what, "m3", value, 0.0, 100.0)
    return exchanger_m3 + hose_content_m3(hoses) + working_level_m3


def tank_needed_m3(solution_m3: float) -> float:
    """Return the tank that takes all of the solution when it drains back, and foam besides.

    Parameters
    ----------
    solution_m3 : float
        All of the solution [m3].

    Returns
    -------
    float
        Tank [m3]: a third of it stays free.

    References
    ----------
    Common practice: drain-back and a third for foam.

    Examples
    --------
    >>> round(tank_needed_m3(0.04), 3)
    0.06
    """
    return float(within("solution", "m3", solution_m3, 0.0, 100.0)) / (1.0 - FOAM_SHARE)


def check_tank(tank_m3: float, solution_m3: float) -> None:
    """Refuse a tank that would run over.

    Parameters
    ----------
    tank_m3 : float
        Tank, to its brim [m3].
    solution_m3 : float
        All of the solution [m3].

    Raises
    ------
    OutOfRange
        Where the tank is too small; names what would do.

    References
    ----------
    As `tank_needed_m3`.

    Examples
    --------
    >>> check_tank(0.06, 0.04)
    """
    needed = tank_needed_m3(solution_m3)
    if not tank_m3 >= needed * (1.0 - 1e-9):
        raise OutOfRange("tank with drain-back and a third for foam", "m3", tank_m3, needed, math.inf)


def circuit_pressure_pa(circuit: Circuit, flow_m3_per_s: float) -> float:
    """Return what a circuit takes at a flow: lift, hoses, fittings, filter and exchanger.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    flow_m3_per_s : float
        Flow [m3/s], 0 or above.

    Returns
    -------
    float
        Pressure [Pa].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eqs. 6.10 and 6.78; friction by Churchill (1977).

    Examples
    --------
    >>> one = Circuit((Hose(10.0, 0.01905),), ("entrance", "exit"), 5e-4, 30e3, return_height_m=1.0)
    >>> round(circuit_pressure_pa(one, 5e-4) / 1000)
    63
    """
    flow = float(within("flow", "m3/s", flow_m3_per_s, 0.0, 10.0))
    plain = water()
    density = float(plain.density_kg_per_m3(circuit.temperature_k)) * circuit.solution_ratio
    viscosity = float(plain.viscosity_pa_s(circuit.temperature_k)) * circuit.solution_ratio**2
    total = float(pressure_of_height_pa(circuit.return_height_m, density))
    if flow == 0.0:
        return total
    for hose in circuit.hoses:
        velocity = velocity_m_per_s(flow, hose.bore_m)
        reynolds = reynolds_number(velocity, hose.bore_m, density, viscosity)
        factor = friction_factor(reynolds, hose.roughness_m / hose.bore_m)
        total += straight_pressure_drop_pa(factor, hose.length_m, hose.bore_m, density, velocity)
    total += fittings_pressure_drop_pa(
        sum(_loss(name) for name in circuit.fittings),
        density,
        velocity_m_per_s(flow, circuit.hoses[0].bore_m),
    )
    ratio = flow / circuit.design_flow_m3_per_s
    total += circuit.design_pressure_drop_pa * circuit.solution_ratio * ratio**circuit.exponent
    return float(total + circuit.filter_pressure_drop_pa * ratio**2)


def _loss(name: str) -> float:
    if name not in LOSS_COEFFICIENTS:
        raise UnknownName("fitting", name, LOSS_COEFFICIENTS)
    return LOSS_COEFFICIENTS[name]


def velocity_m_per_s(flow_m3_per_s: float, bore_m: float, count: int = 1) -> float:
    """Return the mean velocity in a bore, or in parallel tubes of the exchanger.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow [m3/s].
    bore_m : float
        Inner or hydraulic diameter [m].
    count : int
        Parallel tubes [-].

    Returns
    -------
    float
        Velocity [m/s].

    References
    ----------
    Continuity.

    Examples
    --------
    >>> round(velocity_m_per_s(5e-4, 0.016), 2)
    2.49
    """
    bore = float(within("bore", "m", bore_m, 1e-4, 2.0))
    return flow_m3_per_s / (math.pi / 4.0 * bore**2 * count)


def settles_at(pump: PumpCurve, circuit: Circuit) -> DutyPoint:
    """Return where a pump settles on a circuit, once it has filled its highest point.

    Parameters
    ----------
    pump : PumpCurve
        The pump.
    circuit : Circuit
        The circuit.

    Returns
    -------
    DutyPoint
        Flow [m3/s] and pressure [Pa].

    Raises
    ------
    ValueError
        Where the pump's shut-off pressure does not lift the solution over the highest point.

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., section 11.6.

    Examples
    --------
    >>> one = Circuit((Hose(10.0, 0.01905),), ("entrance", "exit"), 5e-4, 30e3, return_height_m=1.0)
    >>> round(settles_at(SMALL_TRANSFER_PUMP, one).flow_m3_per_s * 1000, 2)
    0.53
    """
    density = float(water().density_kg_per_m3(circuit.temperature_k)) * circuit.solution_ratio
    lift = float(pressure_of_height_pa(circuit.highest_point_m, density))
    if lift >= pump.shut_off_pressure_pa:
        raise ValueError(
            f"the pump stops at {pump.shut_off_pressure_pa:g} Pa; expected more than {lift:g} Pa to fill a "
            "point "
            f"{circuit.highest_point_m:g} m above the tank's level"
        )
    return duty_point(pump, lambda flow: circuit_pressure_pa(circuit, flow))


def flow_wanted_m3_per_s(exchanger: str, design_flow_m3_per_s: float) -> float:
    """Return the flow that circulation should reach.

    Parameters
    ----------
    exchanger : str
        Kind of exchanger, one of `FLOW_OVER_DESIGN`.
    design_flow_m3_per_s : float
        Its design flow [m3/s].

    Returns
    -------
    float
        Flow [m3/s].

    References
    ----------
    Makers' cleaning chapters for brazed plates: at least 1.5 times the normal flow, as read; others common
    practice.

    Examples
    --------
    >>> round(flow_wanted_m3_per_s("brazed_plate", 5e-4), 6)
    0.00075
    """
    if exchanger not in FLOW_OVER_DESIGN:
        raise UnknownName("kind of exchanger", exchanger, FLOW_OVER_DESIGN)
    return FLOW_OVER_DESIGN[exchanger] * design_flow_m3_per_s


def pump_word(circuit: Circuit, wanted_m3_per_s: float) -> PumpWord:
    """Return whether a small transfer pump of about a quarter horsepower serves, or a larger one is needed.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    wanted_m3_per_s : float
        Flow wanted [m3/s].

    Returns
    -------
    str
        "small_transfer_pump", "larger_pump" or "neither" (fewer units at a time, wider hoses, or a given
        pump).

    References
    ----------
    The pumps' curves are common practice; where they settle as in `settles_at`.

    Examples
    --------
    >>> one = Circuit((Hose(10.0, 0.01905),), ("entrance", "exit"), 5e-4, 30e3, return_height_m=1.0)
    >>> pump_word(one, 5e-4), pump_word(one, 8e-4)
    ('small_transfer_pump', 'larger_pump')
    """
    words: tuple[tuple[PumpWord, PumpCurve], ...] = (
        ("small_transfer_pump", SMALL_TRANSFER_PUMP),
        ("larger_pump", LARGER_PUMP),
    )
    for word, pump in words:
        try:
            if settles_at(pump, circuit).flow_m3_per_s >= wanted_m3_per_s:
                return word
        except ValueError:
            continue
    return "neither"
