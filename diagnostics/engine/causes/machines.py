"""What the machine is, as far as its causes, checks and remedies read differently for it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from diagnostics.engine.causes.names import CAUSES, CHECKS, REMEDIES
from diagnostics.engine.records import ExchangerFacts

CHILLER_EXCHANGERS: tuple[str, ...] = ("shell_and_tube", "plate_and_frame")
"""Exchangers that the virtual unit sizes as a chiller's: water on both sides of the circuit, no air coil."""
REFRIGERATION: tuple[str, ...] = ("R404A", "R507A", "R448A", "R449A")
"""Refrigerants of cold rooms and cases: the evaporating level is theirs, from deep frozen to cool."""
OTHER_SIDE = "air_side_fault"
CAUSES_OF_CHILLERS: Mapping[str, str] = MappingProxyType(
    {**CAUSES, OTHER_SIDE: "the machine's other water is at fault: its flow or its temperature"}
)
REMEDIES_OF_CHILLERS: Mapping[str, str] = MappingProxyType(
    {**REMEDIES, OTHER_SIDE: "put flow and temperature of the machine's other water right"}
)
CHECKS_OF_CHILLERS: Mapping[str, str] = MappingProxyType(
    {"look_at_air_side": "read flow and both temperatures of the machine's other water"}
)


def is_chiller(facts: ExchangerFacts) -> bool:
    """Whether the exchanger is a chiller's."""
    return facts.exchanger in CHILLER_EXCHANGERS


def of_refrigeration(refrigerant: str) -> bool:
    """Whether the refrigerant is one of cold rooms: what evaporates where, the register does not tell."""
    return refrigerant in REFRIGERATION


def is_evaporator(facts: ExchangerFacts, mode: str) -> bool:
    """Whether it is a chiller's evaporator that is read: its water is the building's own."""
    return mode == "heating" and is_chiller(facts)


def cause_words(cause: str, facts: ExchangerFacts) -> str:
    """The cause in plain words, for this machine."""
    return (CAUSES_OF_CHILLERS if is_chiller(facts) else CAUSES)[cause]


def remedy_words(cause: str, facts: ExchangerFacts) -> str:
    """What is done about the cause, at this machine."""
    return (REMEDIES_OF_CHILLERS if is_chiller(facts) else REMEDIES)[cause]


def check_words(check: str, facts: ExchangerFacts) -> str:
    """What to do at this machine."""
    own = CHECKS_OF_CHILLERS.get(check) if is_chiller(facts) else None
    return own or CHECKS[check].words
