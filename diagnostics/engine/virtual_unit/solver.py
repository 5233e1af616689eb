"""Solve many machines at once: damped Newton from the rated state, then continuation for those that
resist.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.virtual_unit.balance import Balance, evaluate
from diagnostics.engine.virtual_unit.batch import Batch, batch_of, between, take
from diagnostics.engine.virtual_unit.faults import NO_FAULTS, Faults
from diagnostics.engine.virtual_unit.newton import ACCEPTED, newton
from diagnostics.engine.virtual_unit.result import states_of
from diagnostics.engine.virtual_unit.unit import HEAT_PUMP, Conditions, State, VirtualUnit
from diagnostics.engine.virtual_unit.vapour import Array

SEARCHES, CONTINUING = 40, 14
MOST_STEPS, SHORTEST_STEP = 80, 1e-3


@dataclass(frozen=True, slots=True)
class Solution:
    """A solved batch: unknowns [K], balance, and the share of the way from the healthy rating [-] that
    could be gone.

    Where the share is below 1 the machine trips on the way; `batch` then holds the conditions of the last
    state that could run.
    """

    batch: Batch
    unknowns: Array
    balance: Balance
    share: Array


def solve(unit: VirtualUnit, conditions: Conditions, faults: Faults = NO_FAULTS) -> State:
    """The state at which one machine settles.

    Parameters
    ----------
    unit : VirtualUnit
        The machine.
    conditions : Conditions
        What it meets.
    faults : Faults
        What is wrong with it.

    Returns
    -------
    State
        Everything it would show, in SI.

    References
    ----------
    See `balance.evaluate`.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit import rated_unit
    >>> state = solve(rated_unit(refrigerant="R410A", capacity_w=10e3), Conditions("cooling", 303.15))
    >>> state.converged, 1500.0 < state.power_w < 3000.0
    (True, True)
    """
    return solve_many([unit], [conditions], [faults])[0]


def solve_many(
    units: Sequence[VirtualUnit], conditions: Sequence[Conditions], faults: Sequence[Faults] | None = None
) -> list[State]:
    """The states of many machines, solved side by side; any mixture of kinds, modes and refrigerants.

    Parameters
    ----------
    units, conditions : sequence
        One of each a case.
    faults : sequence, optional
        Faults a case; all healthy where absent.

    Returns
    -------
    list of State
        In the order given, in SI.

    References
    ----------
    Newton's method with limited steps; Allgower & Georg (1990), Numerical Continuation Methods, ch. 2.

    Examples
    --------
    >>> from diagnostics.engine.virtual_unit import rated_unit
    >>> unit = rated_unit(refrigerant="R32", capacity_w=8e3)
    >>> both = solve_many([unit, unit], [Conditions("cooling", 300.0), Conditions("heating", 285.0)])
    >>> [one.converged for one in both]
    [True, True]
    """
    wrong = list(faults) if faults is not None else [NO_FAULTS] * len(units)
    groups: dict[tuple[str, str], list[int]] = {}
    for place, (unit, condition) in enumerate(zip(units, conditions, strict=True)):
        mode = condition.mode if unit.machine == HEAT_PUMP else "both"
        groups.setdefault((unit.machine, mode), []).append(place)
    found: dict[int, State] = {}
    for places in groups.values():
        batch = batch_of(
            [units[i] for i in places], [conditions[i] for i in places], [wrong[i] for i in places]
        )
        solution = solve_batch(batch)
        states = states_of(solution.batch, solution.unknowns, solution.balance, solution.share)
        found.update(zip(places, states, strict=True))
    return [found[place] for place in range(len(units))]


def solve_batch(batch: Batch) -> Solution:
    """Unknowns and balance of every machine of a batch.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    Solution
        Unknowns [K], balance, and the share of the way that each machine came [-].

    References
    ----------
    See `solve_many`.

    Examples
    --------
    See `solve_many`.
    """
    unknowns, norms = newton(batch, first_guess(batch))
    share = np.ones(batch.size)
    left = np.flatnonzero(norms > ACCEPTED)
    if left.size:
        part = take(batch, left)
        unknowns[left], norms[left] = newton(part, first_guess(part), SEARCHES, searching=True)
        left = left[norms[left] > ACCEPTED]
    if left.size:
        part = take(batch, left)
        unknowns[left], share[left] = _continued(part, _rated(part))
        batch = between(_rated(batch), batch, share)
    return Solution(batch, unknowns, evaluate(batch, unknowns), share)


def first_guess(batch: Batch) -> Array:
    """Start of the solution: the rated state moved with both streams.

    Parameters
    ----------
    batch : Batch
        The machines.

    Returns
    -------
    array
        Unknowns. [K]

    References
    ----------
    Common practice: a saturation follows its stream nearly degree for degree.

    Examples
    --------
    See `solve_many`.
    """
    unit, conditions = batch.unit, batch.conditions
    if batch.chiller:
        read = batch.reads_condenser > 0.5
        warm = (
            np.where(read, conditions.entering_water_k, conditions.other_water_k) - unit.rated_water_cooling_k
        )
        cold = (
            np.where(read, conditions.other_water_k, conditions.entering_water_k) - unit.rated_water_heating_k
        )
        rated = np.asarray(unit.rated_dew_cooling_k)
    elif batch.cooling:
        warm = conditions.entering_water_k - unit.rated_water_cooling_k
        cold = 0.5 * (conditions.air_wet_bulb_k - 292.15)
        rated = np.asarray(unit.rated_dew_cooling_k)
    else:
        cold = 0.8 * (conditions.entering_water_k - unit.rated_water_heating_k)
        warm = conditions.air_k - 293.15
        rated = np.asarray(unit.rated_dew_heating_k)
    superheat = np.where(np.isnan(batch.fixed_superheat_k), unit.rated_superheat_k, batch.fixed_superheat_k)
    subcooling = np.where(
        np.isnan(batch.fixed_subcooling_k), unit.rated_subcooling_k, batch.fixed_subcooling_k
    )
    return np.stack([rated[:, 0] + cold, rated[:, 1] + warm, superheat, subcooling], axis=1)


def _continued(batch: Batch, start: Batch) -> tuple[Array, Array]:
    """Walk from the healthy machine at its rating towards the case, in steps that shrink where they fail.

    Returns the last unknowns that solved [K] and the share of the way reached [-].
    """
    unknowns, _ = newton(start, first_guess(start), SEARCHES, searching=True)
    share, step = np.zeros(batch.size), np.full(batch.size, 0.25)
    going = np.arange(batch.size)
    for _ in range(MOST_STEPS):
        goal = np.minimum(share[going] + step[going], 1.0)
        trial = between(take(start, going), take(batch, going), goal)
        found, norms = newton(trial, unknowns[going], CONTINUING, searching=True)
        good = norms < ACCEPTED
        unknowns[going[good]], share[going[good]] = found[good], goal[good]
        step[going] *= np.where(good, 1.6, 0.35)
        going = going[(share[going] < 1.0) & (step[going] > SHORTEST_STEP)]
        if not going.size:
            break
    return unknowns, share


def _rated(batch: Batch) -> Batch:
    return replace(batch, conditions=_rated_conditions(batch), faults=_healthy(batch))


def _rated_conditions(batch: Batch) -> Conditions:
    unit, old = batch.unit, batch.conditions
    one = np.ones(batch.size)
    warm, cold = unit.rated_water_cooling_k * one, unit.rated_water_heating_k * one
    read = batch.reads_condenser > 0.5
    return replace(
        old,
        entering_water_k=np.where(read, warm, cold),
        other_water_k=np.where(read, cold, warm),
        flow_ratio=one,
        other_flow_ratio=one,
        air_flow_ratio=one,
        air_k=(300.15 if batch.cooling else 293.15) * one,
        air_wet_bulb_k=(292.15 if batch.cooling else 288.15) * one,
    )


def _healthy(batch: Batch) -> Faults:
    zero = np.zeros(batch.size)
    kept = {"hoses_crossed": batch.faults.hoses_crossed}
    return Faults(**{name: kept.get(name, zero) for name in Faults.__slots__})
