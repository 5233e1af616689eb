"""What must be so before any acid: water treatment, slime, drinking water, metals that are known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from diagnostics.engine.errors import UnknownName

Weight = Literal["refused", "flush_first", "ask"]
TREATMENTS: tuple[str, ...] = (
    "none",
    "nitrite",
    "sulphite",
    "chlorine",
    "bromine",
    "molybdate",
    "phosphonate",
    "azole",
    "other",
)


@dataclass(frozen=True, slots=True)
class Gate:
    """What stands before acid: a code, whether it refuses, asks or is flushed away first, and words."""

    code: str
    weight: Weight
    words: str


_FLUSH = "flush with clean water until its test strip shows none, and catch the flush water"


def water_gates(treatments: Sequence[str] | None, acids: Iterable[str]) -> list[Gate]:
    """What the water's treatment asks; None or empty where nobody asked yet."""
    if not treatments:
        return [
            Gate(
                "treatment_unknown",
                "ask",
                "The water's treatment is not known: ask whoever treats it, and test for nitrite, "
                "sulphite and free halogen before acid.",
            )
        ]
    names = tuple(acids)
    found = []
    for one in treatments:
        if one not in TREATMENTS:
            raise UnknownName("water treatment", one, TREATMENTS)
        if gate := _of_treatment(one, names):
            found.append(gate)
    return found


def _of_treatment(one: str, acids: Sequence[str]) -> Gate | None:
    if one == "nitrite":
        violent = " Sulfamic acid gasses violently on it." if "sulfamic" in acids else ""
        return Gate(
            "nitrite",
            "flush_first",
            f"Nitrite in the water: any acid on it gives poisonous brown fumes.{violent} First {_FLUSH}.",
        )
    if one == "sulphite":
        return Gate(
            "sulphite",
            "flush_first",
            f"A sulphite scavenger in the water: acid on it gives sulphur dioxide. First {_FLUSH}.",
        )
    if one in ("chlorine", "bromine"):
        return Gate(
            one,
            "flush_first",
            f"A {one} biocide in the water: acid on it gives off {one} gas. First {_FLUSH}.",
        )
    if one == "other":
        return Gate(
            "treatment_other",
            "ask",
            "A treatment that is not among those known here: read its safety data sheet on acids first.",
        )
    return None


def exchanger_gates(
    *, heats_drinking_water: bool | None, black_slime: bool | None, unknown_parts: Sequence[str]
) -> list[Gate]:
    """What the exchanger and its surface ask."""
    found = []
    if heats_drinking_water:
        found.append(
            Gate(
                "drinking_water",
                "refused",
                "This coil heats drinking water: it is not cleaned with chemicals here.",
            )
        )
    elif heats_drinking_water is None:
        found.append(
            Gate(
                "drinking_water_unknown",
                "ask",
                "Say whether this coil heats drinking water; such a coil is not cleaned.",
            )
        )
    if unknown_parts:
        parts = ", ".join(part.replace("_", " ") for part in unknown_parts)
        found.append(
            Gate(
                "unknown_metal",
                "refused",
                f"What these are made of is not known: {parts}. Find out, or take them out of the "
                "circuit; an unknown metal is never cleaned with acid.",
            )
        )
    if black_slime:
        found.append(
            Gate(
                "sulphide",
                "refused",
                "Black slime holds sulphide, and acid on it gives hydrogen sulphide: have the water "
                "treated with a biocide and flush the slime out first.",
            )
        )
    elif black_slime is None:
        found.append(
            Gate(
                "slime_unknown",
                "ask",
                "Look into the strainer for black slime that smells of rotten eggs before any acid.",
            )
        )
    return found
