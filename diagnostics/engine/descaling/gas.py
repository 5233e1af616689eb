"""Carbon dioxide from dissolving and neutralising, against the air of the room: unsmelt, it gathers low."""

from __future__ import annotations

from typing import Literal

from diagnostics.engine.descaling.acids import mineral
from diagnostics.engine.errors import within

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
CARBON_DIOXIDE_KG_PER_MOL = 44.0095e-3
FAN_AND_METER_FROM = 0.005
"""Share of the room's air, nothing ventilated: the eight-hour occupational limit of 5000 ppm."""
FORCED_VENTILATION_FROM = 0.03
"""Share of the room's air above which nobody works without forced ventilation: the short-term limit."""

RoomWord = Literal["natural_ventilation", "fan_and_meter", "forced_ventilation_or_no_work"]


def carbon_dioxide_kg(deposit_kg: float, mineral_name: str = "calcium_carbonate") -> float:
    """Return the carbon dioxide that a deposit sets free when it is dissolved.

    Parameters
    ----------
    deposit_kg : float
        Deposit dissolved [kg].
    mineral_name : str
        One of `acids.MINERALS`.

    Returns
    -------
    float
        Carbon dioxide [kg].

    References
    ----------
    Stoichiometry: one for each carbonate, M 44.0095 g/mol.

    Examples
    --------
    >>> round(carbon_dioxide_kg(1.0), 4)
    0.4397
    """
    deposit = mineral(mineral_name)
    moles = float(within("deposit", "kg", deposit_kg, 0.0, 1e5)) / deposit.molar_mass_kg_per_mol
    return moles * deposit.carbon_dioxide * CARBON_DIOXIDE_KG_PER_MOL


def gas_volume_m3(
    carbon_dioxide_kg: float, temperature_k: float = 293.15, pressure_pa: float = 101_325.0
) -> float:
    """Return the volume that carbon dioxide takes, as an ideal gas.

    Parameters
    ----------
    carbon_dioxide_kg : float
        Carbon dioxide [kg].
    temperature_k : float
        Room temperature [K].
    pressure_pa : float
        Barometric pressure [Pa].

    Returns
    -------
    float
        Volume [m3].

    References
    ----------
    Ideal gas law, CODATA 2018 gas constant; within 0.6 % of the real gas at 1 atm.

    Examples
    --------
    >>> round(gas_volume_m3(carbon_dioxide_kg(1.0)), 3)
    0.24
    """
    kelvin = float(within("room temperature", "K", temperature_k, 233.15, 333.15))
    pressure = float(within("barometric pressure", "Pa", pressure_pa, 5e4, 1.1e5))
    return carbon_dioxide_kg / CARBON_DIOXIDE_KG_PER_MOL * GAS_CONSTANT_J_PER_MOL_K * kelvin / pressure


def share_of_room(gas_m3: float, room_m3: float) -> float:
    """Return what share of an unventilated room's air a gas set free in it makes up, evenly mixed.

    Parameters
    ----------
    gas_m3 : float
        Gas set free, dissolving and neutralising together [m3].
    room_m3 : float
        Free volume of the room [m3], above 0.

    Returns
    -------
    float
        Share by volume [-]; near the floor it can be many times that.

    References
    ----------
    Definition of volume fraction, the displaced air leaving.

    Examples
    --------
    >>> round(share_of_room(0.24, 30.0), 4)
    0.0079
    """
    room = float(within("room volume", "m3", room_m3, 0.1, 1e6))
    gas = float(within("gas set free", "m3", gas_m3, 0.0, 1e5))
    return gas / (gas + room)


def room_word(share: float) -> RoomWord:
    """Return what a share of carbon dioxide asks of the room. A pit or vault is a confined space whatever it
    says.

    Parameters
    ----------
    share : float
        Share of the room's air [-].

    Returns
    -------
    str
        "natural_ventilation", "fan_and_meter" above 0.5 % or "forced_ventilation_or_no_work" above 3 %.

    References
    ----------
    OSHA 29 CFR 1910.1000, table Z-1: 5000 ppm over eight hours; NIOSH and ACGIH: 30 000 ppm for a short time
    (from memory).

    Examples
    --------
    >>> room_word(0.0079)
    'fan_and_meter'
    """
    value = float(within("share of carbon dioxide", "-", share, 0.0, 1.0))
    if value > FORCED_VENTILATION_FROM:
        return "forced_ventilation_or_no_work"
    return "fan_and_meter" if value > FAN_AND_METER_FROM else "natural_ventilation"


def fresh_air_m3_per_s(
    gas_m3: float, over_s: float, room_limit: float = FAN_AND_METER_FROM, outdoor: float = 0.0005
) -> float:
    """Return the fresh air that holds a room at a share of carbon dioxide while gas comes off evenly.

    Parameters
    ----------
    gas_m3 : float
        Gas set free [m3].
    over_s : float
        Time over which it comes off [s]; half of it comes within the first minutes of a batch.
    room_limit : float
        Share of carbon dioxide to hold [-].
    outdoor : float
        Share in the fresh air [-].

    Returns
    -------
    float
        Fresh air [m3/s].

    References
    ----------
    ASHRAE Handbook Fundamentals (2017), ch. 16: steady dilution, Q = G/(C - C_outdoor).

    Examples
    --------
    >>> round(fresh_air_m3_per_s(0.24, 1200.0), 3)
    0.044
    """
    time = float(within("time", "s", over_s, 1.0, 1e6))
    return gas_m3 / time / float(within("room limit above outdoors", "-", room_limit - outdoor, 1e-6, 1.0))
