"""Where the refrigerant is: inventory of both exchangers, line and receiver, and what air adds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine.virtual_unit.vapour import Array, Number

GAS_CONSTANT = 8.314462618
LEVEL_BAND_K = 1.0


@dataclass(frozen=True, slots=True)
class Charge:
    """The circuit's charge and what holds it besides the exchangers.

    `total_kg` [kg] of refrigerant as charged by the maker; liquid line, receiver and suction accumulator
    volumes [m3], 0 without.
    """

    total_kg: Number
    line_volume_m3: Number
    receiver_volume_m3: Number = 0.0
    accumulator_volume_m3: Number = 0.0


def exchanger_mass_kg(volume_m3: Number, shares: Array, density: Array) -> Number:
    """Refrigerant in an exchanger, each slice filling its share of the volume.

    Parameters
    ----------
    volume_m3 : array
        Refrigerant volume. [m3]
    shares : array
        Area or coil share of each slice, in any one unit. [-]
    density : array
        Mean density of each slice. [kg/m3]

    Returns
    -------
    array
        Mass. [kg]

    References
    ----------
    Charge inventory by zones and void fraction (Rice 1987, ASHRAE Transactions 93(1), from memory).

    Examples
    --------
    >>> float(exchanger_mass_kg(0.001, np.array([[1.0, 3.0]]), np.array([[100.0, 1000.0]]))[0])
    0.775
    """
    return volume_m3 * np.sum(shares * density, axis=-1) / np.sum(shares, axis=-1)


def receiver_mass_kg(
    volume_m3: Number, subcooling_k: Number, rho_liquid: Number, rho_vapour: Number
) -> Number:
    """Refrigerant in a receiver behind the condenser.

    A partly filled receiver holds the condenser's outlet at saturation: its level passes from empty to
    full within 1 K around zero subcooling, and only a full one lets liquid back up into the condenser.

    Parameters
    ----------
    volume_m3 : array
        Volume, 0 without a receiver. [m3]
    subcooling_k : array
        Subcooling at the condenser's outlet. [K]
    rho_liquid, rho_vapour : array
        Densities. [kg/m3]

    Returns
    -------
    array
        Mass. [kg]

    References
    ----------
    Common practice: a receiver levels out charge until it is full or empty.

    Examples
    --------
    >>> round(float(receiver_mass_kg(0.001, 5.0, 1000.0, 80.0)), 6)
    1.0
    """
    return volume_m3 * (rho_vapour + _level(subcooling_k) * (rho_liquid - rho_vapour))


def accumulator_mass_kg(volume_m3: Number, superheat_k: Number, rho_liquid: Number) -> Number:
    """Liquid held back in a suction accumulator.

    It fills within 1 K around zero superheat: liquid that the evaporator does not boil stays there
    instead of reaching the compressor, until it is full.

    Parameters
    ----------
    volume_m3 : array
        Volume, 0 without an accumulator. [m3]
    superheat_k : array
        Superheat at the evaporator's outlet. [K]
    rho_liquid : array
        Density of liquid. [kg/m3]

    Returns
    -------
    array
        Mass. [kg]

    References
    ----------
    Common practice: heat pumps with an orifice carry an accumulator for what the orifice feeds too much.

    Examples
    --------
    >>> round(float(accumulator_mass_kg(0.001, 6.0, 1200.0)), 6)
    0.0
    """
    return volume_m3 * rho_liquid * _level(-superheat_k)


def _level(over_k: Number) -> Number:
    """Level from empty (0) to full (1) around zero. [-]"""
    return 1.0 / (1.0 + np.exp(-4.0 * np.clip(over_k / LEVEL_BAND_K, -20.0, 20.0)))


def air_pressure_pa(static_air_pa: Number, gas_share_running: Number, temperature_k: Number) -> Number:
    """Partial pressure of air trapped in a running condenser.

    Air that shows as `static_air_pa` at 298.15 K with the machine off, spread over all its vapour space,
    is swept into the condenser and squeezed into the vapour there.

    Parameters
    ----------
    static_air_pa : array
        Partial pressure with the machine off. [Pa]
    gas_share_running : array
        Vapour space of the condenser over the vapour space of the whole circuit. [-]
    temperature_k : array
        Condensing temperature. [K]

    Returns
    -------
    array
        Partial pressure while running. [Pa]

    References
    ----------
    Ideal gas and Dalton's law (Moran & Shapiro, ch. 12, from memory).

    Examples
    --------
    >>> float(air_pressure_pa(10e3, 0.5, 298.15))
    20000.0
    """
    return static_air_pa / gas_share_running * temperature_k / 298.15


def air_film_factor(air_pa: Number, pressure_pa: Number) -> Number:
    """What air leaves of the condensing film.

    1/(1 + 6 y) with y the mole share of air: forced flow in a channel sweeps most of the air away from
    the surface, so the loss is milder than on a still film.

    Parameters
    ----------
    air_pa : array
        Partial pressure of air. [Pa]
    pressure_pa : array
        Saturation pressure of the refrigerant. [Pa]

    Returns
    -------
    array
        Factor. [-]

    References
    ----------
    Collier & Thome, Convective Boiling and Condensation, ch. 10, for the trend (from memory); the six is
    common practice.

    Examples
    --------
    >>> float(air_film_factor(0.0, 2e6))
    1.0
    """
    return 1.0 / (1.0 + 6.0 * air_pa / (air_pa + pressure_pa))
