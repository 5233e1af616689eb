"""The compressor: flow and work from volumetric and isentropic efficiency, or from a ten-coefficient map."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.properties import Saturation
from diagnostics.engine.virtual_unit.vapour import Array, Number, superheat_from, vapour_value

DENSITY_WEIGHT = 0.75


@dataclass(frozen=True, slots=True)
class Compressor:
    """One compressor at full stage.

    `displacement_m3_per_s` [m3/s]; volumetric efficiency a - b (P - 1) with P the pressure ratio [-];
    overall isentropic efficiency (power to isentropic work) e - f ln(P/P0)^2 [-]; `shell_loss` [-] of the
    power leaves through the shell; `low_stage` [-] displacement share of the low stage.
    """

    displacement_m3_per_s: Number
    volumetric_a: Number = 0.98
    volumetric_b: Number = 0.025
    isentropic_e: Number = 0.68
    isentropic_f: Number = 0.14
    best_ratio: Number = 2.6
    shell_loss: Number = 0.05
    low_stage: Number = 0.67


@dataclass(frozen=True, slots=True)
class Compression:
    """Refrigerant flow [kg/s], work [J/kg], discharge enthalpy [J/kg] and discharge superheat [K]."""

    flow_kg_per_s: Number
    work_j_per_kg: Number
    h_suction: Number
    h_discharge: Number
    discharge_superheat_k: Number


def volumetric_efficiency(compressor: Compressor, ratio: Number, wear: Number = 0.0) -> Number:
    """Share of the displacement that is delivered.

    Parameters
    ----------
    compressor : Compressor
        The compressor.
    ratio : array
        Discharge over suction pressure. [-]
    wear : array
        Share of the flow that leaks back inside. [-]

    Returns
    -------
    array
        Volumetric efficiency, held above 0.05. [-]

    References
    ----------
    Linear clearance form (common practice; Winandy et al. 2002, Appl. Therm. Eng. 22, for scrolls).

    Examples
    --------
    >>> round(float(volumetric_efficiency(Compressor(1e-3), 3.0)), 3)
    0.93
    """
    return np.maximum(
        (compressor.volumetric_a - compressor.volumetric_b * (ratio - 1.0)) * (1.0 - wear), 0.05
    )


def isentropic_efficiency(compressor: Compressor, ratio: Number, wear: Number = 0.0) -> Number:
    """Isentropic work over electrical work.

    A worn compressor compresses what leaks back again: its efficiency falls by the leaked share.

    Parameters
    ----------
    compressor : Compressor
        The compressor.
    ratio : array
        Discharge over suction pressure. [-]
    wear : array
        Share of the flow that leaks back inside. [-]

    Returns
    -------
    array
        Efficiency, held above 0.15. [-]

    References
    ----------
    Parabola in the logarithm of the pressure ratio: common practice for scrolls with a built-in ratio.

    Examples
    --------
    >>> round(float(isentropic_efficiency(Compressor(1e-3), 2.6)), 3)
    0.68
    """
    away = np.log(np.maximum(ratio, 1.05) / compressor.best_ratio)
    return np.maximum((compressor.isentropic_e - compressor.isentropic_f * away**2) * (1.0 - wear), 0.15)


def compress(
    compressor: Compressor,
    suction: Saturation,
    superheat_k: Number,
    high: Saturation,
    head_pa: Number,
    *,
    suction_pa: Number | None = None,
    share: Number = 1.0,
    wear: Number = 0.0,
    leak: Number = 0.0,
) -> Compression:
    """Flow, work and discharge state between a suction state and a head pressure.

    A leaking reversing valve sends the share `leak` of the discharge gas back into the suction line, which
    heats the suction gas: h = h_out + leak/(1 - leak) (h_discharge - h).

    Parameters
    ----------
    compressor : Compressor
        The compressor.
    suction, high : Saturation
        Saturation on both sides.
    superheat_k : array
        Superheat at the evaporator's outlet; below zero, wet. [K]
    head_pa : array
        Pressure at the discharge, air included. [Pa]
    suction_pa : array, optional
        Pressure at the compressor where the suction line loses some. [Pa]
    share : array
        Displacement share of the stage. [-]
    wear, leak : array
        Internal leak and reversing valve leak. [-]

    Returns
    -------
    Compression
        The compressor's flow (leak included) and states. [kg/s, J/kg, K]

    References
    ----------
    Isentropic and volumetric efficiency (Moran & Shapiro, Engineering Thermodynamics, ch. 10, from memory).

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit.properties import property_table
    >>> table = property_table(("R134a",))
    >>> low, high = table.saturation(np.array([278.15])), table.saturation(np.array([313.15]))
    >>> done = compress(Compressor(1e-3), low, np.array([5.0]), high, high.pressure_pa)
    >>> done.flow_kg_per_s.round(4).tolist()
    [0.0156]
    """
    thinner = 1.0 if suction_pa is None else suction_pa / suction.pressure_pa
    ratio = head_pa / suction.pressure_pa / thinner
    efficiency = isentropic_efficiency(compressor, ratio, wear)
    h_out = vapour_value(suction.h_vapour, suction.enthalpy_terms, superheat_k)
    at_suction = superheat_k
    for _ in range(2):
        entropy = vapour_value(suction.s_vapour, suction.entropy_terms, at_suction)
        isentropic = superheat_from(entropy, high.s_vapour, high.entropy_terms, high.dew_k)
        h_suction = vapour_value(suction.h_vapour, suction.enthalpy_terms, at_suction)
        work = (vapour_value(high.h_vapour, high.enthalpy_terms, isentropic) - h_suction) / efficiency
        work = np.maximum(work, 500.0)
        added = leak / (1.0 - leak) * (1.0 - compressor.shell_loss) * work
        if not np.any(leak):
            break
        at_suction = superheat_from(h_out + added, suction.h_vapour, suction.enthalpy_terms, suction.dew_k)
    h_suction = h_out + added
    h_discharge = h_suction + (1.0 - compressor.shell_loss) * work
    density = _suction_density(suction, at_suction) * thinner
    flow = compressor.displacement_m3_per_s * share * density * volumetric_efficiency(compressor, ratio, wear)
    superheat = superheat_from(h_discharge, high.h_vapour, high.enthalpy_terms, high.dew_k)
    return Compression(flow, work, h_suction, h_discharge, superheat)


def ten_coefficient_value(coefficients: Array, suction_dew: Number, discharge_dew: Number) -> Number:
    """Value of a compressor maker's ten-coefficient polynomial.

    X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3 with S, D the
    suction and discharge dew temperatures in the unit the map is published in.

    Parameters
    ----------
    coefficients : array
        C1 to C10, last axis. [unit of X]
    suction_dew, discharge_dew : array
        Dew temperatures. [degC or degF]

    Returns
    -------
    array
        Mass flow, power or capacity, as published. [unit of X]

    References
    ----------
    AHRI Standard 540 (form from memory).

    Examples
    --------
    >>> c = np.array([1.0, 2, 3, 0.1, 0.2, 0.3, 0.01, 0.02, 0.03, 0.04])
    >>> round(float(ten_coefficient_value(c, 45.0, 130.0)), 2)
    123794.75
    """
    return np.sum(coefficients * _terms(suction_dew, discharge_dew), axis=-1)


def fit_ten_coefficients(suction_dew: Array, discharge_dew: Array, values: Array) -> Array:
    """Ten coefficients that fit a compressor's mass flow or power over its envelope.

    Parameters
    ----------
    suction_dew, discharge_dew : array
        Dew temperatures of at least ten points. [degC or degF]
    values : array
        Mass flow or power at the points. [any]

    Returns
    -------
    array
        C1 to C10. [unit of values]

    References
    ----------
    AHRI Standard 540 (form from memory); ordinary least squares.

    Examples
    --------
    >>> s, d = np.meshgrid(np.arange(-10.0, 15.0, 5.0), np.arange(30.0, 60.0, 5.0))
    >>> bool(abs(fit_ten_coefficients(s.ravel(), d.ravel(), 3.0 * s.ravel())[1] - 3.0) < 1e-8)
    True
    """
    return np.asarray(np.linalg.lstsq(_terms(suction_dew, discharge_dew), values, rcond=None)[0])


def mass_flow_at_superheat(map_flow: Number, density: Number, map_density: Number) -> Number:
    """Mass flow of a map corrected from its rated superheat to another.

    m = m_map (1 + F (rho/rho_map - 1)) with F = 0.75.

    Parameters
    ----------
    map_flow : array
        Mass flow of the map. [kg/s]
    density, map_density : array
        Suction density as it is, and at the map's superheat. [kg/m3]

    Returns
    -------
    array
        Mass flow. [kg/s]

    References
    ----------
    Dabiri & Rice (1981), ASHRAE Transactions 87 (from memory).

    Examples
    --------
    >>> mass_flow_at_superheat(0.05, 20.0, 20.0)
    0.05
    """
    return map_flow * (1.0 + DENSITY_WEIGHT * (density / map_density - 1.0))


def _terms(s: Number, d: Number) -> Array:
    one = np.ones_like(np.asarray(s, dtype=float) * d)
    return np.stack(
        [one, s * one, d * one, s**2 * one, s * d, d**2 * one, s**3 * one, d * s**2, s * d**2, d**3 * one],
        axis=-1,
    )


def _suction_density(suction: Saturation, superheat_k: Number) -> Number:
    """Suction density [kg/m3]; wet suction is denser by the liquid it carries (homogeneous)."""
    log = vapour_value(np.log(suction.rho_vapour), suction.density_terms, np.maximum(superheat_k, 0.0))
    lacking = -np.minimum(superheat_k, 0.0) * suction.enthalpy_terms[..., 0] / 8.0
    quality = 1.0 - lacking / (suction.h_vapour - suction.h_liquid)
    return np.exp(log) / np.maximum(quality, 0.3)
