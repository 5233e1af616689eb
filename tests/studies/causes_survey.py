"""Survey of a loop: virtual sites with one thing true each; is it the loop, these units, or nearly all?

    python -m tests.studies.causes_survey [--sites 300] [--seed 1] [--no-amps] [--processes 2]

A site is eight to sixteen heat pumps of one model in cooling on one loop, each off its record as machines
are and with its own gauge errors: a loop too warm, a weak pump (25 to 45 % of flow short), one unit in ten
fouled, three in ten, eight in ten. Fouling is drawn between plain and heavy. Rows have two water
temperatures, pressure drop, lockout and amps. "found" is the share of fouled units told to be worth gauges.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.causes import SurveyRow, survey
from diagnostics.engine.causes.loop import MOST_UNITS
from diagnostics.engine.causes.signatures import fault_values
from diagnostics.engine.forward import draw_repeating_errors, with_instrument_noise
from diagnostics.engine.records import ExchangerFacts, ReadingSet
from diagnostics.engine.uncertainty import instrument_table
from diagnostics.engine.virtual_unit import Faults, rated_unit, readings, solve_many
from tests.studies.causes_cases import FIRST_VISIT, draw_conditions, draw_machine

SITES = 300
KINDS: dict[str, str] = {
    "warm loop": "the_loop",
    "weak pump": "the_loop",
    "one in ten": "these_units",
    "three in ten": "these_units",
    "eight in ten": "nearly_all_fouled",
}
FOULED_SHARE = {"one in ten": 0.1, "three in ten": 0.3, "eight in ten": 0.8}


@dataclass(frozen=True)
class Answered:
    """One site: what was true, what was said; share of its fouled units, four at most, told worth gauges."""

    kind: str
    answer: str
    found: float

    @property
    def right(self) -> bool:
        return self.answer == KINDS[self.kind]


def draw_site(seed: int, kind: str, amps: bool = True) -> tuple[list[SurveyRow], set[str]]:
    """The short rows of one site's running units, and which of them are fouled."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(8, 17))
    facts = ExchangerFacts(
        "",
        str(rng.choice(["R410A", "R454B", "R32"])),
        "coaxial",
        capacity_w=float(rng.choice([9e3, 12e3, 18e3])),
        water_source=str(rng.choice(["cooling_tower", "closed_loop"])),
        loop_low_k=288.15,
        loop_high_k=305.65,
        flow_in_heating="parallel",
    )
    plain = rated_unit(facts)
    entering = 305.65 + rng.uniform(2.0, 6.0) if kind == "warm loop" else rng.uniform(296.15, 304.65)
    fouled = _fouled(rng, count, kind)
    short = float(rng.uniform(0.25, 0.45)) if kind == "weak pump" else 0.0
    units = [draw_machine(rng, plain, False) for _ in range(count)]
    conditions = [
        draw_conditions(rng, "cooling", float(entering + 0.1 * rng.standard_normal())) for _ in units
    ]
    faults = [_faults(rng, short, number in fouled) for number in range(count)]
    rows = []
    for number, state in enumerate(solve_many(units, conditions, faults)):
        if state.converged and not state.beyond:
            true = readings(state, unit=f"U-{number}", taken_at=FIRST_VISIT)
            rows.append(SurveyRow(replace(facts, unit=f"U-{number}"), _short(rng, true, amps)))
    return rows, {f"U-{number}" for number in fouled}


def _fouled(rng: np.random.Generator, count: int, kind: str) -> set[int]:
    number = max(1, round(FOULED_SHARE[kind] * count)) if kind in FOULED_SHARE else 0
    return {int(one) for one in rng.choice(count, size=number, replace=False)}


def _faults(rng: np.random.Generator, short: float, fouled: bool) -> Faults:
    low = float(np.clip(short + 0.04 * rng.standard_normal(), 0.0, 0.7)) if short else 0.0
    scale = fault_values("exchanger_fouled", float(rng.uniform(2.0, 3.0))) if fouled else {}
    return Faults(low_flow=low, **scale)


def _short(rng: np.random.Generator, true: ReadingSet, amps: bool) -> ReadingSet:
    """A short row: what ten minutes at a unit bring."""
    table = instrument_table()
    noisy = with_instrument_noise(true, table, rng, draw_repeating_errors(table, rng))
    return ReadingSet(
        true.unit,
        true.taken_at,
        "cooling",
        entering_water_k=noisy.entering_water_k,
        leaving_water_k=noisy.leaving_water_k,
        water_pressure_drop_pa=noisy.water_pressure_drop_pa,
        fault_lockout=true.fault_lockout,
        amps_a=noisy.amps_a if amps else None,
        volts_v=noisy.volts_v if amps else None,
        phases=3,
    )


def answer_site(job: tuple[int, str, bool]) -> Answered:
    """Draw one site and read its rows together."""
    seed, kind, amps = job
    rows, fouled = draw_site(seed, kind, amps)
    found = survey(rows)
    known = len(fouled & set(found.units_worth_gauges)) / min(len(fouled), MOST_UNITS) if fouled else np.nan
    return Answered(kind, found.answer, float(known))


def run(seed: int, sites: int, amps: bool = True, processes: int = 1) -> list[Answered]:
    """All sites, each kind alike often."""
    kinds = list(KINDS)
    jobs = [(seed * 100_003 + number, kinds[number % len(kinds)], amps) for number in range(sites)]
    if processes < 2:
        return [answer_site(job) for job in jobs]
    with ProcessPoolExecutor(processes) as pool:
        return list(pool.map(answer_site, jobs, chunksize=5))


def report(answered: Sequence[Answered]) -> str:
    """The table as text."""
    lines = [f"{'':<14}{'sites':>6}{'right':>8}{'found':>8}"]
    for kind in KINDS:
        part = [one for one in answered if one.kind == kind]
        if part:
            others = Counter(one.answer for one in part if not one.right).most_common()
            right = np.mean([one.right for one in part])
            found = np.mean([one.found for one in part])
            told = ", ".join(f"{name} {count}" for name, count in others)
            lines.append(f"{kind:<14}{len(part):6d}{right:8.3f}{found:8.3f}  {told}")
    lines.append(f"{'all':<14}{len(answered):6d}{np.mean([one.right for one in answered]):8.3f}")
    return "\n".join(lines)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--sites", type=int, default=SITES)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--no-amps", action="store_true")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    print(report(run(asked.seed, asked.sites, not asked.no_amps, asked.processes)))


if __name__ == "__main__":
    main()
