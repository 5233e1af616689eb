"""The study of reference levels as figures, as lines for the terminal and as tables for the page."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from tests.studies.virtual_cases import LIMIT


@dataclass(frozen=True)
class Outcome:
    """One case at one level: margins, truth and what was said, in m2K/W."""

    margins: tuple[str, ...]
    truth: float
    value: float
    low: float
    high: float
    verdict: str


@dataclass(frozen=True)
class Figures:
    """What is asked of a level or a margin; shares, and errors as shares of the limit."""

    cases: int
    told: int
    coverage: float
    median_error: float
    usual_error: float
    half_width: float
    fouled_when_clean: float
    clean_at_twice: float
    fouled_at_twice: float
    fouled_at_four_times: float
    undecided: float


TITLES = {
    "cases": "cases",
    "told": "with a number",
    "coverage": "interval holds the truth",
    "median_error": "median error / limit",
    "usual_error": "usual error / limit",
    "half_width": "half width / limit",
    "fouled_when_clean": "clean, called fouled",
    "clean_at_twice": "twice or more, called clean",
    "fouled_at_twice": "twice, called fouled",
    "fouled_at_four_times": "four times, called fouled",
    "undecided": "undecided",
}


def figures(of: Sequence[Outcome]) -> Figures:
    """The figures of these cases."""
    told = [one for one in of if not math.isnan(one.value)]
    errors = np.array([one.value - one.truth for one in told] or [math.nan]) / LIMIT
    half = np.array([(one.high - one.low) / 2 for one in told] or [math.nan]) / LIMIT
    with_interval = [one for one in told if not math.isnan(one.low)]
    at = {factor: [one for one in of if abs(one.truth / LIMIT - factor) < 1e-6] for factor in (2, 4)}
    return Figures(
        len(of),
        len(told),
        _share(with_interval, lambda one: one.low <= one.truth <= one.high),
        float(np.median(errors)),
        float(np.median(np.abs(errors))),
        float(np.median(half)),
        _share([one for one in of if one.truth == 0], _is("fouled")),
        _share([one for one in of if one.truth >= 1.999 * LIMIT], _is("clean")),
        _share(at[2], _is("fouled")),
        _share(at[4], _is("fouled")),
        _share(of, _is("undecided")),
    )


def _share(of: Sequence[Outcome], wanted: Callable[[Outcome], bool]) -> float:
    return sum(map(wanted, of)) / len(of) if of else math.nan


def _is(verdict: str) -> Callable[[Outcome], bool]:
    return lambda one: one.verdict == verdict


def margins(outcomes: Sequence[Outcome], least: int) -> dict[str, list[Outcome]]:
    """One-way margins with at least so many cases."""
    found: dict[str, list[Outcome]] = {}
    for one in outcomes:
        for margin in one.margins:
            found.setdefault(margin, []).append(one)
    return {name: part for name, part in sorted(found.items()) if len(part) >= least}


HEADER = f"{'':<30}" + "".join(f"{name[:9]:>10}" for name in TITLES)


def line(name: str, of: Sequence[Outcome]) -> str:
    """One line for the terminal."""
    return f"{name:<30}" + "".join(f"{_text(value):>10}" for value in _values(figures(of)))


def _values(found: Figures) -> list[float]:
    return [getattr(found, field.name) for field in fields(found)]


def _text(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    return "" if math.isnan(value) else f"{value:.3f}"


def markdown(whole: Mapping[str, Sequence[Outcome]], levels: Sequence[str], least: int) -> str:
    """All levels in one table, then the coverage and the median error of every margin at every level."""
    head = ["| | " + " | ".join(TITLES.values()) + " |", "|---" * (len(TITLES) + 1) + "|"]
    rows = [
        f"| {name} | " + " | ".join(map(_text, _values(figures(of)))) + " |" for name, of in whole.items()
    ]
    return "\n".join([*head, *rows, "", *_margin_table(whole, levels, least)])


def _margin_table(whole: Mapping[str, Sequence[Outcome]], levels: Sequence[str], least: int) -> list[str]:
    parts = {level: margins(whole[level], least) for level in levels}
    names = sorted({name for part in parts.values() for name in part})
    told = [
        f"Margins of {least} cases or more: share of intervals that hold the truth, and (median error over "
        "limit).",
        "",
        "| margin | cases | " + " | ".join(levels) + " |",
        "|---" * (len(levels) + 2) + "|",
    ]
    for name in names:
        cells = []
        for level in levels:
            found = figures(parts[level].get(name, []))
            cells.append(f"{found.coverage:.3f} ({found.median_error:+.3f})" if found.cases else "")
        told.append(f"| {name} | {len(parts[levels[0]].get(name, []))} | " + " | ".join(cells) + " |")
    return told


def shortfalls(whole: Mapping[str, Sequence[Outcome]], levels: Sequence[str], least: int) -> list[str]:
    """Where a level misses what is asked of it, in words; the aims stand in the page."""
    missed = []
    for level in levels:
        found = figures(whole[level])
        asked = {
            "interval holds the truth in 93 to 97 %": 0.93 <= found.coverage <= 0.97,
            "median error below a tenth of the limit": abs(found.median_error) < 0.1,
            "clean called fouled in less than 2 %": found.fouled_when_clean < 0.02,
            "twice or more called clean in less than 2 %": found.clean_at_twice < 0.02,
        }
        missed += [f"{level}: {what}" for what, holds in asked.items() if not holds]
        for name, part in margins(whole[level], least).items():
            share = figures(part).coverage
            if share < 0.9:
                missed.append(f"{level}, {name}: interval holds the truth in {share:.3f}, below 0.90")
    return missed
