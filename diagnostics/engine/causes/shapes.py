"""What signatures are made of: operating point, a cause's curve, the clean unit with its doubts."""

from __future__ import annotations

from dataclasses import dataclass

from diagnostics.engine.causes.probability import Array
from diagnostics.engine.virtual_unit import VirtualUnit


@dataclass(frozen=True, slots=True)
class Point:
    """An operating point, rounded so that neighbours share their signatures; temperatures [K]."""

    mode: str
    stage: str
    entering_water_k: float
    air_k: float
    air_wet_bulb_k: float


@dataclass(frozen=True, slots=True)
class Curve:
    """One cause (or two at once) over its severities: quantities a severity, NaN where nothing steady runs;
    `steps` half the way to the next severity, `trips` the lockout each would show."""

    causes: tuple[str, ...]
    severities: tuple[tuple[float, ...], ...]
    means: Array
    steps: Array
    trips: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Signatures:
    """The clean unit at a point, what its unit and visit doubts move, and the curve of every cause."""

    unit: VirtualUnit
    point: Point
    clean: Array
    clean_trip: str
    unit_sensitivity: Array
    visit_sensitivity: Array
    curves: tuple[Curve, ...]
