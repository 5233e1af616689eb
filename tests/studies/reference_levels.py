"""What each level of clean reference can tell, on cases of the virtual unit.

    python -m tests.studies.reference_levels [--cases 3000] [--seed 1] [--draws 20000] [--processes 2]

Machines are drawn over modes, refrigerants, exchanger kinds, 50 to 120 % flow and the loop's temperatures;
charge or expansion device has moved since the clean visits in half of them. Beside the assessment stand what
a lumped conductance and a plain spreadsheet (approach against the clean visit's, no correction) would say;
then cases made with other modelling choices than the inference believes in (exponents, shares and zone ratios
from wider ranges, bell-shaped noise), and cooling cases with air in the circuit, without and with the static
test.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from diagnostics.engine.assessment import DRAWS, assess
from diagnostics.engine.exchanger import lumped_conductance
from diagnostics.engine.records import ReadingSet
from diagnostics.engine.refrigerants import refrigerant
from diagnostics.engine.waters import water
from tests.studies.virtual_cases import (
    LIMIT,
    VirtualCase,
    World,
    draw_virtual_cases,
    with_static_test,
)

LEVELS: dict[str, tuple[int, bool]] = {
    "three clean visits": (3, False),
    "two clean visits": (2, False),
    "one clean visit": (1, False),
    "operating table": (0, True),
    "geometry and rating": (0, False),
}
BLOCK = 100
NO_LINES = {"liquid_line_k": None, "discharge_line_k": None, "suction_line_k": None}


@dataclass(frozen=True)
class Outcome:
    """One case at one level: margins, truth and what was said, in m2K/W."""

    margins: tuple[str, ...]
    truth: float
    value: float
    low: float
    high: float
    verdict: str


def outcomes_of(cases: Sequence[VirtualCase], level: str, draws: int, lines: bool = True) -> list[Outcome]:
    """Assess all cases at one level; without `lines` the line temperatures are kept from it."""
    return [_assessed(case, level, draws, lines) for case in cases]


def _assessed(case: VirtualCase, level: str, draws: int, lines: bool) -> Outcome:
    past, row = case.history(*LEVELS[level]), case.reading
    if not lines:
        past = replace(past, readings=tuple(replace(one, **NO_LINES) for one in past.readings))
        row = replace(row, **NO_LINES)
    said = assess(case.facts, row, past, draws=draws)
    told = said.fouling_resistance_m2k_per_w
    value, low, high = (told.value, told.low, told.high) if told else (math.nan,) * 3
    return Outcome(_margins(case), case.truth, value, low, high, said.verdict)


def _margins(case: VirtualCase) -> tuple[str, ...]:
    moved = "charge or valve moved" if case.moved else "nothing moved"
    flow = case.true_state.water_kg_per_s / (case.facts.design_flow_m3_per_s * 998.2)
    band = "flow below 0.75" if flow < 0.75 else "flow 0.75 to 1" if flow < 1.0 else "flow above 1"
    brine = "antifreeze" if case.facts.antifreeze != "none" else "plain water"
    return case.reading.mode, case.facts.exchanger, moved, band, brine, case.facts.refrigerant


def lumped(case: VirtualCase) -> Outcome:
    """The lumped sum: UA against saturation now, less UA at a clean visit, no correction, no width."""
    value = case.facts.area_m2 * (1 / _lumped(case, case.reading) - 1 / _lumped(case, case.clean[0]))
    return _plain(case, value)


def spreadsheet(case: VirtualCase) -> Outcome:
    """A plain spreadsheet: the approach beyond the clean visit's, over the heat flux."""
    now, clean = (_approach(case, row) for row in (case.reading, case.clean[0]))
    flux = _heat(case, case.reading) / case.facts.area_m2
    return _plain(case, (now - clean) / flux)


def _plain(case: VirtualCase, value: float) -> Outcome:
    verdict = "fouled" if value > LIMIT else "clean"
    return Outcome(_margins(case), case.truth, value, math.nan, math.nan, verdict)


def _saturation(case: VirtualCase, row: ReadingSet) -> float:
    fluid = refrigerant(case.facts.refrigerant)
    pressure = row.head_pressure_pa if row.mode == "cooling" else row.suction_pressure_pa
    return 0.5 * float(fluid.bubble_temperature_k(pressure) + fluid.dew_temperature_k(pressure))


def _heat(case: VirtualCase, row: ReadingSet) -> float:
    liquid = water(case.facts.antifreeze, case.facts.antifreeze_fraction)
    cp = float(liquid.specific_heat_j_per_kg_k(row.entering_water_k))
    return row.water_flow_kg_per_s * cp * abs(row.leaving_water_k - row.entering_water_k)


def _lumped(case: VirtualCase, row: ReadingSet) -> float:
    change = row.leaving_water_k - row.entering_water_k
    eps = min(change / (_saturation(case, row) - row.entering_water_k), 0.999)
    return float(lumped_conductance(_heat(case, row) / abs(change), 1.0, max(eps, 0.01)))


def _approach(case: VirtualCase, row: ReadingSet) -> float:
    return abs(_saturation(case, row) - row.leaving_water_k)


def _share(of: Sequence[Outcome], wanted: Callable[[Outcome], bool]) -> float:
    return sum(map(wanted, of)) / len(of) if of else math.nan


HEADER = (
    f"{'':<26} cases  told coverage median_err half_width "
    "fouled@clean clean@>=2x fouled@2x fouled@4x undecided"
)


def line(name: str, of: Sequence[Outcome]) -> str:
    """One line of the table."""
    told = [one for one in of if not math.isnan(one.value)]
    errors = np.array([one.value - one.truth for one in told])
    half = np.array([(one.high - one.low) / 2 for one in told])
    clean = [one for one in of if one.truth == 0]
    heavy = [one for one in of if one.truth >= 1.999 * LIMIT]
    at = {factor: [one for one in of if abs(one.truth / LIMIT - factor) < 1e-6] for factor in (2, 4)}
    shares = (
        _share(clean, _is("fouled")),
        _share(heavy, _is("clean")),
        _share(at[2], _is("fouled")),
        _share(at[4], _is("fouled")),
        _share(of, _is("undecided")),
    )
    with_interval = [one for one in told if not math.isnan(one.low)]
    holds = _share(with_interval, lambda one: one.low <= one.truth <= one.high)
    middle = f"{holds:8.3f} {np.median(errors):10.1e} {np.median(half):10.1e}"
    return f"{name:<26} {len(of):>5} {len(told):>5} {middle}" + "".join(f"{share:11.3f}" for share in shares)


def _is(verdict: str) -> Callable[[Outcome], bool]:
    return lambda one: one.verdict == verdict


def _block(seed: int, block: int, count: int, draws: int) -> dict[str, list[Outcome]]:
    cases = draw_virtual_cases(seed * 10_000 + block, count)
    found = {level: outcomes_of(cases, level, draws) for level in LEVELS}
    found["two visits, no lines"] = outcomes_of(cases, "two clean visits", draws, lines=False)
    found["lumped sum"] = [lumped(case) for case in cases]
    found["plain spreadsheet"] = [spreadsheet(case) for case in cases]
    other = draw_virtual_cases(seed * 10_000 + block + 5000, count // 3, World(perturbed=True))
    for level in ("two clean visits", "operating table"):
        found[f"other choices, {level.split()[0]}"] = outcomes_of(other, level, draws)
    rng = np.random.default_rng([seed, block, 7])
    airy = draw_virtual_cases(seed * 10_000 + block + 7000, count // 6, World(air=True, with_tables=False))
    airy = [case for case in airy if case.reading.mode == "cooling"]
    found["air, no static test"] = outcomes_of(airy, "two clean visits", draws)
    tested = [with_static_test(case, rng) for case in airy]
    found["air, static test"] = outcomes_of(tested, "two clean visits", draws)
    return found


def run(seed: int, cases: int, draws: int, processes: int = 1) -> dict[str, list[Outcome]]:
    """All levels over the same cases."""
    sizes = [min(BLOCK, cases - start) for start in range(0, cases, BLOCK)]
    asked = [[seed] * len(sizes), list(range(len(sizes))), sizes, [draws] * len(sizes)]
    whole: dict[str, list[Outcome]] = {}
    if processes == 1:
        parts = map(_block, *asked)
    else:
        pool = ProcessPoolExecutor(processes)
        parts = pool.map(_block, *asked)
    for part in parts:
        for level, outcomes in part.items():
            whole.setdefault(level, []).extend(outcomes)
    return whole


def margins(outcomes: Sequence[Outcome], least: int) -> dict[str, list[Outcome]]:
    """One-way margins with at least so many cases."""
    found: dict[str, list[Outcome]] = {}
    for one in outcomes:
        for margin in one.margins:
            found.setdefault(margin, []).append(one)
    return {name: part for name, part in sorted(found.items()) if len(part) >= least}


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cases", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--least", type=int, default=300, help="fewest cases of a margin that is printed")
    asked = parser.parse_args()
    whole = run(asked.seed, asked.cases, asked.draws, asked.processes)
    print(HEADER)
    for level, outcomes in whole.items():
        print(line(level, outcomes))
        if level in LEVELS:
            for name, part in margins(outcomes, asked.least).items():
                print(line(f"  {name}", part))


if __name__ == "__main__":
    main()
