"""Errors and range checks that every part of the engine shares."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
OnRange = Literal["raise", "nan"]


class UnknownName(ValueError):
    """A name that the engine does not know; the message lists the names it does know."""

    def __init__(self, what: str, name: object, valid: Iterable[str]) -> None:
        self.what, self.name, self.valid = what, name, tuple(valid)
        super().__init__(f"unknown {what} {name!r}; expected one of {', '.join(self.valid)}")


class OutOfRange(ValueError):
    """A value outside the range in which a relation or a table holds; names the value and the range."""

    def __init__(self, what: str, unit: str, value: float, low: float, high: float) -> None:
        self.what, self.unit, self.value, self.low, self.high = what, unit, value, low, high
        super().__init__(f"{what} {value:g} {unit} is outside the range {low:g} to {high:g} {unit}")


def within(
    what: str, unit: str, values: npt.ArrayLike, low: Any, high: Any, errors: OnRange = "raise"
) -> FloatArray:
    """Return `values` as a float array, with those outside [low, high] refused or turned into NaN.

    `low` and `high` may be arrays that broadcast with `values`. NaN counts as outside.
    """
    array = np.asarray(values, dtype=float)
    inside = (array >= low) & (array <= high)
    if inside.all():
        return array
    if errors == "nan":
        return np.where(inside, array, np.nan)
    array, lows, highs, inside = np.broadcast_arrays(array, low, high, inside)
    first = int(np.argmin(inside.ravel()))
    raise OutOfRange(
        what, unit, float(array.ravel()[first]), float(lows.ravel()[first]), float(highs.ravel()[first])
    )


def like(result: npt.ArrayLike, *inputs: Any) -> Any:
    """Return a float when every input was a scalar, else the array."""
    if all(np.ndim(value) == 0 for value in inputs):
        return float(np.asarray(result))
    return np.asarray(result, dtype=float)
