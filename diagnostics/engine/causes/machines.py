"""What the machine is, as far as its causes, checks and remedies read differently for it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from diagnostics.engine.causes.names import CAUSES, CHECKS, REMEDIES
from diagnostics.engine.records import ExchangerFacts, reverses

REFRIGERATION: tuple[str, ...] = ("R404A", "R507A", "R448A", "R449A")
"""Refrigerants of cold rooms and cases: the evaporating level is theirs, from deep frozen to cool."""
SMALL_W = 60e3
"""Below it a machine on such an exchanger is as often a plain condenser as a chiller (common practice)."""
CONDENSER = "water_cooled_condenser"
LOW_PRESSURE: tuple[str, ...] = ("R123", "R1233zd(E)")
"""Refrigerants of centrifugal machines, with evaporators flooded or wetted from above (common practice)."""
FLOODED_BELOW_K = 3.0
"""An expanding valve keeps more superheat than that (common practice: 4 to 8 K)."""
WITH_OTHER_WATER = ("water_to_water_heat_pump", "water_cooled_chiller")
OTHER_SIDE, LOOK_THERE = "air_side_fault", "look_at_air_side"
AIR, OTHER_WATER, ROOM, EITHER = "air", "other_water", "room", "either"

CAUSES_BY_SIDE: Mapping[str, str] = MappingProxyType(
    {
        AIR: "the air side is at fault: filter, fan or air coil",
        OTHER_WATER: "the machine's other water is at fault: its flow or its temperature",
        ROOM: "the evaporator is at fault: its fan, ice on its coil, or the load of the room",
        EITHER: "the machine's other side is at fault: its air or its other water",
    }
)
REMEDIES_BY_SIDE: Mapping[str, str] = MappingProxyType(
    {
        AIR: REMEDIES[OTHER_SIDE],
        OTHER_WATER: "put flow and temperature of the machine's other water right",
        ROOM: "defrost and clean the evaporator's coil, put its fan right",
        EITHER: "clean what the air passes, or put the other water's flow right, whichever the machine has",
    }
)
CHECKS_BY_SIDE: Mapping[str, str] = MappingProxyType(
    {
        AIR: CHECKS[LOOK_THERE].words,
        OTHER_WATER: "read flow and both temperatures of the machine's other water",
        ROOM: "look at the evaporator: fan, ice and the load of its room",
        EITHER: "look at the machine's other side: its air, or flow and temperatures of its other water",
    }
)


def side_of(facts: ExchangerFacts) -> str:
    """What stands on the machine's other side, by the record; without one only a coaxial coil or brazed
    plates are taken for a heat pump's."""
    if facts.machine is None:
        return AIR if reverses(facts) else EITHER
    if facts.machine in WITH_OTHER_WATER:
        return OTHER_WATER
    return ROOM if facts.machine == CONDENSER else AIR


def is_chiller(facts: ExchangerFacts) -> bool:
    """Whether the virtual unit takes the machine for a chiller: by the record, else by its exchanger."""
    return not reverses(facts)


def may_be_flooded(facts: ExchangerFacts, superheat_k: float) -> bool:
    """Whether so little superheat is what its evaporator usually shows: tubes that stand in the liquid.

    With a thermostatic or electronic valve on record, which keeps superheat, it is not, but for refrigerants
    that are used in no other way.
    """
    if facts.exchanger != "shell_and_tube" or not is_chiller(facts) or superheat_k >= FLOODED_BELOW_K:
        return False
    return facts.refrigerant in LOW_PRESSURE or facts.expansion not in ("thermostatic", "electronic")


def of_refrigeration(refrigerant: str) -> bool:
    """Whether the refrigerant is one of cold rooms: what evaporates where, the register does not tell."""
    return refrigerant in REFRIGERATION


def may_be_plain(facts: ExchangerFacts) -> bool:
    """Whether it is, or without a record may be, the plain condenser of a machine that no record tells of."""
    if facts.machine is not None:
        return facts.machine == CONDENSER
    small = facts.capacity_w is not None and facts.capacity_w < SMALL_W
    return is_chiller(facts) and (of_refrigeration(facts.refrigerant) or small)


def is_evaporator(facts: ExchangerFacts, mode: str) -> bool:
    """Whether it is a chiller's evaporator that is read: its water is the building's own."""
    return mode == "heating" and is_chiller(facts)


def cause_words(cause: str, facts: ExchangerFacts) -> str:
    """The cause in plain words, for this machine."""
    return CAUSES_BY_SIDE[side_of(facts)] if cause == OTHER_SIDE else CAUSES[cause]


def remedy_words(cause: str, facts: ExchangerFacts) -> str:
    """What is done about the cause, at this machine."""
    return REMEDIES_BY_SIDE[side_of(facts)] if cause == OTHER_SIDE else REMEDIES[cause]


def check_words(check: str, facts: ExchangerFacts) -> str:
    """What to do at this machine."""
    return CHECKS_BY_SIDE[side_of(facts)] if check == LOOK_THERE else CHECKS[check].words
