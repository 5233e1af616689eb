"""The refrigerant's way through an exchanger, cut into slices: condensing and evaporating, many machines
at once.

Slices run along the last axis from the refrigerant's inlet to its outlet. Beyond complete condensation or
evaporation the description is continued: a negative subcooling is liquid that carries vapour, a negative
superheat vapour that carries liquid, each counted by the heat it lacks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.properties import Saturation
from diagnostics.engine.virtual_unit.vapour import Array, Number, vapour_value

VAPOUR_SLICES, TWO_PHASE_SLICES, LIQUID_SLICES = 2, 4, 2
LIQUID_HEAT = 1500.0


@dataclass(frozen=True, slots=True)
class Slices:
    """Heat a kilogram [J/kg], end temperatures [K], film shape [-], density [kg/m3]; `two_phase` is 1 or
    0 a slice.
    """

    heat: Array
    t_start: Array
    t_end: Array
    shape: Array
    density: Array
    two_phase: Array
    phase: Array


def void_fraction(quality: Number, rho_vapour: Number, rho_liquid: Number) -> Number:
    """Share of the cross-section that vapour fills.

    alpha = 1/(1 + S (1-x)/x rho_v/rho_l) with the slip S = (rho_l/rho_v)^(1/3).

    Parameters
    ----------
    quality : array
        Vapour quality. [-]
    rho_vapour, rho_liquid : array
        Densities. [kg/m3]

    Returns
    -------
    array
        Void fraction. [-]

    References
    ----------
    Zivi (1964), J. Heat Transfer 86, 247.

    Examples
    --------
    >>> float(void_fraction(1.0, 30.0, 1100.0))
    1.0
    """
    density_ratio = rho_vapour / rho_liquid
    return 1.0 / (1.0 + (1.0 - quality) / np.maximum(quality, 1e-6) * density_ratio ** (2.0 / 3.0))


def liquid_side_enthalpy(sat: Saturation, subcooling_k: Number, h_subcooled: Number) -> Number:
    """Enthalpy at a condenser's outlet, liquid or, at negative subcooling, liquid with vapour.

    Parameters
    ----------
    sat : Saturation
        Saturation in the condenser.
    subcooling_k : array
        Subcooling below bubble; negative: the heat lacking over 1500 J/(kg.K). [K]
    h_subcooled : array
        Enthalpy of liquid at bubble less subcooling where that is positive. [J/kg]

    Returns
    -------
    array
        Enthalpy. [J/kg]

    References
    ----------
    A continuation of this engine's own; at 0 both branches meet.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit.properties import property_table
    >>> sat = property_table(("R32",)).saturation(np.array([310.0]))
    >>> bool(liquid_side_enthalpy(sat, np.array([-2.0]), sat.h_liquid)[0] - sat.h_liquid[0] == 3000.0)
    True
    """
    return np.where(subcooling_k >= 0.0, h_subcooled, sat.h_liquid - LIQUID_HEAT * subcooling_k)


def condensing_slices(
    sat: Saturation,
    discharge_superheat_k: Number,
    h_discharge: Number,
    subcooling_k: Number,
    h_outlet: Number,
    slope: Number,
) -> Slices:
    """Desuperheat, condensation and subcooling from the discharge to the liquid line.

    Parameters
    ----------
    sat : Saturation
        Saturation in the condenser.
    discharge_superheat_k : array
        Superheat at the inlet. [K]
    h_discharge, h_outlet : array
        Enthalpy at inlet and outlet. [J/kg]
    subcooling_k : array
        Subcooling at the outlet; negative where vapour is left. [K]
    slope : array
        Tilt of the two-phase film with quality. [-]

    Returns
    -------
    Slices
        Eight slices a machine. [J/kg, K, kg/m3]

    References
    ----------
    Zones of a condenser (Kakac, Boilers, Evaporators and Condensers, ch. 11, from memory).

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit.properties import property_table
    >>> sat = property_table(("R32",)).saturation(np.array([310.0]))
    >>> hot = vapour_value(sat.h_vapour, sat.enthalpy_terms, np.array([30.0]))
    >>> part = condensing_slices(sat, np.array([30.0]), hot, np.array([0.0]), sat.h_liquid, 0.0)
    >>> bool(abs(part.heat.sum() - (hot - sat.h_liquid)[0]) < 1e-6)
    True
    """
    hot = np.maximum(discharge_superheat_k, 0.0)
    t_vapour = sat.dew_k[:, None] + hot[:, None] * np.array([1.0, 0.45, 0.0])
    middle = vapour_value(sat.h_vapour, sat.enthalpy_terms, 0.45 * hot)
    top = np.where(discharge_superheat_k > 0.0, h_discharge, sat.h_vapour)
    h_vapour = np.stack([top, middle, sat.h_vapour], axis=-1)
    start = np.minimum(h_discharge, sat.h_vapour)
    end = np.maximum(h_outlet, sat.h_liquid)
    h_two, quality = _even(sat, start, end, TWO_PHASE_SLICES)
    t_two = sat.bubble_k[:, None] + _share(sat, h_two) * (sat.dew_k - sat.bubble_k)[:, None]
    cold = np.maximum(subcooling_k, 0.0)
    h_end = np.where(subcooling_k >= 0.0, h_outlet, sat.h_liquid)
    along = np.array([0.0, 0.5, 1.0])
    h_liquid = sat.h_liquid[:, None] + (h_end - sat.h_liquid)[:, None] * along
    t_liquid = sat.bubble_k[:, None] - cold[:, None] * along
    rho_hot = sat.rho_vapour * np.exp(
        vapour_value(0.0 * hot, sat.density_terms, 0.5 * hot),
    )
    return _join(
        [h_vapour, h_two, h_liquid],
        [t_vapour, t_two, t_liquid],
        quality,
        slope,
        [rho_hot, sat.rho_vapour, sat.rho_liquid],
        (1, 0, 2),
        -1.0,
    )


def evaporating_slices(
    sat: Saturation, h_inlet: Number, superheat_k: Number, h_outlet: Number, slope: Number
) -> Slices:
    """Evaporation from the inlet quality, then superheat.

    Parameters
    ----------
    sat : Saturation
        Saturation in the evaporator.
    h_inlet, h_outlet : array
        Enthalpy at inlet and outlet. [J/kg]
    superheat_k : array
        Superheat at the outlet; negative where liquid is left. [K]
    slope : array
        Tilt of the two-phase film with quality. [-]

    Returns
    -------
    Slices
        Six slices a machine. [J/kg, K, kg/m3]

    References
    ----------
    Zones of an evaporator (Kakac, Boilers, Evaporators and Condensers, ch. 12, from memory).

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit.properties import property_table
    >>> sat = property_table(("R32",)).saturation(np.array([275.0]))
    >>> part = evaporating_slices(sat, sat.h_liquid + 6e4, np.array([0.0]), sat.h_vapour, 0.0)
    >>> bool(abs(part.heat.sum() - (sat.h_vapour - sat.h_liquid - 6e4)[0]) < 1e-6)
    True
    """
    end = np.minimum(h_outlet, sat.h_vapour)
    h_two, quality = _even(sat, np.minimum(h_inlet, end - 1.0), end, TWO_PHASE_SLICES)
    t_two = sat.bubble_k[:, None] + _share(sat, h_two) * (sat.dew_k - sat.bubble_k)[:, None]
    warm = np.maximum(superheat_k, 0.0)
    along = np.array([0.0, 0.5, 1.0])
    t_vapour = sat.dew_k[:, None] + warm[:, None] * along
    middle = vapour_value(sat.h_vapour, sat.enthalpy_terms, 0.5 * warm)
    h_vapour = np.stack([sat.h_vapour, middle, np.maximum(h_outlet, sat.h_vapour)], axis=-1)
    return _join(
        [h_two, h_vapour],
        [t_two, t_vapour],
        quality,
        slope,
        [sat.rho_vapour, sat.rho_vapour, sat.rho_liquid],
        (0, 1),
        1.0,
    )


def _even(sat: Saturation, start: Number, end: Number, count: int) -> tuple[Array, Array]:
    """Enthalpies at even steps [J/kg] and the quality in the middle of each step [-]."""
    along = np.linspace(0.0, 1.0, count + 1)
    enthalpy = start[:, None] + (end - start)[:, None] * along
    return enthalpy, _share(sat, 0.5 * (enthalpy[:, 1:] + enthalpy[:, :-1]))


def _share(sat: Saturation, enthalpy: Array) -> Array:
    """Vapour quality of enthalpies along the last axis. [-]"""
    return np.asarray((enthalpy - sat.h_liquid[:, None]) / (sat.h_vapour - sat.h_liquid)[:, None])


def _join(
    enthalpies: list[Array],
    temperatures: list[Array],
    quality: Array,
    slope: Number,
    densities: list[Array],
    order: tuple[int, ...],
    sign: float,
) -> Slices:
    """Put zones end to end; `order` names each zone's phase: 0 two-phase, 1 vapour, 2 liquid."""
    rho_gas, rho_vapour, rho_liquid = densities
    void = void_fraction(quality, rho_vapour[:, None], rho_liquid[:, None])
    tilt = 1.0 + np.asarray(slope)[..., None] * (2.0 * np.clip(quality, 0.0, 1.0) - 1.0)
    shape = {0: tilt, 1: np.ones((len(quality), VAPOUR_SLICES)), 2: np.ones((len(quality), LIQUID_SLICES))}
    density = {
        0: void * rho_vapour[:, None] + (1.0 - void) * rho_liquid[:, None],
        1: np.repeat(rho_gas[:, None], VAPOUR_SLICES, axis=1),
        2: np.repeat(rho_liquid[:, None], LIQUID_SLICES, axis=1),
    }
    phase = np.concatenate([np.full(shape[zone].shape[1], zone) for zone in order])
    return Slices(
        heat=np.concatenate([sign * (h[:, 1:] - h[:, :-1]) for h in enthalpies], axis=1),
        t_start=np.concatenate([t[:, :-1] for t in temperatures], axis=1),
        t_end=np.concatenate([t[:, 1:] for t in temperatures], axis=1),
        shape=np.concatenate([shape[zone] for zone in order], axis=1),
        density=np.concatenate([density[zone] for zone in order], axis=1),
        two_phase=(phase == 0).astype(float),
        phase=phase,
    )
