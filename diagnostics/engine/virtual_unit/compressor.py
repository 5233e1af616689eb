"""The compressor: flow and work from volumetric and isentropic efficiency, or from a ten-coefficient map."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.compressor_map import mass_flow_at_superheat, ten_coefficient_value
from diagnostics.engine.virtual_unit.properties import Saturation
from diagnostics.engine.virtual_unit.vapour import Number, superheat_from, vapour_value

NO_MAP = (0.0,) * 10


@dataclass(frozen=True, slots=True)
class Compressor:
    """One compressor at full stage, told by efficiencies or, where `mapped` is 1, by a maker's map.

    `displacement_m3_per_s` [m3/s]; volumetric efficiency a - b (P - 1) with P the pressure ratio [-];
    overall isentropic efficiency (power to isentropic work) e - f ln(P/P0)^2 [-]; `shell_loss` [-] of the
    power leaves through the shell; `low_stage` [-] displacement share of the low stage. `flow_map` [kg/s]
    and `power_map` [W] are ten coefficients each over dew temperatures in degC, at `map_superheat_k` [K];
    the map holds for suction dew temperatures `map_suction_k` and discharge dew temperatures
    `map_discharge_k` [K], see `within_map`.
    """

    displacement_m3_per_s: Number
    volumetric_a: Number = 0.98
    volumetric_b: Number = 0.025
    isentropic_e: Number = 0.68
    isentropic_f: Number = 0.14
    best_ratio: Number = 2.6
    shell_loss: Number = 0.05
    low_stage: Number = 0.67
    mapped: Number = 0.0
    flow_map: Number = NO_MAP
    power_map: Number = NO_MAP
    map_superheat_k: Number = 11.1
    map_suction_k: Number = (233.15, 303.15)
    map_discharge_k: Number = (283.15, 343.15)


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
    flow_rated = compressor.displacement_m3_per_s * share * volumetric_efficiency(compressor, ratio, wear)
    for _ in range(2):
        entropy = vapour_value(suction.s_vapour, suction.entropy_terms, at_suction)
        isentropic = superheat_from(entropy, high.s_vapour, high.entropy_terms, high.dew_k)
        h_suction = vapour_value(suction.h_vapour, suction.enthalpy_terms, at_suction)
        work = (vapour_value(high.h_vapour, high.enthalpy_terms, isentropic) - h_suction) / efficiency
        flow = flow_rated * _suction_density(suction, at_suction) * thinner
        if np.any(compressor.mapped):
            flow, work = _by_map(compressor, suction, high, at_suction, share, wear, (flow, work))
        work = np.maximum(work, 500.0)
        added = leak / (1.0 - leak) * (1.0 - compressor.shell_loss) * work
        if not np.any(leak):
            break
        at_suction = superheat_from(h_out + added, suction.h_vapour, suction.enthalpy_terms, suction.dew_k)
    h_suction = h_out + added
    h_discharge = h_suction + (1.0 - compressor.shell_loss) * work
    superheat = superheat_from(h_discharge, high.h_vapour, high.enthalpy_terms, high.dew_k)
    return Compression(flow, work, h_suction, h_discharge, superheat)


def _by_map(
    compressor: Compressor,
    suction: Saturation,
    high: Saturation,
    superheat_k: Number,
    share: Number,
    wear: Number,
    otherwise: tuple[Number, Number],
) -> tuple[Number, Number]:
    """Flow [kg/s] and work [J/kg] by the map where there is one; wear takes flow and leaves the power."""
    dews = suction.dew_k - 273.15, high.dew_k - 273.15
    rated = ten_coefficient_value(compressor.flow_map, *dews)
    power = ten_coefficient_value(compressor.power_map, *dews)
    dense = _suction_density(suction, superheat_k)
    at_map = _suction_density(suction, compressor.map_superheat_k + 0.0 * suction.dew_k)
    flow = np.maximum(mass_flow_at_superheat(rated, dense, at_map), 1e-6) * share * (1.0 - wear)
    mapped = compressor.mapped > 0.5
    return np.where(mapped, flow, otherwise[0]), np.where(mapped, power * share / flow, otherwise[1])


def within_map(compressor: Compressor, suction_dew_k: Number, discharge_dew_k: Number) -> Number:
    """Whether a state lies where the compressor's map holds; a polynomial of third order must not be
    continued.

    Parameters
    ----------
    compressor : Compressor
        The compressor.
    suction_dew_k, discharge_dew_k : array
        Dew temperatures. [K]

    Returns
    -------
    bool or array of bool
        True without a map, and inside the map's range.

    References
    ----------
    AHRI Standard 540 (from memory): coefficients hold within the published envelope only.

    Examples
    --------
    >>> bool(within_map(Compressor(1e-3, mapped=1.0), 280.0, 350.0))
    False
    """
    suction, discharge = np.asarray(compressor.map_suction_k), np.asarray(compressor.map_discharge_k)
    inside = (suction_dew_k >= suction[..., 0]) & (suction_dew_k <= suction[..., 1])
    inside = inside & (discharge_dew_k >= discharge[..., 0]) & (discharge_dew_k <= discharge[..., 1])
    return inside | (np.asarray(compressor.mapped) < 0.5)


def _suction_density(suction: Saturation, superheat_k: Number) -> Number:
    """Suction density [kg/m3]; wet suction is denser by the liquid it carries (homogeneous)."""
    log = vapour_value(np.log(suction.rho_vapour), suction.density_terms, np.maximum(superheat_k, 0.0))
    lacking = -np.minimum(superheat_k, 0.0) * suction.enthalpy_terms[..., 0] / 8.0
    quality = 1.0 - lacking / (suction.h_vapour - suction.h_liquid)
    return np.exp(log) / np.maximum(quality, 0.3)
