"""What can be wrong with a machine, each fault with a severity, and three severities of every cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnostics.engine.errors import UnknownName
from diagnostics.engine.virtual_unit.vapour import Number

LEVELS: tuple[str, ...] = ("just_noticeable", "plain", "heavy")


@dataclass(frozen=True, slots=True)
class Faults:
    """All faults of one machine; zero everywhere is a healthy one.

    `scale_m2k_per_w` [m2.K/W] lies on the water side of the exchanger read. `low_flow` [-] and
    `flow_control` [-] are shares of flow lost before the exchanger, by the loop or by the branch's own
    cartridge or valve; `strainer_blocked` [-] is the share of the strainer closed. `air_in_water` [-] is
    the share of flow and water film lost. `hoses_crossed` is 1 or 0. `overcharged`, `undercharged` [-]
    are shares of the charge. `air_share` [-] is the partial pressure of air with the machine off at 25
    degC. `metering_restricted` [-] is the share of the expansion device's area (filter-drier too) lost,
    `metering_overfeeding` [-] the share too much. `air_flow_lost` and `air_coil_fouled` [-] are shares of
    the air coil's flow and air-side conductance lost (a chiller's: shares of its other water circuit's).
    `reversing_valve_leak` [-] and `compressor_wear` [-] are shares of the compressor's flow.
    """

    scale_m2k_per_w: Number = 0.0
    low_flow: Number = 0.0
    flow_control: Number = 0.0
    strainer_blocked: Number = 0.0
    air_in_water: Number = 0.0
    hoses_crossed: Number = 0.0
    overcharged: Number = 0.0
    undercharged: Number = 0.0
    air_share: Number = 0.0
    metering_restricted: Number = 0.0
    metering_overfeeding: Number = 0.0
    air_flow_lost: Number = 0.0
    air_coil_fouled: Number = 0.0
    reversing_valve_leak: Number = 0.0
    compressor_wear: Number = 0.0


NO_FAULTS = Faults()

CAUSE_FIELDS: Mapping[str, tuple[tuple[str, tuple[float, float, float]], ...]] = MappingProxyType(
    {
        "exchanger_fouled": (("scale_m2k_per_w", (0.9e-4, 2.2e-4, 4.4e-4)),),
        "water_flow_low": (("low_flow", (0.2, 0.4, 0.6)),),
        "strainer_blocked": (("strainer_blocked", (0.6, 0.8, 0.9)),),
        "flow_control_fault": (("flow_control", (0.2, 0.4, 0.6)),),
        "air_in_water": (("air_in_water", (0.1, 0.2, 0.35)),),
        "water_hoses_crossed": (("hoses_crossed", (1.0, 1.0, 1.0)),),
        "overcharged": (("overcharged", (0.08, 0.17, 0.3)),),
        "undercharged": (("undercharged", (0.1, 0.2, 0.35)),),
        "non_condensables": (("air_share", (0.015, 0.04, 0.08)),),
        "metering_restricted": (("metering_restricted", (0.35, 0.5, 0.65)),),
        "metering_overfeeding": (("metering_overfeeding", (0.3, 0.8, 1.5)),),
        "air_side_fault": (
            ("air_flow_lost", (0.2, 0.4, 0.6)),
            ("air_coil_fouled", (0.1, 0.2, 0.3)),
        ),
        "reversing_valve_leaking": (("reversing_valve_leak", (0.05, 0.12, 0.25)),),
        "compressor_weak": (("compressor_wear", (0.08, 0.2, 0.4)),),
    }
)
"""Fault fields of each physical cause with their values at the three levels, common practice."""


def faults_of(cause: str, level: str = "plain", scale: float = 1.0) -> Faults:
    """The faults that stand for a cause at one of three levels.

    Parameters
    ----------
    cause : str
        A key of `CAUSE_FIELDS`, or nothing_wrong.
    level : str
        just_noticeable, plain or heavy.
    scale : float
        Factor on the severity. [-]

    Returns
    -------
    Faults
        Only that cause's fields are set.

    References
    ----------
    Severities as in Breuker & Braun (1998), HVAC&R Research 4(3) (ranges from memory), else common practice.

    Examples
    --------
    >>> faults_of("undercharged", "heavy").undercharged
    0.35
    """
    if cause == "nothing_wrong":
        return NO_FAULTS
    if cause not in CAUSE_FIELDS:
        raise UnknownName("cause", cause, ("nothing_wrong", *CAUSE_FIELDS))
    if level not in LEVELS:
        raise UnknownName("level", level, LEVELS)
    place = LEVELS.index(level)
    return Faults(**{name: values[place] * scale for name, values in CAUSE_FIELDS[cause]})
