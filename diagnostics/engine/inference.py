"""From a visit's observation and the evidence to draws of everything asked for: the heart of an
assessment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnostics.engine import evidence
from diagnostics.engine.conditioning import Conditioned, condition, left_out, update_draws
from diagnostics.engine.exchanger import approach_from_conductance
from diagnostics.engine.observation import CHANNELS, NEW, Channel, Coefficients, Observation
from diagnostics.engine.references import SET_SPREAD, SINGLE_PHASE_SPREAD, Belief, KindPrior, surface_places
from diagnostics.engine.surface import Scale, Transfer, clean_sum, transfer
from diagnostics.engine.uncertainty import draw
from diagnostics.engine.unknowns import Unknowns

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Draws of one visit's results. Resistances [K/W], flows [kg/s], heat [W], approach [K], cleanliness
    [-]."""

    mass_flow_kg_per_s: Array
    heat_w: Array
    lumped_w_per_k: Array
    zones_w_per_k: Array
    excess_approach_k: Array
    cleanliness: Array
    fouling_k_per_w: Array
    possible_share: float
    cleaner: bool = False


@dataclass(frozen=True, slots=True)
class FirstOrder:
    """First-order cross-check: value and standard uncertainty [K/W], shares of variance by column of
    readings.

    `spread_with` tells the standard uncertainty [K/W] that one more source of the clean reference would
    leave.
    """

    value_k_per_w: float
    spread_k_per_w: float
    shares: dict[str, float]
    clean_share: float
    spread_with: dict[str, float]


@dataclass(frozen=True, slots=True)
class Narrowing:
    """A clean curve's flow runs ahead by this much of ln for each K/W of fouling: place among the unknowns,
    weight."""

    place: int
    weight: float


@dataclass(frozen=True, slots=True)
class Problem:
    """Visits set up: unknowns (the evidence's first, the visits' own after), stacks, links; mostly one."""

    unknowns: Unknowns
    stacks: tuple[evidence.Stack, ...]
    own_stacks: tuple[evidence.Stack, ...]
    shared: int
    learned: Conditioned | None
    order: tuple[int, ...] = ()
    narrowing: tuple[Narrowing | None, ...] = (None,)


def scale_of(visit: Observation, sets: Sequence[Observation], design_ln_flow: float | None) -> Scale:
    """The reference point: design flow where known; heat and saturation at the mean of the sets of a mode."""
    same = [one for one in sets if one.mode == visit.mode] or [visit]
    flows = [one.values[Channel.FLOW] for one in same]
    heats = [
        one.values[Channel.FLOW]
        + np.log(one.coefficients[12] * abs(one.values[Channel.LEAVING] - one.values[Channel.ENTERING]))
        for one in same
    ]
    saturation = [0.5 * (one.coefficients[0] + one.coefficients[3]) for one in same]
    return Scale(
        design_ln_flow if design_ln_flow is not None else float(np.mean(flows)),
        float(np.mean(heats)),
        float(np.mean(saturation)),
    )


@dataclass(frozen=True, slots=True)
class Visit:
    """A set to judge, with the clean curve's weight in its flow and limits of what a deposit does to it."""

    seen: Observation
    curve: tuple[float, float, float] | None = None


def set_up(
    visits: Sequence[Visit],
    sets: Sequence[Observation],
    belief: Belief,
    kind: KindPrior,
    design_ln_flow: float | None,
) -> Problem:
    """Collect the unknowns, stack the evidence, condition on it; the first visit's mode is the own one."""
    unknowns = Unknowns()
    own = (visits[0].seen.mode, visits[0].seen.stage)
    places_of: dict[tuple[str, str], list[int]] = {}
    for number, one in enumerate(sets):
        places_of.setdefault((one.mode, one.stage), []).append(number)
    groups = {key: [sets[number] for number in numbers] for key, numbers in places_of.items()}
    order = tuple(number for numbers in places_of.values() for number in numbers)
    keys = [(one.seen.mode, one.seen.stage) for one in visits]
    places = {key: surface_places(unknowns, belief, kind, own, key) for key in (*keys, *groups)}
    linked = {key: [evidence.links_of(one, unknowns) for one in group] for key, group in groups.items()}
    table_place = evidence.table_unit(unknowns) if any(one.is_table for one in sets) else None
    links = [evidence.links_of(one.seen, unknowns) for one in visits]
    shared = len(unknowns)
    scales = {
        key: scale_of(group[0] if group else visits[keys.index(key)].seen, group, design_ln_flow)
        for key, group in ((key, groups.get(key, [])) for key in places)
    }
    stacks = tuple(
        evidence.stack(group, linked[key], shared, places[key], scales[key], table_place)
        for key, group in groups.items()
    )
    learned = None
    if stacks:
        learned = condition(lambda centre, spread: _residuals(stacks, unknowns, centre, spread), shared)
    narrowing = []
    for number, visit in enumerate(visits):
        links[number] += _own_as_unknowns(visit.seen, number, unknowns)
        narrowing.append(_narrowing(visit, number, unknowns))
    own_stacks = tuple(
        evidence.stack([one.seen], [entries], len(unknowns), places[key], scales[key], None)
        for one, entries, key in zip(visits, links, keys, strict=True)
    )
    return Problem(unknowns, stacks, own_stacks, shared, learned, order, tuple(narrowing))


def _narrowing(visit: Visit, number: int, unknowns: Unknowns) -> Narrowing | None:
    if visit.curve is None:
        return None
    weight, low, high = visit.curve
    return Narrowing(unknowns.limits(("visit", str(number), "narrowing"), low, high, "water_flow"), weight)


def doubtful(problem: Problem) -> dict[int, float]:
    """z of each set, by its place in the sets given, against all the others: above zero better, below
    worse."""
    if problem.learned is None:
        return {}
    return dict(zip(problem.order, (-left_out(problem.learned)).tolist(), strict=True))


def _residuals(
    stacks: Sequence[evidence.Stack], unknowns: Unknowns, centre: Array, spread: Array
) -> tuple[Array, Array, Array]:
    parts = [evidence.linearise(one, unknowns, centre, spread) for one in stacks]
    return (
        np.concatenate([value for value, _, _ in parts]),
        np.concatenate([jacobian for _, jacobian, _ in parts]),
        np.concatenate([noise for _, _, noise in parts]),
    )


def _own_as_unknowns(visit: Observation, number: int, unknowns: Unknowns) -> list[tuple[int, int, float]]:
    """A visit's own errors become unknowns too, after those that evidence can teach."""
    entries = []
    for error in visit.errors:
        if error.key[0] == NEW:
            key = ("visit", str(number), *error.key[1:])
            place = unknowns.add(key, 0.0, error.spread, error.group, error.rectangular)
            entries.append((int(error.channel), place, error.weight))
    unknowns.add(("visit", str(number), "model"), 0.0, SET_SPREAD, "reference")
    unknowns.add(("visit", str(number), "films"), 0.0, SINGLE_PHASE_SPREAD, "reference")
    return entries


def draw_unknowns(problem: Problem, draws: int, generator: np.random.Generator) -> Array:
    """Physical draws of all unknowns, moved by the evidence."""
    unknowns = problem.unknowns
    z = draw(generator, np.ones(len(unknowns)), np.asarray(unknowns.rectangular), draws)
    learned = problem.learned
    if learned is None:
        return unknowns.scale(z)
    update_draws(z[: len(learned.centre)], learned, generator)
    if any(stack.pinched.any() for stack in problem.stacks):
        return _anchored(problem, learned, z, generator)
    return unknowns.scale(z)


def _anchored(problem: Problem, learned: Conditioned, z: Array, generator: np.random.Generator) -> Array:
    """Draws whose clean resistance is drawn again, exactly, given all the other unknowns.

    The level of the clean resistance enters every set's ln sum as a plain term, so that given the rest each
    set tells it outright: pinched sets by the full model, whose bend a straight line can't follow, the others
    by the line.
    """
    unknowns = problem.unknowns
    place = problem.own_stacks[0].places.ln_total
    shared = len(learned.centre)
    pinched = np.concatenate([stack.pinched for stack in problem.stacks])
    straight = np.flatnonzero(~pinched)
    weights = learned.noise[straight] ** -2.0
    slopes = weights @ learned.jacobian[straight]
    told = slopes @ learned.centre - weights @ learned.residual_at_centre[straight] - slopes @ z[:shared]
    precision = np.full(z.shape[1], float(weights.sum()))
    x = unknowns.scale(z)
    level = x[place].copy()
    told += precision * level
    for stack in problem.stacks:
        for row in np.flatnonzero(stack.pinched):
            gap = level - evidence.exact(stack, int(row), x[:shared], generator)
            # A set that hardly any draw can explain (a printed row rounded past its pinch) tells nothing.
            tells = np.isfinite(gap)
            weight = stack.spread[row] ** -2.0 * (tells if tells.mean() < TELLING else 1.0)
            precision += weight
            told += weight * np.where(tells | (weight > 0), gap, 0.0)
    prior = unknowns.spread[place] ** -2.0
    precision += prior
    told += prior * unknowns.mean[place]
    x[place] = told / precision + generator.standard_normal(z.shape[1]) / precision**0.5
    return x


TELLING = 0.5
"""Share of draws a pinched clean set must be able to explain, to rule out the draws that can't."""


def outcome(problem: Problem, x: Array, number: int = 0) -> Outcome:
    """The visit's results at draws of the unknowns; draws that no exchanger could show are left out."""
    log_sum, seen, true = _evaluate(problem, x, number)
    total = np.asarray(seen.total_w_per_k)
    possible = np.isfinite(log_sum) & (total > 0)
    share = float(possible.mean())
    believable = log_sum < MUCH_CLEANER
    believed = float((possible & believable).mean()) / max(share, 1 / possible.size)
    possible &= believable | _kept_though_unbelieved(believed, possible.size)
    if not possible.all():
        if share == 0.0:
            none = np.empty(0)
            return Outcome(none, none, none, none, none, none, none, 0.0)
        x = x[:, possible]
        log_sum, seen, true = _evaluate(problem, x, number)
        total = np.asarray(seen.total_w_per_k)
    cleanliness = np.exp(log_sum)
    rate, change = np.asarray(seen.capacity_rate_w_per_k), np.asarray(seen.change_k)
    excess = approach_from_conductance(change, rate, total) - approach_from_conductance(
        change, rate, total / cleanliness
    )
    eps = change / np.abs(np.asarray(seen.saturation_k) - true[Channel.ENTERING])
    with np.errstate(invalid="ignore", divide="ignore"):
        lumped = -rate * np.log1p(-eps)
    return Outcome(
        np.exp(np.asarray(seen.ln_mass_flow)),
        np.asarray(seen.heat_w),
        lumped,
        total,
        np.asarray(excess),
        cleanliness,
        (1 - cleanliness) / total,
        share,
        believed <= 0.5,
    )


def _kept_though_unbelieved(believed: float, draws: int) -> NDArray[np.bool_]:
    """Which of the draws that are too clean to be believed are kept: none while most draws can be believed,
    all where few can, and in between a growing part, so that no interval jumps where a share passes one
    half."""
    low, high = BELIEVED
    part = min(max((high - believed) / (high - low), 0.0), 1.0) ** 2
    return np.asarray(np.arange(draws) < draws * part)


def _evaluate(problem: Problem, x: Array, number: int = 0) -> tuple[Array, Transfer, list[Array]]:
    """ln of the clean sum, the transfer and the true channels at draws of the unknowns."""
    one, narrowing = problem.own_stacks[number], problem.narrowing[number]
    errors = one.links @ x
    nominal = one.values[0, :, 0]
    true = [nominal[channel] - errors[channel] for channel in range(CHANNELS)]
    if narrowing is None:
        log_sum, seen = _sum(problem, x, true, number)
        return log_sum, seen, true
    read = true[Channel.FLOW]
    ahead = narrowing.weight * x[narrowing.place]
    for _ in range(NARROWING_ROUNDS):
        log_sum, seen = _sum(problem, x, true, number)
        fouling = np.clip(-np.expm1(log_sum) / seen.total_w_per_k, 0.0, MOST_AHEAD / ahead)
        true[Channel.FLOW] = 0.5 * (true[Channel.FLOW] + read - ahead * np.nan_to_num(fouling))
    log_sum, seen = _sum(problem, x, true, number)
    return log_sum, seen, true


MUCH_CLEANER = 0.25
"""ln of how much cleaner than clean a surface may seem: beyond it lies only error, unless most of the draws
do."""
BELIEVED = (0.4, 0.6)
"""Shares of the possible draws that are not much cleaner: all draws count below the first, none of the much
cleaner ones above the second."""
NARROWING_ROUNDS = 5
MOST_AHEAD = 1.0
"""A flow read e times too high is the most that a narrowed passage is believed to cause."""


def _sum(problem: Problem, x: Array, true: list[Array], number: int) -> tuple[Array, Transfer]:
    one = problem.own_stacks[number]
    numbers = Coefficients(*(float(value[0, 0]) for value in one.coefficients))  # type: ignore[index]
    counterflow = bool(one.counterflow[0, 0])
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        seen = transfer(one.mode, numbers, float(one.values[0, Channel.PRESSURE, 0]), list(true), counterflow)
        clean, single = clean_sum(seen, numbers, evidence.surface_at(one.places, x), one.scale)
        index = problem.unknowns.index
        films = single * x[index["visit", str(number), "films"]]
        log_sum = np.log(clean) + x[index["visit", str(number), "model"]] + films
    return log_sum, seen


def foulings(problem: Problem, x: Array) -> list[Array]:
    """Fouling resistance [K/W] of every visit at the same draws, NaN where no exchanger could show it."""
    found = []
    for number in range(len(problem.own_stacks)):
        log_sum, seen, _ = _evaluate(problem, x, number)
        found.append(np.where(log_sum < MUCH_CLEANER, -np.expm1(log_sum) / seen.total_w_per_k, np.nan))
    return found


def first_order(problem: Problem) -> FirstOrder:
    """Value, standard uncertainty and shares of variance by linear propagation at the most likely point."""
    unknowns, learned = problem.unknowns, problem.learned
    size = len(unknowns)
    shared = len(learned.centre) if learned is not None else problem.shared
    centre = np.zeros(size)
    if learned is not None:
        centre[:shared] = learned.centre
    around = np.repeat(centre[:, None], 1 + 2 * size, axis=1)
    places = np.arange(size)
    around[places, 1 + places] += 0.1
    around[places, 1 + size + places] -= 0.1
    log_sum, seen, _ = _evaluate(problem, unknowns.values(around))
    fouling = -np.expm1(log_sum) / np.asarray(seen.total_w_per_k)
    slope = (fouling[1 : 1 + size] - fouling[1 + size :]) / 0.2
    sum_slope = (log_sum[1 : 1 + size] - log_sum[1 + size :]) / 0.2
    raw = slope.copy()
    noise = 0.0
    if learned is not None:
        through = slope[:shared] @ learned.gain
        slope[:shared] -= through @ learned.jacobian
        noise = float(((through * learned.noise) ** 2).sum())
    parts: dict[str, float] = {"reference": noise}
    for place, group in enumerate(unknowns.group):
        parts[group] = parts.get(group, 0.0) + float(slope[place] ** 2)
    total = sum(parts.values())
    shares = {name: part / total for name, part in parts.items()} if total > 0 else {}
    with_more = _spread_with(problem, raw, sum_slope, shared, total)
    return FirstOrder(float(fouling[0]), total**0.5, shares, shares.get("reference", 0.0), with_more)


TABLE_NOISE, RATED_NOISE = 0.07, 0.40
"""What a printed table and rated data usually leave open of the clean resistance, as ln."""


def _spread_with(
    problem: Problem, slope: Array, sum_slope: Array, shared: int, variance: float
) -> dict[str, float]:
    """Standard uncertainty left if one more source told the clean surface at this visit's point."""
    a, h = slope[:shared], sum_slope[:shared]
    learned = problem.learned
    own = float((sum_slope[shared:] ** 2).sum())
    surface = h * np.array([group == "reference" for group in problem.unknowns.group[:shared]])
    left = {}
    for name, seen, noise in (
        ("clean_reference", h, own),
        ("operating_table", surface, TABLE_NOISE**2),
        ("rated_data", surface, RATED_NOISE**2),
    ):
        spread = seen if learned is None else seen - learned.gain @ (learned.jacobian @ seen)
        gained = float(a @ spread) ** 2 / (float(seen @ spread) + noise)
        left[name] = max(variance - gained, 0.0) ** 0.5
    return left
