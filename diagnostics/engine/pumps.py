"""Centrifugal pumps: their curve, their speed, and where they settle on a circuit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from diagnostics.engine.errors import like, within

Values = npt.ArrayLike


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """A pump: pressure = shut-off pressure [Pa] * (1 - (flow / greatest flow [m3/s])^exponent [-]).

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., section 11.6; a curve through a maker's two end points.
    """

    shut_off_pressure_pa: float
    greatest_flow_m3_per_s: float
    exponent: float = 2.0

    def pressure_pa(self, flow_m3_per_s: Values) -> Any:
        """Return the pressure [Pa] that the pump gives at a flow [m3/s] between 0 and its greatest."""
        flow = within("pump flow", "m3/s", flow_m3_per_s, 0.0, self.greatest_flow_m3_per_s)
        share = flow / self.greatest_flow_m3_per_s
        return like(self.shut_off_pressure_pa * (1.0 - share**self.exponent), flow_m3_per_s)


@dataclass(frozen=True, slots=True)
class DutyPoint:
    """Where a pump's curve meets its circuit's: flow [m3/s] and pressure [Pa]."""

    flow_m3_per_s: float
    pressure_pa: float


def curve_through(points: Sequence[tuple[float, float]], exponent: float = 2.0) -> PumpCurve:
    """Return the pump whose curve goes through a maker's printed points, by least squares.

    Parameters
    ----------
    points : sequence of tuple
        Flow [m3/s] and pressure [Pa] of each point, flow rising; two or more.
    exponent : float
        Exponent of the curve [-].

    Returns
    -------
    PumpCurve
        Shut-off pressure [Pa] and greatest flow [m3/s]; where it would rise with flow the points are refused.

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., section 11.6: p = p0 - a Q^n, a straight line in Q^n.

    Examples
    --------
    >>> found = curve_through([(0.0, 120e3), (4e-4, 90e3), (8e-4, 0.0)])
    >>> round(found.shut_off_pressure_pa), round(found.greatest_flow_m3_per_s * 1000, 2)
    (120000, 0.8)
    """
    if len(points) < 2:
        raise ValueError(f"{len(points)} points of a pump's curve; expected two or more")
    flows = within("pump flow", "m3/s", [flow for flow, _ in points], 0.0, 10.0) ** exponent
    pressures = within("pump pressure", "Pa", [pressure for _, pressure in points], 0.0, 1e7)
    slope, start = (float(value) for value in np.polyfit(flows, pressures, 1))
    if not slope < 0.0 < start:
        raise ValueError("the pump's pressure does not fall with flow; expected points of a falling curve")
    return PumpCurve(start, (start / -slope) ** (1.0 / exponent), exponent)


def affinity(
    flow_m3_per_s: Values, pressure_pa: Values, power_w: Values, speed_ratio: Values
) -> tuple[Any, Any, Any]:
    """Return a pump's flow, pressure and power at another speed: Q ~ N, p ~ N^2, P ~ N^3.

    Parameters
    ----------
    flow_m3_per_s : float or array
        Flow at the first speed [m3/s].
    pressure_pa : float or array
        Pressure at the first speed [Pa].
    power_w : float or array
        Shaft power at the first speed [W].
    speed_ratio : float or array
        Second speed over first [-], above 0.

    Returns
    -------
    tuple
        Flow [m3/s], pressure [Pa] and power [W] at the second speed, of the same density and diameter.

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eq. 11.28 (similarity rules).

    Examples
    --------
    >>> affinity(1e-3, 100e3, 150.0, 0.5)
    (0.0005, 25000.0, 18.75)
    """
    ratio = within("speed ratio", "-", speed_ratio, 1e-9, np.inf)
    flow = like(np.asarray(flow_m3_per_s, float) * ratio, flow_m3_per_s, speed_ratio)
    pressure = like(np.asarray(pressure_pa, float) * ratio**2, pressure_pa, speed_ratio)
    return flow, pressure, like(np.asarray(power_w, float) * ratio**3, power_w, speed_ratio)


def duty_point(pump: PumpCurve, circuit: Callable[[float], float]) -> DutyPoint:
    """Return where a pump's curve meets the losses of its circuit.

    Parameters
    ----------
    pump : PumpCurve
        The pump.
    circuit : callable
        Pressure [Pa] that the circuit takes at a flow [m3/s], rising with flow; height to be lifted included.

    Returns
    -------
    DutyPoint
        Flow [m3/s] and pressure [Pa].

    Raises
    ------
    ValueError
        Where the circuit takes more than the pump's shut-off pressure before anything flows.

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., section 11.6 (matching pumps to system characteristics).

    Examples
    --------
    >>> point = duty_point(PumpCurve(100e3, 1e-3), lambda flow: 300e3 * (flow / 1e-3) ** 2)
    >>> round(point.flow_m3_per_s * 1000, 3), round(point.pressure_pa / 1000, 1)
    (0.5, 75.0)
    """
    if circuit(0.0) >= pump.shut_off_pressure_pa:
        raise ValueError(
            f"the circuit asks {circuit(0.0):g} Pa before anything flows; "
            f"expected less than the pump's shut-off pressure {pump.shut_off_pressure_pa:g} Pa"
        )

    def excess(flow: float) -> float:
        return float(pump.pressure_pa(flow)) - circuit(flow)

    flow = float(brentq(excess, 0.0, pump.greatest_flow_m3_per_s, xtol=1e-12))
    return DutyPoint(flow, float(pump.pressure_pa(flow)))
