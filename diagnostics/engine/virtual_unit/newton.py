"""Damped Newton on the four equations of many machines at once."""

from __future__ import annotations

import numpy as np

from diagnostics.engine.virtual_unit.balance import evaluate
from diagnostics.engine.virtual_unit.batch import Batch, take
from diagnostics.engine.virtual_unit.streams import Stream, streams_of
from diagnostics.engine.virtual_unit.vapour import Array

Streams = tuple[Stream, Stream]

TOLERANCE, ACCEPTED = 1e-7, 1e-5
STEP_K = 1e-3
LONGEST_STEP_K = np.array([6.0, 6.0, 8.0, 10.0])
ITERATIONS = 14
LENGTHS, LONGER = (1.0, 0.5, 0.2, 0.05, 0.01), 0.3
PROGRESS, PATIENCE = 0.95, 5
"""A search whose norm has not fallen to this share [-] within so many iterations [-] is given up."""
LOWEST_SUPERHEAT_K, HIGHEST_SUPERHEAT_K = -150.0, 2000.0
LOWEST_SUBCOOLING_K, HIGHEST_SUBCOOLING_K = -90.0, 2000.0


def newton(
    batch: Batch, start: Array, iterations: int = ITERATIONS, searching: bool = False
) -> tuple[Array, Array]:
    """Newton with limited steps; each machine on its own, all at once.

    Parameters
    ----------
    batch : Batch
        The machines.
    start : array
        First unknowns. [K]
    iterations : int
        At most so many. [-]
    searching : bool
        Whether each step's length is searched for, which is slower and surer.

    Returns
    -------
    unknowns : array
        Best unknowns met, converged or not. [K]
    norms : array
        Norm of the residuals there. [-]

    References
    ----------
    Dennis & Schnabel (1983), Numerical Methods for Unconstrained Optimization, ch. 6.

    Examples
    --------
    See `solve_many`.
    """
    best, best_norm = start.copy(), np.full(batch.size, np.inf)
    active, part, tiled, current = np.arange(batch.size), batch, _tiled(batch), start.copy()
    streams = streams_of(tiled)
    mark, since = np.full(batch.size, np.inf), np.zeros(batch.size, dtype=int)
    for _ in range(iterations):
        residuals, jacobian = _jacobian(tiled, streams, current)
        norm = _norm(residuals)
        better = norm < best_norm[active]
        best[active[better]], best_norm[active[better]] = current[better], norm[better]
        fell = best_norm < PROGRESS * mark
        mark, since = np.where(fell, best_norm, mark), np.where(fell, 0, since + 1)
        going = best_norm[active] > TOLERANCE
        if searching:
            going &= since[active] < PATIENCE
        if not going.any():
            break
        step = _limited(_solve_rows(jacobian, residuals), current)
        current = (
            _searched(part, tiled, streams, current, step) if searching else _bounded(part, current + step)
        )
        if going.sum() <= 0.7 * going.size:
            active, current = active[going], current[going]
            part = take(part, going)
            tiled = _tiled(part)
            streams = streams_of(tiled)
    return best, best_norm


def _searched(batch: Batch, tiled: Batch, streams: Streams, current: Array, step: Array) -> Array:
    """The best of five lengths of the step for each machine."""
    trials = np.concatenate([_bounded(batch, current + length * step) for length in LENGTHS])
    norms = _norm(evaluate(tiled, trials, streams).residuals).reshape(len(LENGTHS), -1)
    pick = np.argmin(norms, axis=0)
    return np.asarray(trials.reshape(len(LENGTHS), -1, 4)[pick, np.arange(len(current))])


def _norm(residuals: Array) -> Array:
    norm = np.sqrt((residuals**2).sum(axis=1))
    return np.where(np.isfinite(norm), norm, np.inf)


def _tiled(batch: Batch) -> Batch:
    return take(batch, np.tile(np.arange(batch.size), 5))


def _jacobian(tiled: Batch, streams: Streams, unknowns: Array) -> tuple[Array, Array]:
    """Residuals and their derivatives by forward differences, from one evaluation of five copies."""
    count = len(unknowns)
    trial = np.tile(unknowns, (5, 1))
    for column in range(4):
        trial[(column + 1) * count : (column + 2) * count, column] += STEP_K
    residuals = evaluate(tiled, trial, streams).residuals.reshape(5, count, 4)
    return residuals[0], np.moveaxis((residuals[1:] - residuals[0]) / STEP_K, 0, 2)


def _solve_rows(jacobian: Array, residuals: Array) -> Array:
    """Newton steps [K]; where the matrix is singular, a regularised one."""
    finite = np.asarray(np.isfinite(jacobian).all(axis=(1, 2)) & np.isfinite(residuals).all(axis=1))
    safe = np.where(finite[:, None, None], jacobian, np.eye(4))
    right = np.where(finite[:, None], residuals, 0.0)
    shift = 1e-9 * np.eye(4)
    try:
        return -np.linalg.solve(safe + shift, right[:, :, None])[:, :, 0]
    except np.linalg.LinAlgError:
        transposed = np.swapaxes(safe, 1, 2)
        square = transposed @ safe + 1e-8 * np.eye(4)
        return -np.linalg.solve(square, transposed @ right[:, :, None])[:, :, 0]


def _limited(step: Array, current: Array) -> Array:
    """Steps no longer than what the equations' slopes are good for; a far bent unknown may move further."""
    longest = LONGEST_STEP_K + LONGER * np.abs(current) * np.array([0.0, 0.0, 1.0, 1.0])
    over = (np.abs(step[:, :2]) / longest[:, :2]).max(axis=1)
    step = step / np.maximum(over, 1.0)[:, None]
    return np.asarray(np.clip(step, -longest, longest))


def _bounded(batch: Batch, unknowns: Array) -> Array:
    low, high = batch.table.low_k - 5.0, batch.table.high_k + 3.0
    return np.stack(
        [
            np.clip(unknowns[:, 0], low, high - 15.0),
            np.clip(unknowns[:, 1], low + 10.0, high),
            np.clip(unknowns[:, 2], LOWEST_SUPERHEAT_K, HIGHEST_SUPERHEAT_K),
            np.clip(unknowns[:, 3], LOWEST_SUBCOOLING_K, HIGHEST_SUBCOOLING_K),
        ],
        axis=1,
    )
