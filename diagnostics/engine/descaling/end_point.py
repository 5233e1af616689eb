"""What to do next beside the tank: go on, fresh batch, reverse, finished, nothing is dissolving, or stop.

Judged after every look from the series so far. A spent weak acid is constant too, so nothing is finished
while the bath stands below its renewal limit, nor while it dissolves too slowly to tell. Looks may come late
and out of order; they are put in order first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from diagnostics.engine.descaling.acids import ACIDS
from diagnostics.engine.descaling.series import (
    Trend,
    probability_below,
    probability_steady,
    trend,
)
from diagnostics.engine.records import Interval

Action = Literal["go_on", "fresh_batch", "reverse", "finished", "nothing_dissolving", "stop"]

HOLD_S = 1800.0
"""Half an hour of no change: plate makers' end of cleaning (constant pH for half an hour)."""
REVERSE_EVERY_S = 1800.0
"""Plate makers' cleaning chapters: reverse every 30 minutes."""
QUICK_WAIT_S, SLOW_WAIT_S = 600.0, 1800.0
"""Carbonate shows within ten minutes in a strong acid from 20 degC, else within thirty: common practice."""
QUICK_ACIDS = ("hydrochloric", "sulfamic", "nitric")
QUICK_FROM_K = 293.15
SURE = 0.8
"""Probability from which strength counts as above its limit."""
UNUSED_FROM = 0.5
"""Probability from which, with nothing seen for the whole wait, acid counts as not used."""
STEADY_FROM = 0.5
"""Probability from which each series counts as steady; all have to, and nothing may fizz."""
NO_ACID_USED_FROM = 0.97
"""Probability from which bubbles are put down to something other than acid."""
_STEADY_PH, _STEADY_STRENGTH, _STEADY_CONDUCTIVITY, _STEADY_FLOW = 0.2, 0.06, 0.06, 0.10
_UNUSED_SHARE = 0.08
_LEVEL_Z, _LEAST_LEVEL_CHANGE_M = 3.5, 0.008

REASONS: dict[str, str] = {
    "copper": "copper is above the sheet's figure",
    "iron": "iron is above the sheet's figure",
    "blue_deepening": "the blue has deepened since the look before: copper is dissolving",
    "level_falling": "the tank's level is falling: there is a leak",
    "level_rising": "the tank's level is rising: a valve lets loop water in; pump off, shut the hose valves",
    "oil": "oil in the tank: refrigerant may be leaking",
    "bubbles_without_acid": "bubbles while no acid is being used: refrigerant may be leaking",
    "too_warm": "the solution is above its cap",
    "time_up": "the batch has to be out by now",
    "no_carbonate": "no bubbles, no solids, no acid used: carbonate is unlikely, or acid does not reach it",
    "strength_low": "the strength reaches its renewal limit before the next look",
    "ph_high": "the pH reaches its renewal limit before the next look",
    "too_weak_to_tell": "it stands still, but the acid is too weak by now to tell that from slow dissolving",
    "steady": "pH, strength and conductivity have stopped changing while the strength is above its limit",
    "half_an_hour": "half an hour in this direction",
    "dissolving": "still dissolving, or not yet known to have stopped",
}
"""Reasons by code, in words."""


@dataclass(frozen=True, slots=True)
class Look:
    """One look at the tank. Time since the first acid [s], strength by mass [-], S/m, K, m, m3/s, mg/L; None:
    not read.

    `batch` counts from 1; 0 is the plain water run before acid. `reversed_now` marks a look after which flow
    was reversed. `bubbles` are those in the return, not the splash of the hose.
    """

    time_s: float
    batch: int = 1
    ph: float | None = None
    strength: float | None = None
    conductivity_s_per_m: float | None = None
    temperature_k: float | None = None
    level_m: float | None = None
    flow_m3_per_s: float | None = None
    bubbles: bool | None = None
    solids: bool | None = None
    oil: bool | None = None
    blue_deepening: bool | None = None
    copper_mg_per_l: float | None = None
    iron_mg_per_l: float | None = None
    reversed_now: bool = False


@dataclass(frozen=True, slots=True)
class LogAccuracy:
    """Standard uncertainties of what is read beside a tank: pH [-], strength [share of start], others as
    named.

    Common practice: one meter through the whole job, drops counted by one person.
    """

    ph: float = 0.05
    strength_share: float = 0.02
    start_strength_share: float = 0.03
    conductivity_share: float = 0.02
    level_m: float = 0.003
    flow_share: float = 0.03


@dataclass(frozen=True, slots=True)
class BathRules:
    """What the plan and the sheet say: strengths by mass [-], temperatures [K], times [s], metals [mg/L].

    `out_by_s` by batch: the time since the first acid by which it must be out. `renewal_ph` for weak acids.
    """

    acids: tuple[str, ...]
    start_strength: float
    renew_below_share: float = 1 / 3
    renewal_ph: float | None = None
    cap_k: float | None = None
    copper_limit_mg_per_l: float | None = None
    iron_limit_mg_per_l: float | None = None
    out_by_s: Mapping[int, float] = field(default_factory=dict)
    may_reverse: bool = False
    next_look_s: float = 600.0
    hold_s: float = HOLD_S
    accuracy: LogAccuracy = LogAccuracy()


@dataclass(frozen=True, slots=True)
class Judgement:
    """What to do, why (codes of `REASONS`), what to read or ask next, and the figures behind it.

    `steady` is the probability [-] by quantity that it has stopped changing; `used_share` the share of the
    batch's acid used, with 95 % interval; `flow_risen` whether flow at equal pump pressure has risen.
    """

    action: Action
    reasons: tuple[str, ...]
    asks: tuple[str, ...]
    used_share: Interval | None
    steady: Mapping[str, float]
    flow_risen: bool | None


def judge(looks: Sequence[Look], rules: BathRules) -> Judgement:
    """Judge the log so far. Stops come before all else, a fresh batch before the end."""
    if not looks:
        return Judgement("go_on", ("dissolving",), ("ph", "strength", "level"), None, {}, None)
    ordered = sorted(dict.fromkeys(looks), key=lambda look: (look.time_s, look.batch))
    batch = [look for look in ordered if look.batch == ordered[-1].batch]
    last, used, steady = batch[-1], _used_share(batch, rules), _steady(batch, rules)
    risen = _flow_risen(ordered, rules)

    def answer(action: Action, *reasons: str) -> Judgement:
        return Judgement(action, reasons, _asks(ordered, batch, rules, steady), used, steady, risen)

    if stops := _stops(ordered, batch, rules, used, steady):
        return answer("stop", *stops)
    if last.batch == 0:
        return answer("go_on", "dissolving")
    if _nothing_dissolves(ordered, rules, used):
        return answer("nothing_dissolving", "no_carbonate")
    if spent := _spent(batch, rules):
        return answer("fresh_batch", *spent)
    if _finished(batch, rules, steady):
        if _too_weak_to_tell(batch, rules):
            return answer("fresh_batch", "too_weak_to_tell")
        return answer("finished", "steady")
    if rules.may_reverse and last.time_s - _last_reversal(ordered) >= REVERSE_EVERY_S:
        return answer("reverse", "half_an_hour")
    return answer("go_on", "dissolving")


def _series(looks: Sequence[Look], name: str) -> tuple[list[float], list[float]]:
    found = [(look.time_s, getattr(look, name)) for look in looks if getattr(look, name) is not None]
    return [time for time, _ in found], [float(value) for _, value in found]


def _line(looks: Sequence[Look], name: str, u: float) -> Trend | None:
    times, values = _series(looks, name)
    return trend(times, values, u) if len(set(times)) >= 2 else None


def _window(batch: Sequence[Look], rules: BathRules) -> list[Look]:
    since = batch[-1].time_s - rules.hold_s * 1.05
    return [look for look in batch if look.time_s >= since]


def _uncertainties(batch: Sequence[Look], rules: BathRules) -> dict[str, float]:
    accuracy = rules.accuracy
    _, conductivities = _series(batch, "conductivity_s_per_m")
    _, flows = _series(batch, "flow_m3_per_s")
    return {
        "ph": accuracy.ph,
        "strength": accuracy.strength_share * rules.start_strength,
        "conductivity_s_per_m": accuracy.conductivity_share * max(conductivities, default=1.0),
        "flow_m3_per_s": accuracy.flow_share * max(flows, default=1.0),
        "level_m": accuracy.level_m,
    }


def _steady(batch: Sequence[Look], rules: BathRules) -> dict[str, float]:
    window, u = _held(batch, rules), _uncertainties(batch, rules)
    accuracy = rules.accuracy
    allowed = {
        "ph": _STEADY_PH,
        "strength": _STEADY_STRENGTH * rules.start_strength,
        "conductivity_s_per_m": _STEADY_CONDUCTIVITY
        / accuracy.conductivity_share
        * u["conductivity_s_per_m"],
        "flow_m3_per_s": _STEADY_FLOW / accuracy.flow_share * u["flow_m3_per_s"],
    }
    found = {}
    for name, most in allowed.items():
        times, values = _series(window, name)
        if len(set(times)) >= 2:
            span = min(times[-1] - times[0], rules.hold_s)  # not beyond what was seen
            found[name] = probability_steady(trend(times, values, u[name]), span, most)
    return found


def _used_share(batch: Sequence[Look], rules: BathRules) -> Interval | None:
    _, strengths = _series(batch, "strength")
    if not strengths:
        return None
    used = 1.0 - strengths[-1] / rules.start_strength
    half = 1.96 * (rules.accuracy.strength_share**2 + rules.accuracy.start_strength_share**2) ** 0.5
    return Interval(used, used - half, used + half)


def _stops(
    ordered: Sequence[Look],
    batch: Sequence[Look],
    rules: BathRules,
    used: Interval | None,
    steady: Mapping[str, float],
) -> list[str]:
    last = batch[-1]
    reasons = []
    if _above(last.copper_mg_per_l, rules.copper_limit_mg_per_l):
        reasons.append("copper")
    if _above(last.iron_mg_per_l, rules.iron_limit_mg_per_l):
        reasons.append("iron")
    reasons += [name for name in ("blue_deepening", "oil") if getattr(last, name)]
    if _above(last.temperature_k, rules.cap_k):
        reasons.append("too_warm")
    if last.time_s >= rules.out_by_s.get(last.batch, float("inf")):
        reasons.append("time_up")
    line = _line(_window(batch, rules), "level_m", rules.accuracy.level_m)
    if line is not None and line.count >= 3 and abs(line.slope) * rules.hold_s > _LEAST_LEVEL_CHANGE_M:
        if line.slope > _LEVEL_Z * line.slope_u:
            reasons.append("level_rising")
        if line.slope < -_LEVEL_Z * line.slope_u:
            reasons.append("level_falling")
    if _bubbles_without_acid(batch, rules, steady):
        reasons.append("bubbles_without_acid")
    return reasons


def _above(value: float | None, limit: float | None) -> bool:
    return value is not None and limit is not None and value > limit


def _bubbles_without_acid(batch: Sequence[Look], rules: BathRules, steady: Mapping[str, float]) -> bool:
    if batch[-1].batch == 0:
        return batch[-1].bubbles is True
    window = _window(batch, rules)
    long_enough = window[-1].time_s - window[0].time_s >= rules.hold_s * 0.95
    return (
        long_enough
        and all(look.bubbles for look in window)
        and steady.get("strength", 0.0) >= NO_ACID_USED_FROM
    )


def _nothing_dissolves(ordered: Sequence[Look], rules: BathRules, used: Interval | None) -> bool:
    """Nothing seen for the wait, and the titrations of the batch say together that little acid was used."""
    if not _nothing_was_seen(ordered, rules):
        return False
    acid = [look for look in ordered if look.batch >= 1]
    times, strengths = _series(acid, "strength")
    if not strengths or times[-1] - acid[0].time_s < _wait_s(acid, rules) * 0.95:
        return False
    share = 1.0 - sum(strengths) / len(strengths) / rules.start_strength
    accuracy = rules.accuracy
    u = (accuracy.strength_share**2 / len(strengths) + accuracy.start_strength_share**2) ** 0.5
    return probability_below(share, u, _UNUSED_SHARE) >= UNUSED_FROM


def _nothing_was_seen(ordered: Sequence[Look], rules: BathRules) -> bool:
    """Whether the wait is over and no more than one look in ten showed bubbles or solids, the last not."""
    acid = [look for look in ordered if look.batch >= 1]
    if not acid or acid[-1].batch > 1 or acid[-1].time_s - acid[0].time_s < _wait_s(acid, rules) * 0.95:
        return False
    told = [look for look in acid if look.bubbles is not None and look.solids is not None]
    shown = sum(bool(look.bubbles) + bool(look.solids) for look in told)
    quiet = len(told) >= 3 and acid[-1].bubbles is False and acid[-1].solids is False
    return quiet and shown <= max(1, len(told) // 10)


def _wait_s(acid: Sequence[Look], rules: BathRules) -> float:
    warm = [look.temperature_k for look in acid if look.temperature_k is not None]
    quick = all(name in QUICK_ACIDS for name in rules.acids) and bool(warm) and min(warm) >= QUICK_FROM_K
    return QUICK_WAIT_S if quick else SLOW_WAIT_S


def _spent(batch: Sequence[Look], rules: BathRules) -> list[str]:
    window, u = _window(batch, rules), _uncertainties(batch, rules)
    reasons = []
    limit = rules.renew_below_share * rules.start_strength
    ahead = _ahead(window, "strength", u["strength"], rules)
    if ahead is not None and min(ahead, _series(window, "strength")[1][-1]) <= limit:
        reasons.append("strength_low")
    if rules.renewal_ph is not None:
        ahead = _ahead(window, "ph", u["ph"], rules)
        if ahead is not None and max(ahead, _series(window, "ph")[1][-1]) >= rules.renewal_ph:
            reasons.append("ph_high")
    return reasons


def _ahead(window: Sequence[Look], name: str, u: float, rules: BathRules) -> float | None:
    """Return where a quantity stands at the next look, along the line through its last three readings."""
    times, values = _series(window, name)
    if not times:
        return None
    if len(set(times[-3:])) < 2:
        return values[-1]
    line = trend(times[-3:], values[-3:], u)
    return line.last + line.slope * (window[-1].time_s + rules.next_look_s - times[-1])


def _finished(batch: Sequence[Look], rules: BathRules, steady: Mapping[str, float]) -> bool:
    return _strength_is_fresh(batch, rules) and _finished_but_for_strength(batch, rules, steady)


def _too_weak_to_tell(batch: Sequence[Look], rules: BathRules) -> bool:
    """Whether a weak acid dissolves too slowly by now for its standing still to be an end.

    Carbonate takes a weak acid mostly as undissociated acid, a share 1 / (1 + 10^(pH - pKa1)) of it. Below
    that part of the fresh bath's at which strength counts as spent, what is left may dissolve unnoticed over
    a hold; a fresh bath shows it.
    """
    pks = [ACIDS[name].pka[0] for name in rules.acids if name in ACIDS and ACIDS[name].pka]
    _, phs = _series(batch, "ph")
    if rules.renewal_ph is None or not pks or len(phs) < 3:
        return False
    fresh, now = phs[0], sum(phs[-3:]) / 3
    left = min((1.0 + 10.0 ** (fresh - pk)) / (1.0 + 10.0 ** (now - pk)) for pk in pks)
    return bool(left < rules.renew_below_share)


def _strength_is_fresh(batch: Sequence[Look], rules: BathRules) -> bool:
    """Whether the strength was read lately, and is above its limit."""
    times, strengths = _series(_held(batch, rules), "strength")
    if not strengths or batch[-1].time_s - times[-1] > rules.next_look_s * 1.5:
        return False
    u = rules.accuracy.strength_share * rules.start_strength
    limit = rules.renew_below_share * rules.start_strength
    return probability_below(strengths[-1], u, limit) <= 1.0 - SURE


def _finished_but_for_strength(batch: Sequence[Look], rules: BathRules, steady: Mapping[str, float]) -> bool:
    window = _held(batch, rules)
    last = window[-1]
    if len(window) < 3 or last.time_s - window[0].time_s < rules.hold_s * 0.95:
        return False
    if last.bubbles is not False or last.solids is not False:
        return False
    quiet_since = last.time_s - rules.hold_s / 2
    if any(look.bubbles or look.solids for look in window if look.time_s >= quiet_since):
        return False
    return "ph" in steady and all(probability >= STEADY_FROM for probability in steady.values())


def _held(batch: Sequence[Look], rules: BathRules) -> list[Look]:
    """Return the looks of the hold, from the last one a hold ago, so that a missed look adds no wait."""
    before = [look.time_s for look in batch if look.time_s <= batch[-1].time_s - rules.hold_s * 0.95]
    since = max(before, default=batch[0].time_s)
    return [look for look in batch if look.time_s >= since]


def _last_reversal(ordered: Sequence[Look]) -> float:
    first = next((look.time_s for look in ordered if look.batch >= 1), ordered[0].time_s)
    return max((look.time_s for look in ordered if look.reversed_now), default=first)


def _flow_risen(ordered: Sequence[Look], rules: BathRules) -> bool | None:
    _, flows = _series(ordered, "flow_m3_per_s")
    if len(flows) < 3:
        return None
    u = rules.accuracy.flow_share * flows[0]
    return probability_below(flows[0], u * (1 + 1 / 2) ** 0.5, sum(flows[-2:]) / 2) >= SURE


def _waits_for_strength(
    ordered: Sequence[Look], batch: Sequence[Look], rules: BathRules, steady: Mapping[str, float]
) -> bool:
    if batch[-1].strength is not None:
        return False
    ends = _finished_but_for_strength(batch, rules, steady) and not _strength_is_fresh(batch, rules)
    return ends or _nothing_was_seen(ordered, rules)


def _asks(
    ordered: Sequence[Look], batch: Sequence[Look], rules: BathRules, steady: Mapping[str, float]
) -> tuple[str, ...]:
    """Return what to read or ask: what the last look lacked, a titration when due, what the deposit is.

    A titration is due after twenty minutes, and wherever the answer waits for nothing else.
    """
    last = batch[-1]
    asks = [
        name
        for name in ("ph", "level_m", "temperature_k", "bubbles", "solids")
        if getattr(last, name) is None
    ]
    times, _ = _series(batch, "strength")
    since = last.time_s - (times[-1] if times else batch[0].time_s)
    due = since >= 1200.0 or (not times and since >= 600.0)
    if last.batch >= 1 and (due or _waits_for_strength(ordered, batch, rules, steady)):
        asks.append("strength")
    without = {
        one for one in (1, last.batch) if not any(look.solids for look in ordered if look.batch == one)
    }
    metals = _above(last.copper_mg_per_l, rules.copper_limit_mg_per_l)
    metals = metals or _above(last.iron_mg_per_l, rules.iron_limit_mg_per_l)
    if metals or (last.batch >= 2 and len(without) >= 2):
        asks.append("what_the_deposit_is")
    return tuple(asks)
