"""Pressure drop, and what it tells of flow: pipes and hoses, the clean curve of a coil, balancing valves."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from diagnostics.engine.errors import OnRange, like, within
from diagnostics.engine.waters import Water, water

Values = npt.ArrayLike

GRAVITY_M_PER_S2 = 9.80665
DESIGN_WATER_K = 293.15
"""Design pressure drops are stated on plain water at 20 degC."""
_LAMINAR_BELOW_RE = 2300.0


def reynolds_number(
    velocity_m_per_s: Values, diameter_m: Values, density_kg_per_m3: Values, viscosity_pa_s: Values
) -> Any:
    """Return the Reynolds number, rho V D / mu.

    Parameters
    ----------
    velocity_m_per_s : float or array
        Mean velocity [m/s].
    diameter_m : float or array
        Inner or hydraulic diameter [m].
    density_kg_per_m3 : float or array
        Density [kg/m3].
    viscosity_pa_s : float or array
        Dynamic viscosity [Pa s].

    Returns
    -------
    float or array
        Reynolds number [-].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eq. 1.24.

    Examples
    --------
    >>> round(reynolds_number(6.366, 0.2, 900.0, 9e-3), -1)
    127320.0
    """
    arrays = [np.asarray(v, float) for v in (velocity_m_per_s, diameter_m, density_kg_per_m3, viscosity_pa_s)]
    result = arrays[2] * arrays[0] * arrays[1] / arrays[3]
    return like(result, velocity_m_per_s, diameter_m, density_kg_per_m3, viscosity_pa_s)


def friction_factor_laminar(reynolds: Values) -> Any:
    """Return the Darcy friction factor of laminar flow in a round tube, 64/Re, up to Re 2300.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], above 0 to 2300.

    Returns
    -------
    float or array
        Darcy friction factor [-].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eq. 6.13.

    Examples
    --------
    >>> friction_factor_laminar(1000.0)
    0.064
    """
    return like(64.0 / within("Reynolds number", "-", reynolds, 1e-9, _LAMINAR_BELOW_RE), reynolds)


def friction_factor(reynolds: Values, relative_roughness: Values = 0.0) -> Any:
    """Return the Darcy friction factor of a round tube in any regime, without a jump between them.

    f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12), A = [2.457 ln(1/((7/Re)^0.9 + 0.27 e/D))]^16, B = (37530/Re)^16.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number [-], above 0 to 1e8.
    relative_roughness : float or array
        Roughness over diameter [-], 0 to 0.05.

    Returns
    -------
    float or array
        Darcy friction factor [-], within some 2 % of Colebrook where turbulent.

    References
    ----------
    Churchill (1977), Chemical Engineering 84(24), 91, eqs. 18 to 20.

    Examples
    --------
    >>> round(friction_factor(1e5, 1e-4), 6)
    0.018463
    """
    re = within("Reynolds number", "-", reynolds, 1e-9, 1e8)
    rough = within("relative roughness", "-", relative_roughness, 0.0, 0.05)
    a = (2.457 * np.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * rough))) ** 16
    b = (37530.0 / re) ** 16
    f = 8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return like(f, reynolds, relative_roughness)


def straight_pressure_drop_pa(
    friction_factor: Values,
    length_m: Values,
    diameter_m: Values,
    density_kg_per_m3: Values,
    velocity_m_per_s: Values,
) -> Any:
    """Return the pressure drop of a straight pipe or hose, f (L/D) rho V^2 / 2.

    Parameters
    ----------
    friction_factor : float or array
        Darcy friction factor [-].
    length_m : float or array
        Length [m].
    diameter_m : float or array
        Inner diameter [m].
    density_kg_per_m3 : float or array
        Density [kg/m3].
    velocity_m_per_s : float or array
        Mean velocity [m/s].

    Returns
    -------
    float or array
        Pressure drop [Pa].

    References
    ----------
    Darcy-Weisbach: White (2011), Fluid Mechanics, 7th ed., eq. 6.10.

    Examples
    --------
    >>> round(straight_pressure_drop_pa(0.0225, 500.0, 0.2, 900.0, 6.366) / 1000)
    1026
    """
    ratio = np.asarray(friction_factor, float) * np.asarray(length_m, float) / np.asarray(diameter_m, float)
    dynamic = 0.5 * np.asarray(density_kg_per_m3, float) * np.asarray(velocity_m_per_s, float) ** 2
    return like(ratio * dynamic, friction_factor, length_m, diameter_m, density_kg_per_m3, velocity_m_per_s)


def fittings_pressure_drop_pa(
    loss_coefficient: Values, density_kg_per_m3: Values, velocity_m_per_s: Values
) -> Any:
    """Return the pressure drop of fittings, K rho V^2 / 2.

    Parameters
    ----------
    loss_coefficient : float or array
        Sum of the fittings' loss coefficients [-].
    density_kg_per_m3 : float or array
        Density [kg/m3].
    velocity_m_per_s : float or array
        Mean velocity in the fittings' bore [m/s].

    Returns
    -------
    float or array
        Pressure drop [Pa].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eq. 6.78.

    Examples
    --------
    >>> fittings_pressure_drop_pa(2.0, 1000.0, 1.0)
    1000.0
    """
    dynamic = 0.5 * np.asarray(density_kg_per_m3, float) * np.asarray(velocity_m_per_s, float) ** 2
    return like(
        np.asarray(loss_coefficient, float) * dynamic, loss_coefficient, density_kg_per_m3, velocity_m_per_s
    )


def pressure_of_height_pa(height_m: Values, density_kg_per_m3: Values) -> Any:
    """Return the pressure of a column of liquid, rho g h: what two ports' difference in level adds.

    Parameters
    ----------
    height_m : float or array
        Height [m]; negative below.
    density_kg_per_m3 : float or array
        Density [kg/m3].

    Returns
    -------
    float or array
        Pressure [Pa].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eq. 2.14; standard gravity from NIST Special Publication 330.

    Examples
    --------
    >>> round(pressure_of_height_pa(1.0, 1000.0), 2)
    9806.65
    """
    pressure = GRAVITY_M_PER_S2 * np.asarray(height_m, float) * np.asarray(density_kg_per_m3, float)
    return like(pressure, height_m, density_kg_per_m3)


def pressure_drop_ratio(flow_ratio: Values, exponent: Values) -> Any:
    """Return by what factor pressure drop changes with flow, (Q/Q0)^n.

    Parameters
    ----------
    flow_ratio : float or array
        Flow over the reference flow [-], 0 or above.
    exponent : float or array
        Exponent [-], 1 (laminar) to 2 (fully rough); smooth turbulent tubes about 1.75.

    Returns
    -------
    float or array
        Pressure drop over the reference pressure drop [-].

    References
    ----------
    ASHRAE Handbook Fundamentals (2017), chapter 22; Blasius (1913) for the exponent 1.75.

    Examples
    --------
    >>> round(pressure_drop_ratio(0.8, 1.75), 4)
    0.6767
    """
    ratio = within("flow ratio", "-", flow_ratio, 0.0, np.inf)
    return like(ratio ** within("exponent", "-", exponent, 1.0, 2.2), flow_ratio, exponent)


def flow_ratio(pressure_drop_ratio: Values, exponent: Values) -> Any:
    """Return by what factor flow has changed with pressure drop, (dp/dp0)^(1/n).

    Parameters
    ----------
    pressure_drop_ratio : float or array
        Pressure drop over the reference pressure drop [-], 0 or above.
    exponent : float or array
        Exponent [-], 1 to 2.2.

    Returns
    -------
    float or array
        Flow over the reference flow [-].

    References
    ----------
    As `pressure_drop_ratio`.

    Examples
    --------
    >>> round(flow_ratio(1.5, 1.8), 4)
    1.2526
    """
    ratio = within("pressure drop ratio", "-", pressure_drop_ratio, 0.0, np.inf)
    return like(ratio ** (1.0 / within("exponent", "-", exponent, 1.0, 2.2)), pressure_drop_ratio, exponent)


def fluid_factor(exponent: Values, fluid: Water, temperature_k: Values) -> Any:
    """Return the pressure drop of a loop's water over that of plain water at 20 degC at the same flow.

    A friction factor falling as Re^(n-2) makes dp ~ rho^(n-1) mu^(2-n) Q^n, so the factor is
    (rho/rho20)^(n-1) (mu/mu20)^(2-n). It holds while the flow stays turbulent.

    Parameters
    ----------
    exponent : float or array
        Exponent n of pressure drop over flow [-], 1 to 2.2.
    fluid : Water
        The loop's water.
    temperature_k : float or array
        Its temperature [K].

    Returns
    -------
    float or array
        Factor on pressure drop [-].

    References
    ----------
    White (2011), Fluid Mechanics, 7th ed., eqs. 6.10 and 6.38 to 6.40 (Blasius, n = 1.75).

    Examples
    --------
    >>> from diagnostics.engine.waters import water
    >>> round(fluid_factor(1.75, water("propylene_glycol", 0.30), 273.15), 2)
    1.69
    """
    n = within("exponent", "-", exponent, 1.0, 2.2)
    plain = water()
    density = fluid.density_kg_per_m3(temperature_k) / plain.density_kg_per_m3(DESIGN_WATER_K)
    viscosity = fluid.viscosity_pa_s(temperature_k) / plain.viscosity_pa_s(DESIGN_WATER_K)
    return like(density ** (n - 1.0) * viscosity ** (2.0 - n), exponent, temperature_k)


def flow_from_pressure_drop(
    pressure_drop_pa: Values,
    design_flow_m3_per_s: Values,
    design_pressure_drop_pa: Values,
    exponent: Values,
    fluid: Water,
    temperature_k: Values,
    errors: OnRange = "raise",
) -> Any:
    """Return the volume flow that a clean coil's pressure drop tells, for the water as it is.

    Q = Q0 [dp / (dp0 factor)]^(1/n) with `fluid_factor`. A scaled bore makes it read too high.

    Parameters
    ----------
    pressure_drop_pa : float or array
        Pressure drop read [Pa], 0 or above.
    design_flow_m3_per_s : float or array
        Flow of the clean curve's design point [m3/s].
    design_pressure_drop_pa : float or array
        Pressure drop of that point, on plain water at 20 degC [Pa].
    exponent : float or array
        Exponent of pressure drop over flow [-], 1 to 2.2.
    fluid : Water
        The loop's water.
    temperature_k : float or array
        Its mean temperature [K].
    errors : {"raise", "nan"}
        What a negative pressure drop does.

    Returns
    -------
    float or array
        Volume flow [m3/s].

    References
    ----------
    As `fluid_factor`.

    Examples
    --------
    >>> from diagnostics.engine.waters import water
    >>> round(flow_from_pressure_drop(45e3, 5e-4, 30e3, 1.8, water(), 293.15) / 5e-4, 4)
    1.2526
    """
    drop = within("pressure drop", "Pa", pressure_drop_pa, 0.0, np.inf, errors)
    factor = fluid_factor(exponent, fluid, temperature_k)
    ratio = drop / (np.asarray(design_pressure_drop_pa, float) * factor)
    flow = np.asarray(design_flow_m3_per_s, float) * ratio ** (1.0 / np.asarray(exponent, float))
    inputs = (pressure_drop_pa, design_flow_m3_per_s, design_pressure_drop_pa, exponent, temperature_k)
    return like(flow, *inputs)


def pressure_drop_from_flow(
    flow_m3_per_s: Values,
    design_flow_m3_per_s: Values,
    design_pressure_drop_pa: Values,
    exponent: Values,
    fluid: Water,
    temperature_k: Values,
) -> Any:
    """Return the pressure drop that a clean coil shows at a flow of the water as it is.

    Parameters
    ----------
    flow_m3_per_s : float or array
        Volume flow [m3/s], 0 or above.
    design_flow_m3_per_s : float or array
        Flow of the clean curve's design point [m3/s].
    design_pressure_drop_pa : float or array
        Pressure drop of that point, on plain water at 20 degC [Pa].
    exponent : float or array
        Exponent of pressure drop over flow [-], 1 to 2.2.
    fluid : Water
        The loop's water.
    temperature_k : float or array
        Its mean temperature [K].

    Returns
    -------
    float or array
        Pressure drop [Pa].

    References
    ----------
    As `fluid_factor`.

    Examples
    --------
    >>> from diagnostics.engine.waters import water
    >>> round(pressure_drop_from_flow(4e-4, 5e-4, 30e3, 1.75, water(), 293.15), -1)
    20300.0
    """
    flow = within("flow", "m3/s", flow_m3_per_s, 0.0, np.inf)
    ratio = flow / np.asarray(design_flow_m3_per_s, float)
    factor = fluid_factor(exponent, fluid, temperature_k)
    drop = np.asarray(design_pressure_drop_pa, float) * factor * ratio ** np.asarray(exponent, float)
    return like(drop, flow_m3_per_s, design_flow_m3_per_s, design_pressure_drop_pa, exponent, temperature_k)


def flow_from_valve_coefficient(
    pressure_drop_pa: Values, kv_m3_per_h: Values, density_kg_per_m3: Values, errors: OnRange = "raise"
) -> Any:
    """Return the volume flow through a balancing valve, Kv sqrt(dp / 1 bar / relative density).

    Parameters
    ----------
    pressure_drop_pa : float or array
        Pressure drop across the valve [Pa], 0 or above.
    kv_m3_per_h : float or array
        Flow coefficient Kv at the valve's set position [m3/h at 1 bar]; Kv = 0.865 Cv.
    density_kg_per_m3 : float or array
        Density [kg/m3].
    errors : {"raise", "nan"}
        What a negative pressure drop does.

    Returns
    -------
    float or array
        Volume flow [m3/s].

    References
    ----------
    IEC 60534-2-1 (2011), eq. 1: turbulent flow of a liquid, no attached fittings, density over 1000 kg/m3.

    Examples
    --------
    >>> round(flow_from_valve_coefficient(1e5, 3.6, 1000.0) * 1000, 3)
    1.0
    """
    drop = within("pressure drop", "Pa", pressure_drop_pa, 0.0, np.inf, errors)
    relative_density = np.asarray(density_kg_per_m3, float) / 1000.0
    flow = np.asarray(kv_m3_per_h, float) / 3600.0 * np.sqrt(drop / 1e5 / relative_density)
    return like(flow, pressure_drop_pa, kv_m3_per_h, density_kg_per_m3)
