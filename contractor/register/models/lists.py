"""Columns that hold a list or an object: what is wrong with one, in words; "" where nothing is."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.metals import MATERIALS

NOT_FITTED = "not_fitted"
LONGEST = 40


def checked_words(given: Any, names: tuple[str, ...] | None) -> str:
    """A list of words, each once; of the known ones where `names` lists them."""
    if not isinstance(given, list) or not all(isinstance(one, str) and one.strip() for one in given):
        return "expected a list of words."
    if len(given) > LONGEST or len(set(given)) != len(given):
        return f"expected each word once, at most {LONGEST}."
    for one in given:
        if names is not None and one not in names:
            return f"{one!r} is not known here; expected {', '.join(names)}."
    return ""


def checked_parts(given: Any, parts: tuple[str, ...]) -> str:
    """A material by part. A part that is missing is not known; one that is not there is not_fitted."""
    if not isinstance(given, dict):
        return f'expected an object such as {{"{parts[0]}": "bronze"}}.'
    for part, material in given.items():
        if part not in parts:
            return f"{part!r} is no part known here; expected {', '.join(parts)}."
        if material != NOT_FITTED and material not in MATERIALS:
            return (
                f"{part}: {material!r} is no material known here; expected {', '.join(MATERIALS)} or "
                f"{NOT_FITTED}; leave out what is not known."
            )
    return ""


def checked_acids(given: Any) -> str:
    if not isinstance(given, list) or len(given) > 6 or not all(map(_is_acid, given)):
        return 'expected a list such as [{"acid": "citric", "share": 1}]; each may have "pka", a list.'
    names = [one["acid"] for one in given]
    unknown = [name for name in names if name not in ACIDS]
    if unknown:
        return f"{unknown[0]!r} is no acid known here; expected {', '.join(ACIDS)}."
    if len(set(names)) != len(names) or (given and abs(sum(one["share"] for one in given) - 1) > 0.01):
        return "expected each acid once, and shares that make 1 together."
    return ""


def _is_acid(one: Any) -> bool:
    return (
        isinstance(one, dict)
        and {"acid", "share"} <= set(one) <= {"acid", "share", "pka"}
        and isinstance(one["acid"], str)
        and _is_number(one["share"])
        and one["share"] > 0
        and isinstance(one.get("pka", []), list)
        and all(map(_is_number, one.get("pka", [])))
    )


def checked_curve(given: Any) -> str:
    wanted = "expected points such as [[0, 12], [0.0005, 9], [0.001, 4]]: flow rising, head not rising."
    if given == []:
        return ""
    if not isinstance(given, list) or not 2 <= len(given) <= LONGEST:
        return wanted
    if not all(isinstance(p, list) and len(p) == 2 and all(map(_is_number, p)) for p in given):
        return wanted
    flows, heads = [point[0] for point in given], [point[1] for point in given]
    rising = all(a < b for a, b in pairwise(flows))
    falling = all(a >= b for a, b in pairwise(heads))
    return "" if rising and falling and flows[0] >= 0 and heads[-1] >= 0 else wanted


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
