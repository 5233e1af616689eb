"""Reasons for and against a cause in the reading's own numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnostics.engine import per_cent
from diagnostics.engine.causes.evidence import Findings, known, usual_range_k
from diagnostics.engine.causes.names import CAUSES, NOTHING_WRONG, OTHER_FAULT
from diagnostics.engine.causes.probability import Array
from diagnostics.engine.causes.residuals import AMPS_ONLY_W_PER_A, amps_alone
from diagnostics.engine.causes.seen import Seen
from diagnostics.engine.causes.weighing import Weighed
from diagnostics.engine.records import ExchangerFacts, ReadingSet

MOST_REASONS, ENOUGH, STRAY = 4, 0.4, 2.2
DOUBTED = 0.3
"""Own doubt over the change beyond which it is told with the change."""
ZERO_C = 273.15
WORDS = {
    "flow": "flow",
    "pressure_drop": "pressure drop",
    "water_change": "water temperature change",
    "approach": "approach",
    "drop_against_flow": "pressure drop for the measured flow",
    "head": "condensing temperature by head pressure",
    "suction": "evaporating temperature by suction pressure",
    "superheat": "superheat",
    "subcooling": "subcooling",
    "discharge": "discharge temperature",
    "power": "power",
    "amps": "amps",
    "air_change": "air temperature change",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One quantity, read and derived: its weights over the quantities seen, values [K or -] and doubt."""

    name: str
    weights: Array
    value: float
    clean: float
    doubt: float


def lines_of(seen: Seen, reading: ReadingSet) -> list[Line]:
    """The quantities seen, and approach and pressure drop against flow where they follow from them."""
    count = len(seen.names)
    found = [_line(seen, name, np.eye(count)[place], 0.0) for place, name in enumerate(seen.names)]
    if amps_alone(reading) and "power" in seen.names:
        place = seen.names.index("power")
        found[place] = _line(seen, "amps", np.eye(count)[place], -float(np.log(AMPS_ONLY_W_PER_A)))
    entering = reading.entering_water_k
    base = "head" if reading.mode == "cooling" else "suction"
    if entering is not None and base in seen.names and "water_change" in seen.names:
        weights = np.zeros(count)
        weights[seen.names.index(base)] = 1.0 if base == "head" else -1.0
        weights[seen.names.index("water_change")] = -1.0
        line = _line(seen, "approach", weights, -entering if base == "head" else entering)
        found.insert(0, _at_this_flow(seen, line))
    if "flow" in seen.names and "pressure_drop" in seen.names:
        weights = np.zeros(count)
        weights[seen.names.index("pressure_drop")] = 1.0
        weights[seen.names.index("flow")] = -float(seen.signatures.unit.exchanger.drop_exponent)
        found.append(_line(seen, "drop_against_flow", weights, 0.0))
    return found


def _line(seen: Seen, name: str, weights: Array, offset: float) -> Line:
    residual = float(weights @ seen.residuals)
    clean = float(weights @ seen.expected) + offset
    doubt = float(np.sqrt(weights @ seen.covariance @ weights))
    return Line(name, weights, clean + residual, clean, doubt)


def _at_this_flow(seen: Seen, line: Line) -> Line:
    """The clean value at the flow that was measured, where one was."""
    if "flow" not in seen.names:
        return line
    curve = next(one for one in seen.signatures.curves if one.causes == ("water_flow_low",))
    shifts = (curve.means - seen.signatures.clean)[:, list(seen.places)]
    by_flow, moved = shifts[:, seen.names.index("flow")], shifts @ line.weights
    good = np.isfinite(by_flow) & np.isfinite(moved)
    if not good.any():
        return line
    order = np.argsort(by_flow[good])
    flows, ways = np.append(by_flow[good][order], 0.0), np.append(moved[good][order], 0.0)
    extra = float(np.interp(seen.residuals[seen.names.index("flow")], flows, ways))
    return Line(line.name, line.weights, line.value, line.clean + extra, line.doubt)


MOST_TIMES, MOST_W = 1000.0, 1e9
"""Beyond these a value is a slip of typing, and its size tells no more."""


def share(ln_value: float) -> str:
    """A share [-] from its logarithm; of absurd ones only that they are."""
    if ln_value > np.log(MOST_TIMES):
        return f"more than {MOST_TIMES:.0f} times"
    if ln_value < -np.log(MOST_TIMES):
        return "less than a thousandth"
    return per_cent.share(np.exp(ln_value))


def _watt(ln_value: float) -> str:
    return f"more than {MOST_W:.0e} W" if ln_value > np.log(MOST_W) else f"{np.exp(ln_value):.0f} W"


def as_words(line: Line, facts: ExchangerFacts) -> str:
    """The line in the reading's own numbers."""
    name, value, clean, doubt = line.name, line.value, line.clean, 2.0 * line.doubt
    if name in ("flow", "pressure_drop", "drop_against_flow"):
        flow = "design flow" if facts.design_flow_m3_per_s else "the flow usual for its size"
        drop = "the design figure" if facts.design_pressure_drop_pa else "the usual drop"
        of = {"flow": flow, "pressure_drop": drop}.get(name, "a clean coil's")
        low, high = share(clean - doubt), share(clean + doubt)
        return f"{WORDS[name]} {share(value)} of {of}, a sound unit would show {low} to {high}"
    if name == "amps":
        sound = f"{np.exp(clean):.3g} A +- {per_cent.share(doubt)}"
        return f"amps {np.exp(value):.3g} A, by the clean visits this unit would show {sound}"
    if name == "power":
        sound = f"{_watt(clean)} +- {per_cent.share(doubt)}"
        return f"power {_watt(value)}, the clean unit here would show {sound}"
    if name in ("head", "suction", "discharge"):
        return (
            f"{WORDS[name]} {value - ZERO_C:.1f} degC, the clean unit here would show "
            f"{clean - ZERO_C:.1f} +- {doubt:.1f} degC"
        )
    where = "at this flow and load" if name == "approach" else "here"
    return f"{WORDS[name]} {value:.1f} K, the clean unit {where} would show {clean:.1f} +- {doubt:.1f} K"


def reasons_of(
    one: Weighed, lines: list[Line], facts: ExchangerFacts, reading: ReadingSet, findings: Findings
) -> list[str]:
    """The strongest reasons for and against one hypothesis."""
    told: list[tuple[float, str]] = []
    for line in lines:
        away = line.value - line.clean
        shift = float(line.weights @ one.shift) if line.name != "approach" else _approach_shift(line, one)
        if one.causes == (NOTHING_WRONG,):
            if abs(away) > STRAY * line.doubt:
                told.append((abs(away) / line.doubt, "against: " + as_words(line, facts)))
            continue
        own = _own_doubt(line, one)
        gain = _gain(away, shift, line.doubt, own)
        if gain > ENOUGH:
            told.append((gain, "for: " + as_words(line, facts)))
        elif gain < -ENOUGH:
            moved = _moved(line, shift, own)
            told.append((-gain, f"against: {as_words(line, facts)}; this cause would move it by {moved}"))
    told.sort(key=lambda pair: -pair[0])
    if one.causes == (OTHER_FAULT,):
        return _unexplained(lines, facts)
    words = _evidence(one, facts, reading, findings) + [text for _, text in told]
    if one.causes == (NOTHING_WRONG,) and not told and lines:
        words.append("for: every value read is what the clean unit would show")
    return words[:MOST_REASONS]


def _own_doubt(line: Line, one: Weighed) -> float:
    """Doubt of what the cause itself would change: how far a deposit narrows its passage is not known."""
    if one.extra is None:
        return 0.0
    return float(np.sqrt(max(float(line.weights @ one.extra @ line.weights), 0.0)))


def _gain(away: float, shift: float, doubt: float, own: float) -> float:
    """How much better [nat] the value fits with the cause than without it, the cause's own doubt counted."""
    wide = float(np.hypot(doubt, own))
    return 0.5 * ((away / doubt) ** 2 - ((away - shift) / wide) ** 2) - float(np.log(wide / doubt))


def _unexplained(lines: list[Line], facts: ExchangerFacts) -> list[str]:
    """What a fault without a name rests on: values that stand off together as no known cause moves them."""
    off = [line for line in lines if abs(line.value - line.clean) > STRAY * line.doubt]
    off.sort(key=lambda line: -abs(line.value - line.clean) / line.doubt)
    if not off:
        return ["no single value stands out; together they fit no known cause well"]
    head = "for: no known cause moves the values together as they were read"
    return [head, *("for: " + as_words(line, facts) for line in off)][:MOST_REASONS]


def _approach_shift(line: Line, one: Weighed) -> float:
    """A cause's shift of the approach; low flow's own part is already in the clean value at this flow."""
    return 0.0 if one.causes and one.causes[0] == "water_flow_low" else float(line.weights @ one.shift)


def _moved(line: Line, shift: float, own: float) -> str:
    """By how much, with the doubt where it is as large as to matter."""
    if line.name not in ("flow", "pressure_drop", "drop_against_flow", "power", "amps"):
        doubt = f" +- {2.0 * own:.1f}" if own > DOUBTED * abs(shift) else ""
        return f"{shift:+.1f}{doubt} K"
    if own <= DOUBTED * abs(shift):
        return _change(shift)
    ends = sorted((shift - 2.0 * own, shift + 2.0 * own))
    return f"{_change(shift)}, anything from {_change(ends[0])} to {_change(ends[1])}"


def _change(ln_change: float) -> str:
    return share(ln_change) if abs(ln_change) > np.log(MOST_TIMES) else per_cent.change(np.expm1(ln_change))


def _evidence(one: Weighed, facts: ExchangerFacts, reading: ReadingSet, findings: Findings) -> list[str]:
    told = []
    done = known(reading, findings)
    if "strainer_blocked" in one.causes and "open_strainer" in done:
        state = done["open_strainer"].replace("_", " ")
        told.append(("for" if state in ("dirty", "blocked") else "against") + f": the strainer was {state}")
    if "exchanger_fouled" in one.causes and "back_flush" in done:
        brought = done["back_flush"] == "flow_restored"
        told.append(
            "for: the back-flush restored flow, which points to mud"
            if brought
            else "the back-flush changed nothing"
        )
    usual = usual_range_k(facts, reading.mode)
    if usual is not None and reading.entering_water_k is not None:
        at = reading.entering_water_k - ZERO_C
        low, high = (end - ZERO_C for end in usual)
        words = f"entering water {at:.1f} degC, the loop's usual range is {low:.1f} to {high:.1f} degC"
        for cause, beyond in (
            ("loop_water_warm", reading.entering_water_k - usual[1]),
            ("loop_water_cold", usual[0] - reading.entering_water_k),
        ):
            if cause in one.causes:
                told.append(("for: " if beyond > 0 else "against: ") + words)
    if "safety_control_fault" in one.causes and reading.fault_lockout not in (None, "none"):
        told.append(
            f"for: lockout on {str(reading.fault_lockout).replace('_', ' ')} that the readings do not explain"
        )
    return told


def plain(causes: tuple[str, ...]) -> str:
    """The causes in plain words."""
    return " and ".join(CAUSES[name] for name in causes)
