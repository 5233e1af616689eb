"""Clean sets stacked into arrays, and their residuals against the clean surface for the conditioning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine.observation import CHANNELS, NEW, Coefficients, Observation, nearest_end_k
from diagnostics.engine.references import SINGLE_PHASE_SPREAD, UNIT_AGAINST_TABLE, SurfacePlaces, set_spread
from diagnostics.engine.surface import CleanSurface, Scale, clean_sum, transfer
from diagnostics.engine.uncertainty import draw
from diagnostics.engine.unknowns import Unknowns

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stack:
    """Sets of one mode and stage: coefficients and values with a trailing axis for draws."""

    mode: str
    coefficients: Coefficients
    values: Array
    counterflow: Array
    links: Array
    own_links: tuple[Array, ...]
    biases: Array
    spread: Array
    places: SurfacePlaces
    scale: Scale
    pinched: Array
    allowance: Array


PINCHED_K = 1.5


def links_of(seen: Observation, unknowns: Unknowns) -> list[tuple[int, int, float]]:
    """Repeating errors of a set as (channel, place among the unknowns, weight), asking for each quantity."""
    return [
        (
            int(error.channel),
            unknowns.add(error.key, error.mean, error.spread, error.group, error.rectangular),
            error.weight,
        )
        for error in seen.errors
        if error.key[0] != NEW
    ]


def own_links(seen: Observation) -> tuple[Array, Array]:
    """A set's own errors: channels by quantities with their spread, and the channels' mean error."""
    keys: dict[tuple[str, ...], int] = {}
    columns: list[Array] = []
    offset = np.zeros(CHANNELS)
    for error in seen.errors:
        if error.key[0] != NEW:
            continue
        if error.key not in keys:
            keys[error.key] = len(columns)
            columns.append(np.zeros(CHANNELS))
        columns[keys[error.key]][error.channel] += error.weight * error.spread
        offset[error.channel] += error.weight * error.mean
    return (np.stack(columns, axis=1) if columns else np.zeros((CHANNELS, 0))), offset


def table_unit(unknowns: Unknowns) -> int:
    """Place of this unit's departure from its maker's table."""
    return unknowns.add(("unit_against_table",), 0.0, UNIT_AGAINST_TABLE, "reference")


def stack(
    seen: Sequence[Observation],
    linked: Sequence[list[tuple[int, int, float]]],
    size: int,
    places: SurfacePlaces,
    scale: Scale,
    table_place: int | None,
) -> Stack:
    """Put sets of one mode and stage side by side."""
    count = len(seen)
    links = np.zeros((count, CHANNELS, size))
    biases = np.zeros((count, size))
    own, offsets = [], []
    for row, (one, entries) in enumerate(zip(seen, linked, strict=True)):
        for channel, place, weight in entries:
            links[row, channel, place] += weight
        if one.is_table and table_place is not None:
            biases[row, table_place] = 1.0
        mine, offset = own_links(one)
        own.append(mine)
        offsets.append(offset)
    numbers = np.array([one.coefficients for one in seen])
    return Stack(
        mode=seen[0].mode,
        coefficients=Coefficients(*numbers.T[:, :, None]),
        values=(np.array([one.values for one in seen]) - np.array(offsets))[:, :, None],
        counterflow=np.array([one.counterflow for one in seen])[:, None],
        links=links.reshape(count * CHANNELS, size),
        own_links=tuple(own),
        biases=biases,
        spread=np.array([set_spread(one) for one in seen]),
        places=places,
        scale=scale,
        pinched=np.array([nearest_end_k(one) < PINCHED_K for one in seen]),
        allowance=np.array([one.allowance_k_per_w for one in seen])[:, None],
    )


def surface_at(places: SurfacePlaces, x: Array) -> CleanSurface:
    """The clean surface's quantities out of all the unknowns."""
    ratio: Array | float = 0.0
    for place in places.ratios:
        ratio = ratio + x[place]
    return CleanSurface(
        x[places.ln_total],
        x[places.water_share],
        x[places.wall_share],
        x[places.water_exponent],
        ratio,
        x[places.load_exponent],
        x[places.temperature_slope],
        x[places.vapour_ratio],
        x[places.liquid_ratio],
    )


def sums(one: Stack, x: Array, shifts: Array) -> tuple[Array, Array]:
    """ln of the clean sum of every set (sets by draws) at physical unknowns x, and its single-phase part."""
    count = one.values.shape[0]
    errors = (one.links @ x).reshape(count, CHANNELS, x.shape[1])
    true = one.values - errors - shifts
    channels: list[Array | float] = [true[:, channel] for channel in range(CHANNELS)]
    nominal = one.values[:, 3]
    with np.errstate(invalid="ignore", divide="ignore"):
        seen = transfer(one.mode, one.coefficients, nominal, channels, one.counterflow)
        clean, single = clean_sum(seen, one.coefficients, surface_at(one.places, x), one.scale)
        clean = clean + one.allowance * seen.total_w_per_k
        return np.log(clean) + one.biases @ x, np.asarray(single)


def linearise(one: Stack, unknowns: Unknowns, centre: Array, spread: Array) -> tuple[Array, Array, Array]:
    """Residuals of the sets as a linear function of unit-variance unknowns, over their spread about a centre.

    Three nodes along each unknown and each own error give the mean, the slope, and what a line can't follow,
    which joins the noise. Returns the mean residual at the centre, slopes and noise.
    """
    size = len(centre)
    own = max((mine.shape[1] for mine in one.own_links), default=0)
    flat = np.asarray(unknowns.rectangular[:size])
    reach = np.where(flat, RECTANGULAR_NODE, NORMAL_NODE)
    weight = np.where(flat, RECTANGULAR_WEIGHT, NORMAL_WEIGHT)
    steps = reach * spread
    around = np.repeat(centre[:, None], 1 + 2 * (size + own), axis=1)
    places = np.arange(size)
    around[places, 1 + places] += steps
    around[places, 1 + size + places] -= steps
    shifts = np.zeros((len(one.own_links), CHANNELS, around.shape[1]))
    first = 1 + 2 * size
    for row, mine in enumerate(one.own_links):
        width = mine.shape[1]
        shifts[row, :, first : first + width] = RECTANGULAR_NODE * mine
        shifts[row, :, first + own : first + own + width] = -RECTANGULAR_NODE * mine
    value, single = sums(one, unknowns.values(around), shifts)
    base = value[:, :1]
    rise, fall = value[:, 1 : 1 + size] - base, value[:, 1 + size : first] - base
    own_rise, own_fall = value[:, first : first + own] - base, value[:, first + own :] - base
    slopes = (rise - fall) / (2 * steps)
    bend = weight * (rise + fall)
    own_bend = RECTANGULAR_WEIGHT * (own_rise + own_fall)
    mean = base[:, 0] + bend.sum(axis=1) + own_bend.sum(axis=1)
    spare = _spare(rise, fall, bend, weight, slopes * spread)
    variance = RECTANGULAR_WEIGHT * (own_rise**2 + own_fall**2) - own_bend**2
    model = one.spread**2 + (SINGLE_PHASE_SPREAD * single[:, 0]) ** 2
    noise = np.sqrt(np.maximum(spare.sum(axis=1), 0) + np.maximum(variance, 0).sum(axis=1) + model)
    usable = np.isfinite(mean) & np.isfinite(slopes).all(axis=1) & np.isfinite(noise)
    if usable.all():
        return mean, slopes, noise
    keep = usable[:, None]
    return np.where(usable, mean, 0.0), np.where(keep, slopes, 0.0), np.where(usable, noise, 1.0)


NORMAL_NODE, NORMAL_WEIGHT = 3**0.5, 1 / 6
RECTANGULAR_NODE, RECTANGULAR_WEIGHT = 1.8**0.5, 5 / 18
"""Outer nodes and weights of three-point Gauss quadrature, Hermite and Legendre, told in standard
deviations."""


def _spare(rise: Array, fall: Array, bend: Array, weight: Array, linear: Array) -> Array:
    """Variance along each unknown that its slope does not account for."""
    return np.maximum(weight * (rise**2 + fall**2) - bend**2 - linear**2, 0.0)


def exact(one: Stack, row: int, x: Array, generator: np.random.Generator) -> Array:
    """ln of one set's clean sum at draws of the unknowns, its own errors drawn too."""
    mine = one.own_links[row]
    errors = one.links[row * CHANNELS : (row + 1) * CHANNELS] @ x
    errors += mine @ draw(generator, np.ones(mine.shape[1]), np.ones(mine.shape[1], bool), x.shape[1])
    nominal = one.values[row, :, 0]
    numbers = Coefficients(*(float(value[row, 0]) for value in one.coefficients))  # type: ignore[index]
    true: list[Array | float] = [nominal[channel] - errors[channel] for channel in range(CHANNELS)]
    with np.errstate(invalid="ignore", divide="ignore"):
        seen = transfer(one.mode, numbers, float(nominal[3]), true, bool(one.counterflow[row, 0]))
        clean, single = clean_sum(seen, numbers, surface_at(one.places, x), one.scale)
        level = np.log(clean + one.allowance[row, 0] * seen.total_w_per_k)
    films = SINGLE_PHASE_SPREAD * single * generator.standard_normal(x.shape[1])
    return np.asarray(level + films + one.biases[row] @ x)
