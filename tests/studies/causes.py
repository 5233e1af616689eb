"""Causes: virtual cases with one thing wrong each, ranked by what a visit reads; what led, was acid proposed.

    python -m tests.studies.causes [--cases 3000] [--seed 1] [--perturbed] [--clean-visits 0]
                                   [--out FILE.jsonl] [--figure FILE.svg] [--processes 2]
    python -m tests.studies.causes --told FILE.jsonl [--figure FILE.svg]
    python -m tests.studies.causes_page FULL.jsonl PERTURBED.jsonl SURVEY.txt

`--out` keeps each case as it is judged, one line an outcome; `--told` reports on such a file, so that a run
that was stopped early is not lost. Causes and levels come in turn: any first part of a run is balanced.

Every fourth unit is sound; of the others every cause is injected alike often, at three levels alike often,
and the ranking is told so (`PRIOR`), else its own prior would be judged against the study's. Units are heat
pumps and chillers whose films, charge, valve, coil and compressor stand off their record by the doubts the
trade knows; `--perturbed` moves capacities, conductances and design flow by another 10 % either way, and
gives the instruments bell-shaped errors. A full visit reads all there is and the strainer; a quick one two
water temperatures, the pressure drop, two pressures and two line temperatures. For chemical work the visit
has gone on to the last moment at which a wrong proposal can be made: a dirty strainer was cleaned, the
back-flush was made and changed nothing, and a static test was made where it was asked for. Cases that trip
before they settle are drawn again.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from diagnostics.engine.causes import Ranking, rank
from diagnostics.engine.causes.names import FLOW_FROM_OUTSIDE, FOULED
from diagnostics.engine.records import ReadingSet
from tests.studies.causes_cases import (
    INJECTED,
    LEVELS,
    SOUND_SHARE,
    CauseCase,
    draw_cause_cases,
    quick,
    with_static_test,
)
from tests.studies.causes_figure import confusion_svg

CASES = 3000
FAULTY = [name for name in INJECTED if name != "nothing_wrong"]
PRIOR = {
    **{name: (1.0 - SOUND_SHARE) / len(FAULTY) for name in FAULTY},
    "nothing_wrong": SOUND_SHARE,
    "other_fault": 0.005,
}
VISITS = ("full", "quick")


@dataclass(frozen=True)
class Outcome:
    """One case at one kind of visit: what was true, the first two, all probabilities, acid proposed."""

    cause: str
    level: str
    visit: str
    first: str
    second: str
    probabilities: dict[str, float]
    chemical: bool

    @property
    def right(self) -> bool:
        return self.first == self.cause

    @property
    def in_two(self) -> bool:
        return self.cause in (self.first, self.second)

    @property
    def in_group(self) -> bool:
        """Right, with the causes that take water away outside the exchanger counted as one."""
        return self.right or (self.cause in FLOW_FROM_OUTSIDE and self.first in FLOW_FROM_OUTSIDE)


def judge(case: CauseCase, visit: str) -> Outcome:
    """Rank one case as one kind of visit reads it."""
    reading = case.reading if visit == "full" else quick(case.reading)
    found = rank(case.facts, reading, clean=case.clean, prior=PRIOR)
    sorted_causes = [str(one["cause"]) for one in found.causes]
    chances = {str(one["cause"]): float(one["probability"]) for one in found.causes}  # type: ignore[arg-type]
    return Outcome(
        case.cause,
        case.level,
        visit,
        sorted_causes[0],
        sorted_causes[1],
        chances,
        _acid(case, reading).why_not_chemical is None,
    )


def _acid(case: CauseCase, reading: ReadingSet) -> Ranking:
    """The ranking once strainer, back-flush and, where asked for, the static test are known."""
    strainer = case.reading.strainer if case.cause == "strainer_blocked" else "clean"
    last = replace(reading, strainer=strainer, back_flush="no_change")
    found = rank(case.facts, last, clean=case.clean, prior=PRIOR)
    if found.next_check is None or found.next_check["check"] != "static_test":
        return found
    return rank(case.facts, with_static_test(case, last), clean=case.clean, prior=PRIOR)


def run(
    seed: int, cases: int, perturbed: bool = False, clean_visits: int = 0, processes: int = 1
) -> list[Outcome]:
    """All outcomes of a number of cases."""
    drawn = draw_cause_cases(seed, cases, perturbed, clean_visits)
    if processes < 2:
        return [one for case in drawn for one in judge_all(case)]
    with ProcessPoolExecutor(processes) as pool:
        return [one for found in pool.map(judge_all, drawn, chunksize=10) for one in found]


def run_into(
    file: Path, seed: int, cases: int, perturbed: bool = False, clean_visits: int = 0, processes: int = 1
) -> list[Outcome]:
    """All outcomes, each written as soon as it is known."""
    drawn = draw_cause_cases(seed, cases, perturbed, clean_visits)
    with ProcessPoolExecutor(processes) as pool, file.open("w") as kept:
        for found in pool.map(judge_all, drawn, chunksize=4):
            kept.writelines(json.dumps(asdict(one)) + "\n" for one in found)
            kept.flush()
    return told_in(file)


def told_in(file: Path) -> list[Outcome]:
    """The outcomes that a run has kept so far; a line cut off is left out."""
    lines = [line for line in file.read_text().splitlines() if line.endswith("}")]
    return [Outcome(**json.loads(line)) for line in lines]


def judge_all(case: CauseCase) -> list[Outcome]:
    """One case at every kind of visit."""
    return [judge(case, visit) for visit in VISITS]


def share(outcomes: Sequence[Outcome], what: str) -> float:
    """Share [-] of outcomes with a property; NaN of none."""
    return float(np.mean([getattr(one, what) for one in outcomes])) if outcomes else float("nan")


def calibration_error(outcomes: Sequence[Outcome], bins: int = 10) -> float:
    """Expected calibration error [-] of the first cause's probability."""
    chance = np.array([one.probabilities[one.first] for one in outcomes])
    right = np.array([one.right for one in outcomes], dtype=float)
    places = np.minimum((chance * bins).astype(int), bins - 1)
    gaps = [
        abs(chance[places == b].mean() - right[places == b].mean()) * (places == b).mean()
        for b in set(places)
    ]
    return float(sum(gaps))


def calibration_floor(outcomes: Sequence[Outcome], draws: int = 200) -> float:
    """The calibration error [-] that this many outcomes would show by chance if all were calibrated."""
    chance = np.array([one.probabilities[one.first] for one in outcomes])
    rng = np.random.default_rng(1)
    places = np.minimum((chance * 10).astype(int), 9)
    errors = []
    for _ in range(draws):
        right = rng.random(len(chance)) < chance
        errors.append(
            sum(
                abs(chance[places == b].mean() - right[places == b].mean()) * (places == b).mean()
                for b in set(places)
            )
        )
    return float(np.mean(errors))


def marked(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Plain and heavy cases with something wrong."""
    return [one for one in outcomes if one.level in ("plain", "heavy") and one.cause != "nothing_wrong"]


def chemical_figures(outcomes: Sequence[Outcome]) -> tuple[float, float]:
    """Shares [-]: chemical work proposed on clean exchangers; withheld from plain or heavy fouling."""
    clean = [one for one in outcomes if one.cause != FOULED]
    fouled = [one for one in outcomes if one.cause == FOULED and one.level in ("plain", "heavy")]
    return share(clean, "chemical"), 1.0 - share(fouled, "chemical")


def report(outcomes: Sequence[Outcome]) -> str:
    """The table as text."""
    lines = [f"{'':<30}{'cases':>6}{'first':>8}{'in two':>8}{'group':>8}{'ECE':>8}"]
    for visit in VISITS:
        mine = [one for one in outcomes if one.visit == visit]
        faulty = [one for one in mine if one.cause != "nothing_wrong"]
        parts = [("plain and heavy", marked(mine))]
        parts += [(level.replace("_", " "), [o for o in faulty if o.level == level]) for level in LEVELS]
        parts += [("nothing wrong", [o for o in mine if o.cause == "nothing_wrong"]), ("all", mine)]
        for name, part in parts:
            if part:
                numbers = (share(part, "right"), share(part, "in_two"), share(part, "in_group"))
                text = "".join(f"{number:8.3f}" for number in (*numbers, calibration_error(part)))
                lines.append(f"{visit + ', ' + name:<30}{len(part):6d}{text}")
        wrong, withheld = chemical_figures(mine)
        lines.append(
            f"{visit + ', acid on a clean one':<30}{wrong:14.4f}   withheld from fouled {withheld:.3f}"
        )
        lines += _by_cause(marked(mine), mine)
    return "\n".join(lines)


def _by_cause(plain: Sequence[Outcome], every: Sequence[Outcome]) -> list[str]:
    lines = []
    for cause in INJECTED:
        part = [one for one in (plain if cause != "nothing_wrong" else every) if one.cause == cause]
        if not part:
            continue
        others = Counter(one.first for one in part if not one.right).most_common(3)
        acid = share([one for one in every if one.cause == cause], "chemical")
        told = ", ".join(f"{name} {count}" for name, count in others)
        lines.append(
            f"  {cause:<28}{len(part):6d}{share(part, 'right'):8.2f}{share(part, 'in_two'):8.2f}"
            f"  acid {acid:.2f}  {told}"
        )
    return lines


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cases", type=int, default=CASES)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--perturbed", action="store_true")
    parser.add_argument("--clean-visits", type=int, default=0)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--told", type=Path)
    parser.add_argument("--figure", type=Path)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    given = (asked.seed, asked.cases, asked.perturbed, asked.clean_visits, asked.processes)
    if asked.told:
        outcomes = told_in(asked.told)
    else:
        outcomes = run_into(asked.out, *given) if asked.out else run(*given)
    print(report(outcomes))
    if asked.figure:
        shown = marked([one for one in outcomes if one.visit == "full"])
        asked.figure.write_text(confusion_svg([(one.cause, one.first) for one in shown], INJECTED))


if __name__ == "__main__":
    main()
