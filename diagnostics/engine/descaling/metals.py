"""Which acid may touch which metal or seal: allowed, only inhibited, or forbidden, each with its source.

The table is for the dilute, lukewarm baths of a descale. A cleaner's own sheet can forbid more, never less.
Where sources were silent the stricter state was taken. A metal that nobody knows is refused by an error.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.errors import UnknownName

State = Literal["allowed", "only_inhibited", "forbidden"]
STATES: tuple[State, ...] = ("allowed", "only_inhibited", "forbidden")
"""From mild to strict."""


@dataclass(frozen=True, slots=True)
class Compatibility:
    """What an acid may do to a material, why, and who says so."""

    material: str
    acid: str
    state: State
    reason: str
    source: str


_UFC = "UFC 3-240-13FN (2005), 9-2.2.6, as read"
_UFC_COUPON = "UFC 3-240-13FN (2005), 9-2.5 (inhibited acid, steel coupon test), as read"
_UFC_SULFAMIC = "UFC 3-240-13FN (2005), 9-2.3 (galvanised equipment, inhibitor increased), as read"
_PLATES = "maker's manual for plate exchangers, cleaning chapter"
_BRAZED = "maker's handbook for brazed plate exchangers, cleaning chapter: 5 % phosphoric"
_CHILLER = "chiller maker's manual, brazed plates: nitric acid and ammonia corrode copper"
_MEMORY = "from memory"

_ORDER = (
    "hydrochloric",
    "nitric",
    "sulfamic",
    "phosphoric",
    "citric",
    "glycolic",
    "formic",
    "acetic",
    "lactic",
)
_LETTERS: Mapping[str, State] = {"a": "allowed", "i": "only_inhibited", "f": "forbidden"}

_METALS = {  # hydrochloric, nitric, sulfamic, phosphoric, citric, glycolic, formic, acetic, lactic
    "copper": "ifiiaiiii",
    "cupronickel": "ifiiaiiii",
    "admiralty_brass": "ifiiiiiii",
    "red_brass": "ifiiiiiii",
    "bronze": "ifiiaiiii",
    "stainless_304": "faiaaiiaa",
    "stainless_316": "faiaaaiaa",
    "copper_brazed_stainless": "ffiaaiiii",
    "nickel_brazed_stainless": "ffiaaiiii",
    "titanium": "faifaifaa",
    "carbon_steel": "ifiiiiiii",
    "cast_iron": "ifiiiiiii",
    "galvanised_steel": "ffiffffff",
    "aluminium": "ffffiffff",
    "tin_solder": "ffiiiffff",
}
_SEALS = {
    "epdm": "afaaaaaaa",
    "nitrile": "ffafaffff",
    "fluorocarbon": "aaaaaaffa",
    "natural_rubber": "afaaaaffa",
    "ptfe": "aaaaaaaaa",
    "pvc": "aaaaaaaaa",
    "polyethylene": "aaaaaaaaa",
    "polypropylene": "afaaaaaaa",
    "fibre_gasket": "ffffaffff",
}

METALS: tuple[str, ...] = tuple(_METALS)
SEALS: tuple[str, ...] = tuple(_SEALS)
MATERIALS: tuple[str, ...] = METALS + SEALS

_SOURCED: dict[tuple[str, str], tuple[str, str]] = {
    ("stainless_304", "hydrochloric"): ("chloride pits and cracks stainless steel", _UFC),
    ("stainless_316", "hydrochloric"): ("chloride pits and cracks stainless steel", f"{_UFC}; {_PLATES}"),
    ("copper_brazed_stainless", "hydrochloric"): (
        "chloride pits and cracks the plates",
        f"{_UFC}; {_PLATES}",
    ),
    ("nickel_brazed_stainless", "hydrochloric"): (
        "chloride pits and cracks the plates",
        f"{_UFC}; {_PLATES}",
    ),
    ("galvanised_steel", "hydrochloric"): ("the zinc corrodes", _UFC),
    ("aluminium", "hydrochloric"): ("aluminium dissolves", _UFC),
    ("galvanised_steel", "sulfamic"): ("the zinc corrodes unless the inhibitor is increased", _UFC_SULFAMIC),
    ("carbon_steel", "hydrochloric"): ("steel dissolves and gives hydrogen unless inhibited", _UFC_COUPON),
    ("carbon_steel", "sulfamic"): ("steel dissolves and gives hydrogen unless inhibited", _UFC_COUPON),
    ("copper_brazed_stainless", "nitric"): ("nitric acid dissolves the braze", _CHILLER),
    ("copper", "nitric"): ("nitric acid dissolves copper", _CHILLER),
    ("copper_brazed_stainless", "phosphoric"): ("at 5 %, as the maker has it", _BRAZED),
    ("titanium", "phosphoric"): ("phosphoric acid attacks titanium", _PLATES),
}

_REASONS: Mapping[State, str] = {
    "allowed": "no attack to speak of in a dilute, lukewarm bath",
    "only_inhibited": "attacked without an inhibitor",
    "forbidden": "attacked, inhibited or not",
}


def _row(material: str, acid_name: str, letter: str) -> Compatibility:
    state = _LETTERS[letter]
    reason, source = _SOURCED.get((material, acid_name), (_REASONS[state], _MEMORY))
    return Compatibility(material, acid_name, state, reason, source)


TABLE: Mapping[tuple[str, str], Compatibility] = MappingProxyType(
    {
        (material, acid_name): _row(material, acid_name, letter)
        for material, letters in {**_METALS, **_SEALS}.items()
        for acid_name, letter in zip(_ORDER, letters, strict=True)
    }
)


def compatibility(material: str, acid_name: str) -> Compatibility:
    """Return whether an acid may touch a metal or a seal.

    Parameters
    ----------
    material : str
        One of `MATERIALS`.
    acid_name : str
        One of `acids.ACIDS`.

    Returns
    -------
    Compatibility
        State, reason and source.

    Raises
    ------
    UnknownName
        Where the material or the acid is not known; an unknown metal is never cleaned with acid.

    References
    ----------
    Each row names its own; UFC 3-240-13FN (2005), 9-2.2.6.

    Examples
    --------
    >>> compatibility("stainless_316", "hydrochloric").state
    'forbidden'
    """
    if material not in MATERIALS:
        raise UnknownName("wetted material", material, MATERIALS)
    if acid_name not in ACIDS:
        raise UnknownName("acid", acid_name, ACIDS)
    return TABLE[material, acid_name.removesuffix("_monohydrate")]


def strictest(materials: Iterable[str], acid_names: Iterable[str]) -> State:
    """Return the strictest state among all that an acid, or a mixture of acids, would touch.

    Parameters
    ----------
    materials : iterable of str
        Every wetted metal and seal; none at all is refused.
    acid_names : iterable of str
        The acids of the cleaner.

    Returns
    -------
    str
        "allowed", "only_inhibited" or "forbidden".

    References
    ----------
    As `compatibility`.

    Examples
    --------
    >>> strictest(["cupronickel", "epdm"], ["hydrochloric"])
    'only_inhibited'
    """
    touched, names = tuple(materials), tuple(acid_names)
    if not touched or not names:
        raise ValueError("no wetted material or no acid named; expected every metal and seal, and every acid")
    return max((compatibility(one, name).state for one in touched for name in names), key=STATES.index)
