"""The register of everything uncertain in one assessment: clean surface, instruments, habits of the
machine."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Key = tuple[str, ...]


@dataclass(slots=True)
class Unknowns:
    """Independent quantities, each with mean, standard uncertainty and shape; asked for by key, made once.

    `group` says in words what the quantity belongs to: a column of readings (`head_pressure`) or a part of
    the clean reference (`reference`). Arrays over quantities keep the order in which they were first asked
    for.
    """

    index: dict[Key, int] = field(default_factory=dict)
    mean: list[float] = field(default_factory=list)
    spread: list[float] = field(default_factory=list)
    rectangular: list[bool] = field(default_factory=list)
    group: list[str] = field(default_factory=list)

    def add(self, key: Key, mean: float, spread: float, group: str, rectangular: bool = False) -> int:
        """Place of the quantity `key`, made with this mean and standard uncertainty when first asked for."""
        place = self.index.get(key)
        if place is None:
            place = self.index[key] = len(self.mean)
            self.mean.append(mean)
            self.spread.append(spread)
            self.rectangular.append(rectangular)
            self.group.append(group)
        return place

    def limits(self, key: Key, low: float, high: float, group: str) -> int:
        """Place of a quantity that lies evenly between two limits."""
        return self.add(key, 0.5 * (low + high), (high - low) / 12**0.5, group, rectangular=True)

    def __len__(self) -> int:
        return len(self.mean)

    def values(self, z: Array) -> Array:
        """Physical values of unit-variance quantities `z` (quantities by anything)."""
        mean, spread = np.asarray(self.mean), np.asarray(self.spread)
        shape = (-1,) + (1,) * (z.ndim - 1)
        return mean.reshape(shape) + spread.reshape(shape) * z

    def scale(self, z: Array) -> Array:
        """As `values`, in the memory of `z`."""
        z *= np.asarray(self.spread)[:, None]
        z += np.asarray(self.mean)[:, None]
        return z
